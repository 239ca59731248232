"""Teachers that know what nobody can: how well any way of pitching could do, worked out instead of claimed.

Each knows the true effects of the levers, may set up to MOST_MOVED challenge levers of the usual version to any
setting, whether or not a rule would propose it or the kit would do, and takes what most surely lands in the band. Sets
are grown from the best smaller ones: a search of all of them would find a little more.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.lever import LeverKind
from rungwright.domain.run import Run
from rungwright.domain.strict import Setting
from rungwright.readiness.nodes import normal_lattice
from rungwright.readiness.outcome import share_all
from rungwright.readiness.posterior import Posterior, RunEvidence, posterior
from rungwright.simulate.classes import Class
from rungwright.simulate.teachers import Plan

MOST_MOVED = 3
GROWN_FROM = 3
"""Sets of each size that larger ones are grown from."""
POINTS = 24
"""Points that stand for all that a class may be able to do."""


@dataclass
class Bound:
    """`abilities` gives what the class may be able to do in the lesson to come, each as likely, (points, criteria)."""

    name: str
    band: tuple[float, float]
    abilities: Callable[[Class, Sequence[Run]], NDArray[np.float64]]

    def plan(self, taught: Class, runs: Sequence[Run]) -> Plan:
        abilities = self.abilities(taught, runs)
        singles = [
            {name: setting}
            for name, lever in taught.case.levers.items()
            if lever.kind == LeverKind.CHALLENGE
            for setting in lever.settings
            if setting != taught.usual[name]
        ]
        best, best_key, grown = {}, self._keys(taught, [{}], abilities)[0], [{}]
        for _ in range(MOST_MOVED):
            sets = [{**few, **one} for few in grown for one in singles if not few.keys() & one.keys()]
            keys = self._keys(taught, sets, abilities)
            order = sorted(range(len(sets)), key=keys.__getitem__, reverse=True)[:GROWN_FROM]
            grown = [sets[i] for i in order]
            if keys[order[0]] > best_key:
                best, best_key = grown[0], keys[order[0]]
        return Plan({**taught.usual, **best})

    def _keys(
        self, taught: Class, sets: Sequence[Mapping[str, Setting]], abilities: NDArray[np.float64]
    ) -> list[tuple[float, float]]:
        """How surely each set lands in the band, then how near its middle."""
        low, high = self.band
        versions = taught.versions([{**taught.usual, **changed} for changed in sets])
        sure = (Posterior(ability, 0.0, np.zeros(len(ability))) for ability in abilities)
        shares = np.array([share_all(taught.school.prior, one, versions) for one in sure])
        inside = ((shares >= low) & (shares <= high)).mean(axis=0)
        off = np.abs(shares - (low + high) / 2).mean(axis=0)
        return list(zip(inside.tolist(), (-off).tolist(), strict=True))


def bounds(band: tuple[float, float]) -> tuple[Bound, ...]:
    return (
        Bound("knows_results", band, _after_the_results),
        Bound("knows_past", band, _after_the_past),
        Bound("knows_all", band, lambda taught, runs: taught.ability[len(runs)][None]),
    )


def _after_the_results(taught: Class, runs: Sequence[Run]) -> NDArray[np.float64]:
    """What the results of all lessons so far leave open, by the model with the true effects and spreads."""
    criteria = len(taught.case.criteria)
    evidence = []
    for i, run in enumerate(runs):
        versions, tallies = taught.versions([run.settings]), run.tallies()
        evidence.append(
            RunEvidence(
                groups=run.groups,
                runs_ago=len(runs) - i,
                tallies=[(taught.case.criteria.index(c), *tallies[c]) for c in sorted(tallies)],
                difficulty=versions.difficulty[0],
                keep=versions.keep[0],
                second=versions.second[0],
                gain=versions.gain[0],
            )
        )
    ready = posterior(taught.school.prior, taught.case.grade_shift, criteria, evidence)
    points = normal_lattice(POINTS, criteria + 1)
    return ready.mean + ready.common_sd * points[:, :1] + ready.own_sd * points[:, 1:]


def _after_the_past(taught: Class, runs: Sequence[Run]) -> NDArray[np.float64]:
    """The true readiness of the lesson before, and how it may walk from there; before the first lesson, the usual."""
    if not runs:
        return _after_the_results(taught, runs)
    school = taught.school
    return taught.ability[len(runs) - 1] + school.growth + school.drift * normal_lattice(POINTS, 1)
