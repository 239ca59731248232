"""The contract is valid, complete, committed, and kept by the service."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings, strategies
from jsonschema import Draft202012Validator
from openapi_spec_validator import OpenAPIV31SpecValidator
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
    unsupported_method,
)

from rungwright.api.contract import text
from tests.api.in_process import from_this_computer

schemathesis.openapi.media_type("application/zip", strategies.binary(max_size=200))


@schemathesis.serializer("application/zip")
def as_it_is(_: Any, value: Any) -> bytes:
    return value if isinstance(value, bytes) else str(value).encode()


COMMITTED = Path(__file__).resolve().parents[2] / "openapi" / "openapi.json"


COMMITTED_PATHS = json.loads(COMMITTED.read_text(encoding="utf-8"))["paths"]


def made_up() -> Iterator[tuple[str, GenerationMode]]:
    """Each operation with good requests, and with bad ones where a request can be bad: any text may be an id."""
    for path, item in COMMITTED_PATHS.items():
        for method, operation in item.items():
            yield f"{method} {path}", GenerationMode.POSITIVE
            if "requestBody" in operation or any(p["in"] == "query" for p in operation.get("parameters", [])):
                yield f"{method} {path}", GenerationMode.NEGATIVE


@pytest.fixture(scope="module")
def contract(app) -> dict[str, Any]:
    return app.openapi()


def operations(contract: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for path, item in contract["paths"].items():
        for method, operation in item.items():
            yield f"{method} {path}", operation


def test_it_is_valid(contract):
    OpenAPIV31SpecValidator(contract).validate()


def test_the_committed_file_is_what_the_service_says(app):
    assert COMMITTED.read_text(encoding="utf-8") == text(app), (
        "write it anew: python -m rungwright.api.contract > openapi/openapi.json"
    )


def test_every_operation_has_a_name_a_tag_and_a_summary(contract):
    names = [operation["operationId"] for _, operation in operations(contract)]
    assert len(set(names)) == len(names)
    for name, operation in operations(contract):
        assert operation["tags"] and operation["summary"], name
    assert {t for _, o in operations(contract) for t in o["tags"]} == {t["name"] for t in contract["tags"]}


def test_every_failure_has_the_one_shape(contract):
    for name, operation in operations(contract):
        assert "500" in operation["responses"], name
        for status, response in operation["responses"].items():
            if int(status) >= 400:
                assert response["content"] == {
                    "application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}
                }, (name, status)
                assert response["description"], (name, status)


COMPUTED = {"recommendations", "learning", "checks", "ladders", "prints"}
"""Tags of posts that anyone with a key may send: they work something out and keep nothing, unless asked to."""


def test_posts_document_each_way_to_fail(contract):
    for name, operation in operations(contract):
        if name.startswith(("post", "put")):
            expected = {"400", "401", "413", "415", "422", "429", "500", "503"}
            if name.startswith("put"):
                expected |= {"403", "404", "412", "428"}
            elif not COMPUTED & set(operation["tags"]):
                expected |= {"403"} | ({"404"} if "{id}" in name else set())
            assert {s for s in operation["responses"] if int(s) >= 400} == expected, name
            bodies = {n: b for n, b in operation["requestBody"]["content"].items() if n != "application/zip"}
            assert all(body.get("examples") for body in bodies.values())


def reached(contract: dict[str, Any], start: Any) -> set[str]:
    found: set[str] = set()
    todo = [start]
    while todo:
        here = todo.pop()
        if isinstance(here, dict):
            name = str(here.get("$ref", "")).removeprefix("#/components/schemas/")
            if name and name not in found:
                found.add(name)
                todo.append(contract["components"]["schemas"][name])
            todo += here.values()
        elif isinstance(here, list):
            todo += here
    return found


def test_every_field_of_an_answer_is_always_there(contract):
    answers = reached(contract, [operation["responses"] for _, operation in operations(contract)])
    assert "Proposal" in answers and "FieldError" in answers and "AnsweredLine" in answers
    for name in answers:
        schema = contract["components"]["schemas"][name]
        assert set(schema.get("required", [])) == set(schema.get("properties", {})), name


def test_no_schema_is_left_over(contract):
    assert reached(contract, contract["paths"]) == set(contract["components"]["schemas"])


def test_closed_sets_of_words_have_names(contract):
    def inline(here: Any, at: str) -> Iterator[str]:
        if isinstance(here, dict):
            if "enum" in here:
                yield at
            for key, value in here.items():
                yield from inline(value, f"{at}/{key}")
        elif isinstance(here, list):
            for value in here:
                yield from inline(value, at)

    for name, schema in contract["components"]["schemas"].items():
        assert list(inline(schema.get("properties", {}), name)) == []


def test_the_examples_keep_the_contract(contract, client):
    schemas = contract["components"]["schemas"]
    whole = {"$schema": "https://json-schema.org/draft/2020-12/schema", "components": {"schemas": schemas}}
    request = Draft202012Validator({**whole, "$ref": "#/components/schemas/RecommendationCall"})
    answer = Draft202012Validator({**whole, "$ref": "#/components/schemas/Recommendation"})
    line = Draft202012Validator(
        {**whole, "anyOf": [{"$ref": f"#/components/schemas/{n}"} for n in ("AnsweredLine", "ProblemLine")]}
    )
    for path in ("/v1/recommendations", "/v1/recommendations/batch"):
        for media, body in contract["paths"][path]["post"]["requestBody"]["content"].items():
            for example in body["examples"].values():
                value = example["value"]
                raw = value if isinstance(value, str) else json.dumps(value)
                for one in (
                    [json.loads(value)] if isinstance(value, str) else value if isinstance(value, list) else [value]
                ):
                    request.validate(one)
                response = client.post(path, content=raw, headers={"content-type": media})
                assert response.status_code == 200
                (line if path.endswith("batch") else answer).validate(response.json())
    problem = Draft202012Validator({**whole, "$ref": "#/components/schemas/Problem"})
    for example in schemas["Problem"]["examples"]:
        problem.validate(example)


CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    negative_data_rejection,
    unsupported_method,
]
"""A request that keeps the contract may still name a lever that is not there: that it is taken is not checked."""


@pytest.fixture(scope="module")
def described(app):
    return schemathesis.openapi.from_asgi("/openapi.json", from_this_computer(app))


@pytest.mark.parametrize(("operation", "mode"), list(made_up()))
def test_made_up_requests_keep_the_contract(described, operation, mode):
    method, path = operation.split()
    # In a batch, what is wrong with one request is told on its line; the answer as a whole is still 200.
    checks = [c for c in CHECKS if not (path.endswith("/batch") and c is negative_data_rejection)]
    strategy = described[path][method.upper()].as_strategy(generation_mode=mode)

    @settings(max_examples=10, derandomize=True, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(case=strategy)
    def keeps(case: schemathesis.Case) -> None:
        response = case.call_and_validate(checks=checks)
        assert response.status_code not in (401, 429, 503), "it got as far as the route"

    keeps()


def test_every_operation_was_tried(contract):
    assert [name for name, _ in operations(contract)] == list(dict.fromkeys(name for name, _ in made_up()))
