"""One shape for every failure: problem details (RFC 9457) with what is wrong at each field."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from enum import StrEnum
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from starlette.exceptions import HTTPException
from starlette.routing import Match

from rungwright.api.fields import plain_error, pointer, shortened
from rungwright.recommend.problem import FieldProblem, unknown

MEDIA_TYPE = "application/problem+json"
PREFIX = "/v1/problems/"

log = logging.getLogger("rungwright.api")


class ProblemType(StrEnum):
    """What kind of failure; each is an address of this service that says what it means."""

    BAD_REQUEST = PREFIX + "bad-request"
    MALFORMED_JSON = PREFIX + "malformed-json"
    INVALID_QUERY = PREFIX + "invalid-query"
    NO_KEY = PREFIX + "no-key"
    NOT_ALLOWED = PREFIX + "not-allowed"
    NOT_FOUND = PREFIX + "not-found"
    METHOD_NOT_ALLOWED = PREFIX + "method-not-allowed"
    CHANGED_MEANWHILE = PREFIX + "changed-meanwhile"
    TOO_LARGE = PREFIX + "too-large"
    UNSUPPORTED_MEDIA_TYPE = PREFIX + "unsupported-media-type"
    INVALID_REQUEST = PREFIX + "invalid-request"
    NO_VERSION = PREFIX + "no-version"
    TOO_MANY = PREFIX + "too-many"
    INTERNAL_ERROR = PREFIX + "internal-error"
    NOT_READY = PREFIX + "not-ready"
    NOT_KEPT = PREFIX + "not-kept"


class _View(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class ProblemMeaning(_View):
    """What one kind of failure means."""

    id: str
    type: ProblemType
    status: int
    title: str
    meaning: str


def _meaning(kind: ProblemType, status: int, title: str, meaning: str) -> ProblemMeaning:
    return ProblemMeaning(id=kind.removeprefix(PREFIX), type=kind, status=status, title=title, meaning=meaning)


MEANINGS = {
    m.type: m
    for m in (
        _meaning(ProblemType.BAD_REQUEST, 400, "The request cannot be read", "It breaks the rules of HTTP."),
        _meaning(
            ProblemType.MALFORMED_JSON,
            400,
            "The body is not valid JSON",
            "Send UTF-8 JSON, each key once in an object, numbers finite.",
        ),
        _meaning(
            ProblemType.INVALID_QUERY,
            400,
            "The query is not valid",
            "`errors` names each parameter after the question mark that is wrong.",
        ),
        _meaning(
            ProblemType.NO_KEY,
            401,
            "A key is needed",
            "Send `Authorization: Bearer` and a key that is neither revoked nor past its day.",
        ),
        _meaning(ProblemType.NOT_ALLOWED, 403, "This key may not do that", "Its role or its owner says what it may."),
        _meaning(ProblemType.NOT_FOUND, 404, "There is nothing here", "No such address, or no such id."),
        _meaning(
            ProblemType.METHOD_NOT_ALLOWED,
            405,
            "This method is not allowed here",
            "The header `Allow` lists the methods that are.",
        ),
        _meaning(
            ProblemType.CHANGED_MEANWHILE,
            412,
            "It was changed since you read it",
            "`current` is the newer version; make your change in it and send its `version` as `If-Match`.",
        ),
        _meaning(ProblemType.TOO_LARGE, 413, "The body is too large", "Send less, or split a batch."),
        _meaning(
            ProblemType.UNSUPPORTED_MEDIA_TYPE,
            415,
            "The body is of a type that is not read here",
            "Send `application/json`; a batch may be `application/x-ndjson`. Compressed bodies are not read.",
        ),
        _meaning(
            ProblemType.INVALID_REQUEST,
            422,
            "The request is not valid",
            "`errors` points at each field that is wrong and says what it may be.",
        ),
        _meaning(
            ProblemType.NO_VERSION,
            428,
            "Say which version you change",
            "Send the `ETag` of what you read as `If-Match`, so that nobody's change is lost.",
        ),
        _meaning(ProblemType.TOO_MANY, 429, "Too many calls", "Wait as long as the header `Retry-After` says."),
        _meaning(
            ProblemType.INTERNAL_ERROR,
            500,
            "Something went wrong in the service",
            "The request may be fine. The service keeps the details in its log.",
        ),
        _meaning(ProblemType.NOT_READY, 503, "The service is not ready", "Its rules cannot be run. See its log."),
        _meaning(
            ProblemType.NOT_KEPT,
            503,
            "The data cannot be used just now",
            "Nothing of the request was written. `detail` says what to do; `Retry-After` says when to try again.",
        ),
    )
}
_BY_STATUS = {m.status: m.type for m in reversed(MEANINGS.values())}


class FieldError(_View):
    pointer: str = Field(description="JSON pointer (RFC 6901) into the body; for a query, `/` and the parameter's name")
    detail: str


class Problem(_View):
    """A failure (RFC 9457)."""

    type: ProblemType
    title: str
    status: int = Field(ge=400, le=599)
    detail: str
    instance: str = Field(description="path of the request")
    errors: list[FieldError] = Field(description="what is wrong at each field; empty where it is about no field")
    current: dict[str, Any] | None = Field(description="the newer version, where a change came too late; else null")


class ProblemError(Exception):
    """Raised anywhere while a request is answered."""

    def __init__(
        self,
        kind: ProblemType,
        detail: str,
        errors: Sequence[FieldProblem] = (),
        headers: dict[str, str] | None = None,
        current: dict[str, Any] | None = None,
    ):
        super().__init__(detail)
        self.kind, self.detail, self.errors, self.headers = kind, detail, tuple(errors), headers
        self.current = current


def invalid(errors: Sequence[FieldProblem]) -> ProblemError:
    """A body that can be read but not used."""
    count = len(errors)
    detail = "One field is wrong." if count == 1 else f"{count} fields are wrong."
    return ProblemError(ProblemType.INVALID_REQUEST, detail, errors)


def no_such(what: str, name: str, known: Sequence[str]) -> ProblemError:
    """An id in an address that is not there; offers the nearest."""
    return ProblemError(ProblemType.NOT_FOUND, "There is no such entry: " + unknown("", what, name[:80], known).detail)


def problem(error: ProblemError, instance: str) -> Problem:
    meaning = MEANINGS[error.kind]
    return Problem(
        type=error.kind,
        title=meaning.title,
        status=meaning.status,
        detail=shortened(error.detail),
        instance=instance[:300],
        errors=[FieldError(pointer=p.pointer, detail=shortened(p.detail)) for p in error.errors],
        current=error.current,
    )


def internal() -> ProblemError:
    return ProblemError(ProblemType.INTERNAL_ERROR, "The service could not answer. Its log says more.")


def answer(error: ProblemError, request: Request) -> Response:
    body = problem(error, request.url.path)
    return Response(body.model_dump_json(), body.status, error.headers, MEDIA_TYPE)


def install(app: FastAPI) -> None:
    """Give every failure of an app the one shape, the router's own included."""

    async def known(request: Request, error: ProblemError) -> Response:
        return answer(error, request)

    async def http(request: Request, error: HTTPException) -> Response:
        if error.status_code == 405:
            allowed = _allowed(request)
            detail = f"{request.method[:20]} is not allowed here; allowed: {allowed}."
            return answer(ProblemError(ProblemType.METHOD_NOT_ALLOWED, detail, (), {"Allow": allowed}), request)
        kind = _BY_STATUS.get(error.status_code, ProblemType.BAD_REQUEST)
        detail = MEANINGS[kind].meaning
        if kind is ProblemType.NOT_FOUND:
            detail = f"There is no address {request.url.path[:200]}; /openapi.json lists those that there are."
        return answer(ProblemError(kind, detail), request)

    async def query(request: Request, error: RequestValidationError) -> Response:
        return answer(_query_problem(error), request)

    async def unexpected(request: Request, error: Exception) -> Response:
        log.error("request failed: %s %s", request.method, request.url.path, exc_info=error)
        return answer(internal(), request)

    app.add_exception_handler(ProblemError, known)
    app.add_exception_handler(HTTPException, http)
    app.add_exception_handler(RequestValidationError, query)
    app.add_exception_handler(Exception, unexpected)


def _query_problem(error: RequestValidationError) -> ProblemError:
    """What is wrong with parameters; the bodies are not read by the framework."""
    said = {"extra_forbidden": "is not a known parameter here"}
    errors = [FieldProblem(pointer(e["loc"][1:]), said.get(e["type"]) or plain_error(e)) for e in error.errors()]
    return ProblemError(ProblemType.INVALID_QUERY, "A parameter of the query is wrong.", errors)


def _allowed(request: Request) -> str:
    """Every method of the address, over all its routes: the router itself names those of the first one only."""
    methods: set[str] = set()
    for route in request.app.routes:
        if route.matches(request.scope)[0] is not Match.NONE:
            methods |= getattr(route, "methods", None) or set()
    return ", ".join(sorted(methods))
