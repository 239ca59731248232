"""Forms of bridges and towers: what they take, and what they bear. Refuges have a floor besides, see `form`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from rungwright.measure.constants import GRAVITY_N_PER_G, LEAST_JOINT_SHARE
from rungwright.measure.form import Modes
from rungwright.measure.quantiles import Points, low_mid_high

Array = np.ndarray


@dataclass(frozen=True)
class Structure:
    """One form of stated dimensions; sizes in mm."""

    id: str
    label: str
    sticks: int
    sheets: int
    tape_cm: float
    strengths: Callable[[Points, float], tuple[Modes, Modes]]
    """materials and strength of the taped joints (0..1) to the modes [N] with the weight at the middle and off it"""
    glue: bool = False

    @property
    def soft_only(self) -> bool:
        return self.sticks == 0 and not self.glue


def bears_g(structure: Structure, m: Points, *, tape_cm: float, off_centre: bool) -> tuple[Array, str]:
    """What an ideally made one bears [g], (5 %, 50 %, 95 %), and what fails first there, by the medians.

    With less tape than it needs, its joints lose strength in proportion.
    """
    share = float(np.clip(tape_cm / structure.tape_cm, LEAST_JOINT_SHARE, 1.0))
    modes = structure.strengths(m, share)[int(off_centre)]
    first = min(modes, key=lambda name: float(np.median(modes[name])))
    return low_mid_high(np.minimum.reduce(list(modes.values()))) / GRAVITY_N_PER_G, first
