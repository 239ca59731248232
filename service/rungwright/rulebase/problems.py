"""What is wrong with a rule base, said at file, line and column."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, order=True)
class Problem:
    """One mistake. `line` and `column` count from 1."""

    path: Path
    line: int
    column: int
    message: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}:{self.column}: {self.message}"


class RuleBaseError(ValueError):
    """The rule base cannot be used; lists every mistake found."""

    def __init__(self, problems: Sequence[Problem]):
        self.problems = tuple(sorted(problems))
        super().__init__("\n".join(map(str, self.problems)))


def nearest(name: object, known: Iterable[str]) -> str:
    """`; did you mean 'x'?`, or the names there are."""
    names = sorted(map(str, known))
    close = difflib.get_close_matches(str(name), names, n=1, cutoff=0.5)
    if close:
        return f"; did you mean {close[0]!r}?"
    return f"; there are {', '.join(names[:12])}{' ...' if len(names) > 12 else ''}" if names else ""
