"""What is wrong with a request, field by field: validation errors as JSON pointers and plain words."""

from __future__ import annotations

import difflib
import types
from collections.abc import Iterable, Sequence
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from rungwright.recommend.problem import FieldProblem

MOST_TOLD = 50
"""Field problems told in one answer; a wrong list of thousands must not give an answer larger than itself."""

LONGEST = 300
"""Characters of one detail: some of them quote what was sent."""


def validate(model: type[BaseModel], data: Any) -> BaseModel | list[FieldProblem]:
    """The request, or what is wrong with it, one problem a field."""
    try:
        return model.model_validate(data)
    except ValidationError as error:
        return field_problems(model, data, error.errors(include_url=False, include_context=True))


def field_problems(model: type[BaseModel], data: Any, errors: Iterable[dict[str, Any]]) -> list[FieldProblem]:
    found: dict[str, list[tuple[dict[str, Any], tuple]]] = {}
    for error in errors:
        if not _of_the_other_form(error["loc"], data):
            path = _path(error, data)
            found.setdefault(pointer(path), []).append((error, path))
    return [FieldProblem(at, _detail(model, group)) for at, group in list(found.items())[:MOST_TOLD]]


def pointer(path: Sequence[str | int]) -> str:
    """A JSON pointer (RFC 6901); empty for the whole document."""
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1")[:100] for part in path)


def shortened(text: str) -> str:
    return text if len(text) <= LONGEST else text[: LONGEST - 4] + " ..."


def _of_the_other_form(loc: tuple, data: Any) -> bool:
    """A challenge is an id or a whole object: what the other form would have needed helps nobody."""
    if len(loc) < 2 or loc[0] != "challenge" or not isinstance(data, dict):
        return False
    return isinstance(data.get("challenge"), dict) != ("Challenge" in str(loc[1]))


def _path(error: dict[str, Any], data: Any) -> tuple:
    """Where in the data: names of union members and functions, which validation adds to its own path, are left out."""
    out: list[str | int] = []
    for i, part in enumerate(error["loc"]):
        last = i == len(error["loc"]) - 1
        if _holds(data, part):
            data = data[part]
        elif not (last and error["type"] == "missing"):
            continue
        out.append(part)
    return tuple(out)


def _holds(data: Any, part: str | int) -> bool:
    if isinstance(part, str):
        return isinstance(data, dict) and part in data
    return isinstance(data, list) and 0 <= part < len(data)


def _detail(model: type[BaseModel], group: list[tuple[dict[str, Any], tuple]]) -> str:
    error, path = group[0]
    if path == ("challenge",) and error["type"] == "string_type":
        return "give the id of a challenge, or a whole challenge"
    if len(group) > 1 and all("_type" in e["type"] for e, _ in group):
        return "must be a number, a text, or true or false"
    if error["type"] == "extra_forbidden":
        return _unknown_field(str(path[-1]) if path else "", _fields_at(model, path[:-1]))
    if error["loc"] and error["loc"][-1] == "[key]":
        return f"{shortened(str(path[-1]))!r} cannot be a name here: {plain_error(error)}"
    return shortened(plain_error(error))


def _unknown_field(name: str, known: Sequence[str]) -> str:
    near = difflib.get_close_matches(name[:100], known, n=1, cutoff=0.5)
    if near:
        return f"{name[:60]!r} is not a known field; did you mean {near[0]!r}?"
    return f"{name[:60]!r} is not a known field; known are {', '.join(known[:20])}"


_WORDS = {
    "missing": "this field is required",
    "string_type": "must be a text",
    "int_type": "must be a whole number",
    "int_from_float": "must be a whole number",
    "int_parsing": "must be a whole number",
    "float_type": "must be a number",
    "bool_type": "must be true or false",
    "list_type": "must be a list",
    "tuple_type": "must be a list",
    "dict_type": "must be an object",
    "model_type": "must be an object",
    "model_attributes_type": "must be an object",
    "date_type": "must be a day, such as 2026-03-14",
    "finite_number": "must be a finite number",
    "greater_than_equal": "must be at least {ge}",
    "greater_than": "must be above {gt}",
    "less_than_equal": "must be at most {le}",
    "less_than": "must be below {lt}",
    "enum": "must be {expected}",
    "literal_error": "must be {expected}",
    "string_too_short": "must have at least {min_length} characters",
    "string_too_long": "must have at most {max_length} characters",
    "too_short": "must have at least {min_length} entries; it has {actual_length}",
    "too_long": "must have at most {max_length} entries",
    "string_pattern_mismatch": "must be an id: a small letter, then small letters, digits or underscores",
}


def plain_error(error: dict[str, Any]) -> str:
    """One validation error in plain words."""
    context = error.get("ctx", {})
    if error["type"] == "value_error":
        return str(context.get("error", error["msg"]))
    words = _WORDS.get(error["type"])
    return words.format_map(context) if words else error["msg"][:1].lower() + error["msg"][1:]


def _fields_at(model: type[BaseModel], path: Sequence[str | int]) -> list[str]:
    """Names of the fields that the model at a path has, as they stand on the wire."""
    here: Any = model
    for part in path:
        here = _member(here)
        if isinstance(here, type) and issubclass(here, BaseModel):
            by_name = {field.alias or name: field.annotation for name, field in here.model_fields.items()}
            here = by_name.get(str(part))
        else:
            arguments = get_args(here)
            here = arguments[-1] if arguments else None
    here = _member(here)
    if isinstance(here, type) and issubclass(here, BaseModel):
        return [field.alias or name for name, field in here.model_fields.items()]
    return []


def _member(annotation: Any) -> Any:
    """The part of an annotation that has fields: the model of a union, without its marks."""
    while get_origin(annotation) is Annotated:
        annotation = get_args(annotation)[0]
    if get_origin(annotation) in (Union, types.UnionType):
        members = [_member(a) for a in get_args(annotation) if a is not type(None)]
        return next((m for m in members if isinstance(m, type) and issubclass(m, BaseModel)), members[0])
    return annotation
