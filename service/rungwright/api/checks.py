"""Routes that work out one check or one calibration. They need no section and store nothing."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response

from rungwright.api.body import JSON, ONE_LIMIT, media_type, parsed, read_body
from rungwright.api.documented import failures
from rungwright.api.fields import validate
from rungwright.api.problems import invalid
from rungwright.checks.kinds import CALIBRATIONS, CHECKS, Kind
from rungwright.checks.result import InputError
from rungwright.recommend.problem import FieldProblem


def add_routes(app: FastAPI) -> None:
    for kind in CHECKS.values():
        _add(app, f"/v1/checks/{kind.name}", f"check_{kind.name}", kind)
    for kind in CALIBRATIONS.values():
        _add(app, f"/v1/calibrations/{kind.name}", f"calibrate_{kind.name}", kind)


def worked_out(data: Any, kind: Kind) -> str:
    """From the data of a request to the JSON of its answer. Raises ProblemError 422."""
    asked = validate(kind.model, data)
    if isinstance(asked, list):
        raise invalid(asked)
    try:
        return kind.answer(asked).model_dump_json()
    except InputError as error:
        raise invalid([FieldProblem(f"/{error.field}", str(error))]) from None


def _add(app: FastAPI, path: str, name: str, kind: Kind) -> None:
    async def route(request: Request) -> Response:
        media_type(request, JSON)
        data = parsed(await read_body(request, ONE_LIMIT))
        return Response(await run_in_threadpool(worked_out, data, kind), media_type=JSON)

    app.add_api_route(
        path,
        route,
        methods=["POST"],
        operation_id=name,
        tags=["checks"],
        summary=kind.summary,
        description="Quantities are texts with their unit, metric or US; a unit of another kind is refused.",
        response_model=kind.answers,
        response_description="The value with its range, a sentence, the inputs used and the sources",
        responses=failures(400, 413, 415, 422),
        openapi_extra={
            "requestBody": {
                "required": True,
                "content": {
                    JSON: {
                        "schema": {"$ref": f"#/components/schemas/{kind.model.__name__}"},
                        "examples": {"usual": {"summary": kind.summary, "value": dict(kind.example)}},
                    }
                },
            }
        },
    )


def models() -> list[tuple[Any, str]]:
    """The bodies that no route's signature names, for the contract."""
    return [(kind.model, "validation") for kind in (*CHECKS.values(), *CALIBRATIONS.values())]
