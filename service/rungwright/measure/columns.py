"""Settings of many versions of a challenge as arrays, one column a lever: what every measure takes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from functools import partial
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.lever import Lever
from rungwright.domain.strict import Setting


class Columns:
    """`n` versions of the settings: `base` has a value for every lever, each change what differs from it.

    A number lever's column holds its values in the lever's own unit (float64); a word or yes/no lever's column holds
    the index of the setting in `Lever.settings` (int64). A column is made when it is first read, and versions mostly
    differ in a few levers: both save most of the work.
    """

    def __init__(self, levers: Mapping[str, Lever], base: Mapping[str, Setting], changes: Sequence[Mapping]):
        self.levers, self.n = levers, len(changes)
        self._base, self._changes = base, changes
        self._made: dict[str, NDArray] = {}
        self._moved: dict[str, tuple[list[int], list[Setting]]] = {}
        for i, change in enumerate(changes):
            for lever, value in change.items():
                at, to = self._moved.setdefault(lever, ([], []))
                at.append(i)
                to.append(value)

    def row(self, i: int) -> dict[str, Setting]:
        """The settings of version `i`."""
        return {**self._base, **self._changes[i]}

    def only(self, rows: Sequence[int]) -> Columns:
        """These versions, in this order."""
        return Columns(self.levers, self._base, [self._changes[i] for i in rows])

    def distinct(self, levers: Sequence[str]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """The first version of each combination that these levers have, and which of those each version is, (n,)."""
        which = np.zeros(self.n, np.int64)
        for lever in levers:
            _, at = np.unique(self[lever], return_inverse=True)
            # Numbered anew each time, so that the numbers stay small.
            _, first, which = np.unique(which * (at.max() + 1) + at, return_index=True, return_inverse=True)
        return first, which

    def __getitem__(self, lever: str) -> NDArray:
        column = self._made.get(lever)
        if column is None:
            number, places = self.levers[lever].type == "number", self.levers[lever].places
            here = self._base[lever]
            column = _all_alike(self.n, here if number else places[here], float if number else np.int64)
            if lever in self._moved:
                at, to = self._moved[lever]
                column[at] = to if number else [places[value] for value in to]
            self._made[lever] = column
        return column

    def is_one_of(self, lever: str, *settings: Setting) -> NDArray[np.bool_]:
        """Where a word or yes/no lever stands at one of these settings."""
        column, places = self[lever], self.levers[lever].places
        found = column == places[settings[0]]
        for setting in settings[1:]:
            found |= column == places[setting]
        return found

    def each(self, lever: str, of: Callable[[Setting], float]) -> NDArray[np.float64]:
        """A number for the lever's setting in each version, (n,)."""
        column = _all_alike(self.n, of(self._base[lever]), float)
        if lever in self._moved:
            at, to = self._moved[lever]
            known = {value: of(value) for value in set(to)}
            column[at] = [known[value] for value in to]
        return column


def _all_alike(n: int, value: float, kind: type) -> NDArray:
    # As np.full does it, at a third of its cost for few versions.
    column = np.empty(n, kind)
    column.fill(value)
    return column


class Grid(Columns):
    """Versions that differ from `base` in some levers: `domains` gives their settings, `at` (n,) the place of each."""

    def __init__(
        self,
        levers: Mapping[str, Lever],
        base: Mapping[str, Setting],
        domains: Mapping[str, Sequence[Setting]],
        at: Mapping[str, NDArray[np.int64]],
    ):
        n = len(next(iter(at.values())))
        super().__init__(levers, base, [{}] * n)
        self._domains, self._at = domains, at

    def only(self, rows: Sequence[int]) -> Grid:
        at = {lever: places[list(rows)] for lever, places in self._at.items()}
        return Grid(self.levers, self._base, self._domains, at)

    def row(self, i: int) -> dict[str, Setting]:
        return {**self._base, **{lever: self._domains[lever][at[i]] for lever, at in self._at.items()}}

    def __getitem__(self, lever: str) -> NDArray:
        if lever in self._at and lever not in self._made:
            spec, domain = self.levers[lever], self._domains[lever]
            number = spec.type == "number"
            known = domain if number else [spec.places[value] for value in domain]
            self._made[lever] = np.array(known, float if number else np.int64)[self._at[lever]]
        return super().__getitem__(lever)

    def each(self, lever: str, of: Callable[[Setting], float]) -> NDArray[np.float64]:
        if lever in self._at:
            return np.array([of(value) for value in self._domains[lever]], float)[self._at[lever]]
        return super().each(lever, of)


def only_rows(part: Any, rows: Sequence[int]) -> Any:
    """These versions of what was computed for many: of arrays over versions, and of mappings and dataclasses of them.

    Whatever is not over versions stays as it is.
    """
    if isinstance(part, np.ndarray):
        return part[rows]
    if isinstance(part, Columns):
        return part.only(rows)
    if isinstance(part, Mapping):
        return {name: only_rows(value, rows) for name, value in part.items()}
    if is_dataclass(part):
        return replace(part, **{f.name: only_rows(getattr(part, f.name), rows) for f in fields(part)})
    return part


def columns(levers: Mapping[str, Lever], rows: Sequence[Mapping[str, Setting]]) -> Columns:
    """At least one version, each row with a value inside its lever's domain for every lever of `levers`."""
    base = rows[0]
    return Columns(levers, base, [{k: v for k, v in row.items() if v != base[k]} for row in rows])


def minutes_of(cols: Columns, table: Literal["lesson_minutes", "preparation_minutes"]) -> NDArray[np.float64]:
    """What the settings take of the lesson, or of the teacher's time before it, in each version, (n,) [min]."""
    total = np.zeros(cols.n)
    for lever in cols.levers.values():
        if minutes := lever.minutes.get(table):
            total += cols.each(lever.id, partial(lever.between, minutes))
    return total
