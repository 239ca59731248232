"""Settings of many versions of a challenge as arrays, one column a lever: what every measure takes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.lever import Lever
from rungwright.domain.strict import Setting


@dataclass(frozen=True)
class Columns:
    """`n` versions of the settings.

    A number lever's column holds its values in the lever's own unit (float64); a word or yes/no lever's column holds
    the index of the setting in `Lever.settings` (int64).
    """

    levers: Mapping[str, Lever]
    rows: tuple[Mapping[str, Setting], ...]
    values: Mapping[str, NDArray]

    @property
    def n(self) -> int:
        return len(self.rows)

    def __getitem__(self, lever: str) -> NDArray:
        return self.values[lever]

    def is_one_of(self, lever: str, *settings: Setting) -> NDArray[np.bool_]:
        """Where a word or yes/no lever stands at one of these settings."""
        column, domain = self.values[lever], self.levers[lever].settings
        found = column == domain.index(settings[0])
        for setting in settings[1:]:
            found |= column == domain.index(setting)
        return found

    def look_up(self, lever: str, table: Sequence[float]) -> NDArray[np.float64]:
        """A table with one value a setting, read at each version; numbers between settings are interpolated."""
        spec, at = self.levers[lever], np.asarray(table, float)
        if spec.type != "number":
            return at[self.values[lever]]
        x = np.asarray(spec.settings, float)
        return (
            np.interp(self.values[lever], x, at) if x[0] < x[-1] else np.interp(self.values[lever], x[::-1], at[::-1])
        )


def columns(levers: Mapping[str, Lever], rows: Sequence[Mapping[str, Setting]]) -> Columns:
    """Turn settings (lever id -> value inside the lever's domain, every lever of `levers`) into columns."""
    values = {}
    for name, lever in levers.items():
        if lever.type == "number":
            values[name] = np.array([row[name] for row in rows], float)
        else:
            place = {s: i for i, s in enumerate(lever.settings)}
            values[name] = np.array([place[row[name]] for row in rows], np.int64)
    return Columns(levers, tuple(rows), values)
