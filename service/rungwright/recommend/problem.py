"""What is wrong with a request, said at the field."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class FieldProblem:
    """`pointer` is a JSON pointer (RFC 6901) into the request."""

    pointer: str
    detail: str


class RequestProblem(ValueError):
    """The request names something unknown or asks for what is not allowed; lists every field that is wrong."""

    def __init__(self, problems: Iterable[FieldProblem]):
        self.problems = tuple(problems)
        super().__init__("; ".join(f"{p.pointer}: {p.detail}" for p in self.problems))


def unknown(pointer: str, what: str, name: object, known: Iterable[str]) -> FieldProblem:
    """`name` is no `what`; offers the nearest known name, or lists a few."""
    names = sorted(known)
    near = difflib.get_close_matches(str(name), names, n=1, cutoff=0.5)
    if near:
        help_ = f"did you mean {near[0]!r}?"
    else:
        help_ = "known are " + ", ".join(names[:12]) + (f" and {len(names) - 12} more" if len(names) > 12 else "")
    return FieldProblem(pointer, f"{name!r} is not a known {what}; {help_}")
