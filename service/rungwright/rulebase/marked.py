"""YAML as plain data with the place of every part, for errors that point at it.

Scalars follow YAML 1.2: only `true` and `false` are booleans, a number never starts with a needless zero, and
`1:30`, `no`, `on` are text. A key that stands twice is a mistake.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar, get_origin

import yaml
from pydantic import BaseModel, ValidationError

from rungwright.rulebase.problems import Problem, nearest

Model = TypeVar("Model", bound=BaseModel)

_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_INT = re.compile(r"[-+]?(0|[1-9][0-9]*)")
_FLOAT = re.compile(r"[-+]?(0|[1-9][0-9]*)?\.[0-9]+([eE][-+]?[0-9]+)?|[-+]?[1-9][0-9]*[eE][-+]?[0-9]+")


@dataclass
class Marked:
    """`data` and, by path of keys and indexes, the place of each value and of each key."""

    path: Path
    data: Any
    places: dict[tuple, tuple[int, int]]
    keys: dict[tuple, tuple[int, int]]
    problems: list[Problem] = field(default_factory=list)

    def problem(self, at: Sequence[str | int], message: str, *, key: bool = False) -> Problem:
        """A problem at a path; the nearest place above it where the path itself has none."""
        at = tuple(at)
        while True:
            place = (self.keys.get(at) if key else None) or self.places.get(at)
            if place or not at:
                return Problem(self.path, *(place or (1, 1)), message)
            at = at[:-1]


def read_marked(path: Path) -> Marked:
    """Read one file. Never raises for its content: mistakes are in `problems`, and `data` is then None."""
    marked = Marked(path, None, {}, {})
    try:
        node = yaml.compose(path.read_text(encoding="utf-8"), Loader=_Loader)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        marked.problems.append(Problem(path, line, column, f"this is not YAML: {error.problem or error}"))
        return marked
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        marked.problems.append(Problem(path, line, 1, "this is not UTF-8 text"))
        return marked
    except yaml.YAMLError as error:
        marked.problems.append(Problem(path, 1, 1, f"this is not YAML: {str(error).splitlines()[0]}"))
        return marked
    if node is None:
        marked.problems.append(Problem(path, 1, 1, "the file is empty"))
        return marked
    try:
        marked.data = _build(node, (), marked)
    except RecursionError:  # an anchor inside itself, or brackets past any use
        marked.problems.append(Problem(path, 1, 1, "the file is nested too deep; anchors are not used here"))
    return marked


def _build(node: yaml.Node, at: tuple, marked: Marked) -> Any:
    marked.places[at] = (node.start_mark.line + 1, node.start_mark.column + 1)
    if isinstance(node, yaml.SequenceNode):
        return [_build(item, (*at, i), marked) for i, item in enumerate(node.value)]
    if isinstance(node, yaml.MappingNode):
        out: dict[str, Any] = {}
        for key_node, value_node in node.value:
            place = (key_node.start_mark.line + 1, key_node.start_mark.column + 1)
            if not isinstance(key_node, yaml.ScalarNode):
                marked.problems.append(Problem(marked.path, *place, "a key is a word, not a list or a mapping"))
                continue
            key = key_node.value
            if key in out:
                marked.problems.append(Problem(marked.path, *place, f"the key {key!r} stands twice"))
            marked.keys[(*at, key)] = place
            out[key] = _build(value_node, (*at, key), marked)
        return out
    return node.value if node.style else _scalar(node.value)


def _scalar(text: str) -> str | int | float | bool | None:
    if text in ("", "~", "null"):
        return None
    if text in ("true", "false"):
        return text == "true"
    if _INT.fullmatch(text):
        return int(text)
    return float(text) if _FLOAT.fullmatch(text) else text


def validated(model: type[Model], marked: Marked, data: Any = None, at: tuple = ()) -> Model | None:
    """`data` (default: the whole file) as a model; mistakes go to `marked.problems` at their place."""
    try:
        return model.model_validate(marked.data if data is None else data)
    except ValidationError as error:
        # A value of several types gives a message for each type at one place; one is enough.
        marked.problems += dict.fromkeys(_located(model, marked, at, item) for item in error.errors())
        return None


def _located(model: type[BaseModel], marked: Marked, at: tuple, item: Any) -> Problem:
    loc = item["loc"]
    # Union members and other helpers stand in the location without standing in the file.
    path: list[str | int] = list(at)
    for part in loc:
        if (*path, part) in marked.places or (*path, part) in marked.keys:
            path.append(part)
    if item["type"] == "extra_forbidden":
        known = nearest(loc[-1], _known_keys(model, loc))
        return marked.problem(path, f"{loc[-1]!r} is not a key here{known}", key=True)
    if item["type"] == "missing":
        return marked.problem(path, f"{'.'.join(map(str, loc))!r} is missing")
    where = ".".join(str(part) for part in path[len(at) :])
    message = item["msg"].removeprefix("Value error, ")
    if str(loc[-1] if loc else "") in ("int", "float", "str", "bool") and (not path or path[-1] != loc[-1]):
        message = "a number, a word, true or false is needed here"
    return marked.problem(path, f"{where + ': ' if where else ''}{message}")


def _known_keys(model: type[BaseModel], loc: Sequence[str | int]) -> list[str]:
    """Field names of the model that the last part of a location belongs to, as far as it can be followed."""
    current: type[BaseModel] | None = model
    parts = list(loc[:-1])
    while parts and current is not None:
        part = parts.pop(0)
        found = next((f for name, f in current.model_fields.items() if part in (name, f.alias)), None)
        if found is None:
            return []
        current = _model_in(found.annotation)
        if parts and (isinstance(parts[0], int) or get_origin(found.annotation) is dict):
            parts.pop(0)  # an item of a list, or the key of an entry
    return [f.alias or name for name, f in current.model_fields.items()] if current else []


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for part in getattr(annotation, "__args__", ()):
        if found := _model_in(part):
            return found
    return None
