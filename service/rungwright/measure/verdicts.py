"""Three-way verdicts as array codes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.recommendation import Verdict

VERDICTS = (Verdict.CLEAR, Verdict.UNCERTAIN, Verdict.NOT_FEASIBLE)
CLEAR, UNCERTAIN, NOT_FEASIBLE = range(3)


def verdict_of(low: NDArray, high: NDArray) -> NDArray[np.int64]:
    """Clear where the 5 % point of a margin is 1 or more, not feasible where its 95 % point is under 1."""
    return np.where(low >= 1, CLEAR, np.where(high < 1, NOT_FEASIBLE, UNCERTAIN))


@dataclass(frozen=True)
class Statement:
    """One plain sentence on a check, and the numbers behind it."""

    text: str
    numbers: dict[str, float | int | str | bool | None]
