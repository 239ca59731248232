"""What the routes say about themselves in the contract: their bodies and their failures."""

from __future__ import annotations

from typing import Any

from rungwright.api.body import NDJSON
from rungwright.api.problems import MEANINGS, MEDIA_TYPE, ProblemType

PROBLEM = {"$ref": "#/components/schemas/Problem"}


def failures(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """The failures of a route; 500 may come from every one."""
    return {status: _failure(status) for status in (*statuses, 500)}


def _failure(status: int) -> dict[str, Any]:
    titles = [m.title for m in MEANINGS.values() if m.status == status and m.type != ProblemType.BAD_REQUEST]
    return {"description": "; ".join(titles), "content": {MEDIA_TYPE: {"schema": PROBLEM}}}


def body_of(*types: str, model: str = "RecommendationRequest") -> dict[str, Any]:
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
