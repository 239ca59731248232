"""The HTTP interface as a page, made from its own contract: nothing is loaded from outside."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.web.desk import Desk, View

_METHODS = ("get", "post", "put", "delete")
NEARLY_ALL = 0.9
"""Share of the operations whose answer is told once for all."""


@dataclass(frozen=True)
class Operation:
    method: str
    path: str
    id: str
    summary: str
    text: str
    parameters: list[tuple[str, str, str]]
    """name, where, what it is"""
    takes: list[str]
    answers: list[tuple[str, str, str]]
    """status, what it means, the model"""


@dataclass(frozen=True)
class ApiPage(View):
    template: ClassVar[str] = "api.html"
    about: str
    version: str
    shared: list[tuple[str, str, str]]
    """answers that nearly every operation may give: told once, not with each"""
    groups: list[tuple[str, str, list[Operation]]]


def routes(desk: Desk, contract: Callable[[], Mapping[str, Any]]) -> list[Route]:
    def page(request: Request) -> Response:
        said = contract()
        found: dict[str, list[Operation]] = {tag["name"]: [] for tag in said["tags"]}
        for path, item in said["paths"].items():
            for method in _METHODS:
                if method in item:
                    found[item[method]["tags"][0]].append(_operation(method, path, item[method]))
        shared = _shared([operation for part in found.values() for operation in part])
        groups = [(tag["name"], tag.get("description", ""), found[tag["name"]]) for tag in said["tags"]]
        return desk.show(request, ApiPage(said["info"]["description"], said["info"]["version"], shared, groups))

    return [Route("/api", page)]


def _shared(operations: Sequence[Operation]) -> list[tuple[str, str, str]]:
    counts = Counter(answer for operation in operations for answer in operation.answers)
    return sorted(answer for answer, n in counts.items() if n >= NEARLY_ALL * len(operations))


def _operation(method: str, path: str, said: Mapping[str, Any]) -> Operation:
    return Operation(
        method=method.upper(),
        path=path,
        id=said["operationId"],
        summary=said.get("summary", ""),
        text=said.get("description", ""),
        parameters=[(p["name"], p["in"], p.get("description", "")) for p in said.get("parameters", ()) if "name" in p],
        takes=[f"{media}: {_model(body)}" for media, body in said.get("requestBody", {}).get("content", {}).items()],
        answers=[
            (status, answer.get("description", ""), ", ".join(_model(m) for m in answer.get("content", {}).values()))
            for status, answer in said["responses"].items()
        ],
    )


def _model(content: Mapping[str, Any]) -> str:
    schema = content.get("schema", {})
    if "$ref" in schema:
        return schema["$ref"].rpartition("/")[2]
    parts = schema.get("anyOf") or schema.get("oneOf") or ()
    return " or ".join(_model({"schema": part}) for part in parts) or schema.get("title", schema.get("type", "any"))
