"""What the routes say about themselves in the contract: their bodies and their failures."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from rungwright.api.body import JSON, NDJSON
from rungwright.api.problems import MEANINGS, MEDIA_TYPE, ProblemType

PROBLEM = {"$ref": "#/components/schemas/Problem"}
ETAG = {"description": "the version, as `If-Match` wants it", "schema": {"type": "string"}}
LOCATION = {"description": "address of what was made", "schema": {"type": "string"}}
IF_MATCH = {
    "name": "If-Match",
    "in": "header",
    "required": True,
    "schema": {"type": "string", "maxLength": 200},
    "description": "the `ETag` of what you change",
}
REPEAT_KEY = {
    "name": "Idempotency-Key",
    "in": "header",
    "required": False,
    "schema": {"type": "string", "minLength": 1, "maxLength": 200},
    "description": "any text of your own: the same call again with the same text makes nothing more, for a day",
}


def failures(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """The failures of a route; 500 may come from every one."""
    return {status: _failure(status) for status in (*statuses, 500)}


def _failure(status: int) -> dict[str, Any]:
    titles = [m.title for m in MEANINGS.values() if m.status == status and m.type != ProblemType.BAD_REQUEST]
    return {"description": "; ".join(titles), "content": {MEDIA_TYPE: {"schema": PROBLEM}}}


def of_draft(model: type[BaseModel]) -> dict[str, Any]:
    """The body of a route that reads one draft itself."""
    schema = {"$ref": f"#/components/schemas/{model.__name__}"}
    return {"requestBody": {"required": True, "content": {JSON: {"schema": schema}}}}


def creates(view: type[BaseModel], draft: type[BaseModel], *more: int) -> dict[str, Any]:
    """What a route that makes an entry says of itself; `more`: failures beyond the usual ones."""
    made = {"description": "It was made; `Location` is its address", "headers": {"Location": LOCATION, "ETag": ETAG}}
    return {
        "response_model": view,
        "status_code": 201,
        "responses": {201: made, **failures(400, 403, 413, 415, 422, *more)},
        "openapi_extra": {"parameters": [REPEAT_KEY], **of_draft(draft)},
    }


def replaces(view: type[BaseModel], draft: type[BaseModel]) -> dict[str, Any]:
    """What a route that changes an entry says of itself."""
    return {
        "response_model": view,
        "responses": {
            200: {"description": "The new version", "headers": {"ETag": ETAG}},
            **failures(400, 403, 404, 412, 413, 415, 422, 428),
        },
        "openapi_extra": {"parameters": [IF_MATCH], **of_draft(draft)},
    }


def shows(view: type[BaseModel]) -> dict[str, Any]:
    """What a route that shows one entry says of itself."""
    return {
        "response_model": view,
        "responses": {200: {"description": "The entry", "headers": {"ETag": ETAG}}, **failures(404)},
    }


def body_of(*types: str, model: str = "RecommendationCall") -> dict[str, Any]:
    """The body of a route that reads it itself: one request, or several where NDJSON is among the types."""
    content: dict[str, Any] = {}
    one = {"$ref": f"#/components/schemas/{model}"}
    several = NDJSON in types
    for name in types:
        if name == NDJSON:
            schema: dict[str, Any] = {"type": "string", "description": f"one {model} a line"}
        elif several:
            schema = {"type": "array", "items": one, "maxItems": 1000}
        else:
            schema = one
        content[name] = {"schema": schema}
    return {"requestBody": {"required": True, "content": content}}
