"""Forms of pages: what was typed stays as it was typed, and what is wrong is told at its field."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from starlette.datastructures import FormData

from rungwright.recommend.problem import FieldProblem


@dataclass(frozen=True)
class Filled:
    """The values of a form as text, and what is wrong with them: field -> words."""

    values: FormData
    wrong: dict[str, str] = field(default_factory=dict)

    def value(self, name: str) -> str:
        return str(self.values.get(name, ""))

    def all(self, name: str) -> list[str]:
        return [str(value) for value in self.values.getlist(name)]

    def chosen(self, name: str, value: str) -> bool:
        return value in self.values.getlist(name)

    def any_of(self, prefix: str) -> bool:
        """Whether a field whose name begins so has something in it."""
        return any(
            str(value).strip() not in ("", "0") for name, value in self.values.items() if name.startswith(prefix)
        )


def whole(text: str) -> int | str:
    """A whole number, or the text as it is: the model says what it should have been."""
    text = text.strip()
    return int(text) if re.fullmatch("-?[0-9]{1,8}", text) else text


def seen(form: FormData) -> set[int]:
    """The version of what was edited, as it was when its page was opened; none where the form does not say."""
    version = whole(str(form.get("version", "")))
    return {version} if isinstance(version, int) else set()


def decimal(text: str) -> float | str:
    """A number with a point or a comma, or the text as it is."""
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        return text
    return value if abs(value) < 1e9 else text


def at_fields(problems: Sequence[FieldProblem], fields: Sequence[tuple[str, str]]) -> dict[str, str]:
    """What is wrong by field. `fields`: pointer and field; the first that a problem's pointer begins with counts."""
    wrong: dict[str, str] = {}
    for problem in problems:
        named = next((name for pointer, name in fields if problem.pointer.startswith(pointer)), "")
        wrong.setdefault(named, problem.detail)
    return wrong
