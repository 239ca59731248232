"""Limits: what the rules say cannot be. Data about settings, evaluated on any settings at once."""

from __future__ import annotations

import operator
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.lever import Lever
from rungwright.domain.strict import Setting
from rungwright.measure.columns import Columns

_NUMBER_TESTS = {
    "at_most": operator.le,
    "at_least": operator.ge,
    "above": operator.gt,
    "below": operator.lt,
}


@dataclass(frozen=True)
class LeverTest:
    """One test of one lever's setting. `word`: is, is_not, one_of, none_of, at_most, at_least, above, below."""

    lever: str
    word: str
    value: Setting | tuple[Setting, ...]

    def holds(self, cols: Columns) -> NDArray[np.bool_]:
        lever, column = cols.levers[self.lever], cols[self.lever]
        if self.word in _NUMBER_TESTS:
            return _NUMBER_TESTS[self.word](column, self.value)
        wanted = self.value if isinstance(self.value, tuple) else (self.value,)
        if lever.type == "number":
            inside = np.isin(column, np.asarray(wanted, float))
        else:
            inside = cols.is_one_of(self.lever, *wanted)
        return ~inside if self.word in ("is_not", "none_of") else inside


@dataclass(frozen=True)
class Limit:
    """One limit of one rule. Tests `allowed` must hold; tests `together` may not all hold."""

    rule: str
    say: Callable[[], str]
    """its sentence: most limits are never told"""
    levers: tuple[str, ...]
    allowed: tuple[LeverTest, ...] = ()
    together: tuple[LeverTest, ...] = ()
    towards: str | None = None

    @property
    def text(self) -> str:
        return self.say()

    def broken(self, cols: Columns, start: Mapping[str, float]) -> NDArray[np.bool_]:
        """Where it is broken. `start` gives each lever's place among its settings before anything was proposed."""
        bad = np.zeros(cols.n, bool)
        for test in self.allowed:
            bad |= ~test.holds(cols)
        if self.together:
            bad |= np.logical_and.reduce([test.holds(cols) for test in self.together])
        if self.towards:
            for lever in self.levers:
                moved = places(cols, lever) - start[lever]
                bad |= moved > 1e-9 if self.towards == "harder" else moved < -1e-9
        return bad


@dataclass(frozen=True)
class Limits:
    limits: Sequence[Limit] = ()
    banned: frozenset[str] = frozenset()
    """materials and tools"""
    one_notch: str | None = None
    """the rule's sentence, where only one notch may be moved"""

    def broken(self, cols: Columns, start: Mapping[str, float]) -> list[NDArray[np.bool_]]:
        """One array a limit, in order: where it is broken and was not broken, or not less, at the start."""
        return [limit.broken(cols, start) for limit in self.limits]


def places(cols: Columns, lever: str) -> NDArray[np.float64]:
    """Where each version stands along a lever's settings, 0 gentlest."""
    return cols.each(lever, cols.levers[lever].position)


def start_places(levers: Mapping[str, Lever], settings: Mapping[str, Setting]) -> dict[str, float]:
    return {name: lever.position(settings[name]) for name, lever in levers.items()}
