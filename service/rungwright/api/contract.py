"""The OpenAPI contract of the service. `python -m rungwright.api.contract > openapi/openapi.json` writes it."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from pydantic.json_schema import models_json_schema

from rungwright.api.access import OPEN
from rungwright.api.batch import AnsweredLine, ProblemLine
from rungwright.api.body import JSON, NDJSON
from rungwright.api.checks import models as check_models
from rungwright.api.demo import demo, ladder_demo
from rungwright.api.enums import name_enums
from rungwright.api.ladders import WORK
from rungwright.api.problems import MEANINGS, Problem, ProblemType
from rungwright.domain.ask import RecommendationCall
from rungwright.domain.keeping import (
    CupboardDraft,
    DecisionDraft,
    LessonDraft,
    RolloverDraft,
    RunDraft,
    SectionDraft,
)
from rungwright.domain.ladder_keeping import (
    LadderDraft,
    LadderEdits,
    LadderForkDraft,
    LadderMergeDraft,
    RungPlaceDraft,
)
from rungwright.domain.ladder_request import LadderPrintRequest
from rungwright.domain.weights import LearningRequest
from rungwright.sheets import LadderSheet

_AT = "#/components/schemas/"
_BODIES = (
    RecommendationCall,
    LearningRequest,
    SectionDraft,
    CupboardDraft,
    RunDraft,
    LessonDraft,
    DecisionDraft,
    RolloverDraft,
    LadderDraft,
    LadderEdits,
    LadderForkDraft,
    LadderMergeDraft,
    RungPlaceDraft,
    LadderPrintRequest,
)


def contract(app: FastAPI) -> dict[str, Any]:
    """The contract of an app: every failure in one shape, closed sets of words by name, outputs complete."""
    spec = get_openapi(
        title=app.title,
        version=app.version,
        summary=app.summary,
        description=app.description,
        tags=app.openapi_tags,
        routes=app.routes,
    )
    spec["servers"] = [{"url": "/"}]
    spec["components"]["securitySchemes"] = {
        "key": {"type": "http", "scheme": "bearer", "description": "where the service has keys; see `rungwright keys`"}
    }
    schemas = spec["components"]["schemas"]
    _drop_unused(spec, "HTTPValidationError", "ValidationError")
    _add(schemas, [(Problem, "serialization"), (AnsweredLine, "serialization"), (ProblemLine, "serialization")])
    _complete(schemas)
    bodies = (*_BODIES, *(asked for _, asked, _, _ in WORK.values()))
    _add(schemas, [*((model, "validation") for model in bodies), *check_models()])
    name_enums(schemas)
    _examples(spec)
    spec["components"]["schemas"] = dict(sorted(schemas.items()))
    return spec


def _drop_unused(spec: dict[str, Any], *names: str) -> None:
    """The framework documents a failure of its own shape, which this service never sends."""
    for name in names:
        spec["components"]["schemas"].pop(name, None)
    for path, operation in _operations(spec):
        responses = operation["responses"]
        if _AT + "HTTPValidationError" in json.dumps(responses.get("422", {})):
            del responses["422"]
        if "500" not in responses:
            responses["500"] = _problem_response("Something went wrong in the service")
        if not path.startswith(OPEN):
            operation["security"] = [{}, {"key": []}]
            for kind in (ProblemType.NO_KEY, ProblemType.TOO_MANY, ProblemType.NOT_KEPT):
                responses[str(MEANINGS[kind].status)] = _problem_response(MEANINGS[kind].title)
        if operation["operationId"] == "recommend_batch":
            (lines,) = responses["200"]["content"].values()
            responses["200"]["content"] = {NDJSON: lines}
        operation["responses"] = dict(sorted(responses.items()))


def _problem_response(description: str) -> dict[str, Any]:
    return {"description": description, "content": {"application/problem+json": {"schema": {"$ref": _AT + "Problem"}}}}


def _operations(spec: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for path, item in spec["paths"].items():
        yield from ((path, operation) for operation in item.values())


def _add(schemas: dict[str, Any], models: list[tuple[Any, Any]]) -> None:
    """Schemas that no route's signature names. One that is there with another content goes in as `...Input`."""
    _, found = models_json_schema(models, ref_template=_AT + "{model}")
    found = found["$defs"]
    renamed = {n: f"{n}Input" for n, s in found.items() if schemas.get(n, s) != s}
    # What refers to a renamed one differs too, although its own text is the same.
    while more := {
        n: f"{n}Input"
        for n, s in found.items()
        if n in schemas and n not in renamed and any(f'"{_AT}{r}"' in json.dumps(s) for r in renamed)
    }:
        renamed |= more
    text = json.dumps({renamed.get(n, n): s for n, s in found.items()})
    for old, new in renamed.items():
        text = text.replace(f'"{_AT}{old}"', f'"{_AT}{new}"')
    for name, schema in json.loads(text).items():
        schemas.setdefault(name, schema)


def _complete(schemas: dict[str, Any]) -> None:
    """What is sent has every field, those with a default too."""
    for schema in schemas.values():
        if schema.get("properties"):
            schema["required"] = list(schema["properties"])


def _examples(spec: dict[str, Any]) -> None:
    request = demo()
    one = spec["paths"]["/v1/recommendations"]["post"]
    one["requestBody"]["content"][JSON]["examples"] = {
        "grade_4_harder": {"summary": "A grade 4 section that met the challenge well", "value": request}
    }
    for path, item in spec["paths"].items():
        if path.startswith("/v1/prints/"):
            item["post"]["requestBody"]["content"][JSON]["examples"] = {
                "grade_4_harder": {"summary": "A grade 4 section", "value": request}
            }
    batch = spec["paths"]["/v1/recommendations/batch"]["post"]["requestBody"]["content"]
    batch[JSON]["examples"] = {"one_section": {"summary": "A list of one", "value": [request]}}
    batch[NDJSON]["examples"] = {"one_section": {"summary": "One line", "value": json.dumps(request) + "\n"}}
    runs = {name: request[name] for name in ("section", "runs")}
    learning = spec["paths"]["/v1/learning"]["post"]["requestBody"]["content"]
    learning[JSON]["examples"] = {
        "one_section": {"summary": "One section", "value": {"challenge": request["challenge"], "sections": [runs]}}
    }
    for path, method, value in _drafts():
        content = spec["paths"][path][method]["requestBody"]["content"][JSON]
        content["examples"] = {"usual": {"summary": "A usual one", "value": value}}
    for name in WORK:
        body = spec["paths"][f"/v1/ladders/{name}"]["post"]["requestBody"]["content"][JSON]
        body["examples"] = {name: {"summary": "Of the refuge on Kestrel Ridge", "value": ladder_demo(name)}}
    spec["components"]["schemas"]["Problem"]["examples"] = [
        {
            "type": ProblemType.INVALID_REQUEST,
            "title": "The request is not valid",
            "status": 422,
            "detail": "One field is wrong.",
            "instance": "/v1/recommendations",
            "errors": [
                {
                    "pointer": "/section/studnets",
                    "detail": "'studnets' is not a known field; did you mean 'students'?",
                }
            ],
            "current": None,
        }
    ]


def _drafts() -> Iterator[tuple[str, str, dict[str, Any]]]:
    request = demo()
    section, run = request["section"], request["runs"][0]
    id = "019b0f3c2a7d5e1f0a9b8c"
    cupboard = {"label": "Science room", "materials": section["materials"]}
    checked = ladder_demo("check")
    ladder, edits = checked["ladder"], checked["edits"]
    lesson = {"section_id": id, "on": "2026-11-25", "materials": section["materials"][:1]}
    yield from (
        ("/v1/sections", "post", {"section": section}),
        ("/v1/sections/{id}", "put", {"section": section, "archived": True}),
        ("/v1/sections/{id}/rollover", "post", {"label": "Kestrel 5B"}),
        ("/v1/sections/{id}/runs", "post", {"run": run}),
        ("/v1/runs/{id}", "put", {"run": run, "withdrawn": True}),
        ("/v1/cupboards", "post", cupboard),
        ("/v1/cupboards/{id}", "put", cupboard),
        ("/v1/lessons", "post", lesson),
        ("/v1/lessons/{id}", "put", {**lesson, "state": "taught"}),
        ("/v1/ladders", "post", {"ladder": ladder}),
        *((f"/v1/ladders/{name.value}.pdf", "post", {"ladder": ladder}) for name in LadderSheet),
        ("/v1/ladders/{id}", "put", {"ladder": ladder, "archived": True}),
        ("/v1/ladders/{id}/edits", "put", {"edits": edits}),
        ("/v1/ladders/{id}/merge", "put", {"from_version": 1, "ladder": {**ladder, "name": "Refuge in grade 4"}}),
        ("/v1/ladders/{id}/fork", "post", {"name": "Our own refuge"}),
        ("/v1/ladders/{id}/sections", "put", {"section_id": id, "now_on": "r1", "week": "2026-12-02"}),
        ("/v1/recommendations/{id}/decisions", "post", {"proposal": id, "choice": "declined", "reason": "no_time"}),
    )


def text(app: FastAPI) -> str:
    """The contract as it is committed."""
    return json.dumps(app.openapi(), indent=2, ensure_ascii=False) + "\n"


def main() -> None:
    # Only here is a whole app needed; importing it above would go round in a circle.
    from rungwright.api.app import create_app
    from rungwright.settings import Settings, open_rules

    settings = Settings.from_env()
    sys.stdout.write(text(create_app(settings, open_rules(settings))))


if __name__ == "__main__":
    main()
