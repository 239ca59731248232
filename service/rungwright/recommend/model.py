"""The model of one section: its readiness, and the difficulty of any version of the challenge for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.grades import BAND_MIDDLES
from rungwright.domain.strict import Setting
from rungwright.measure.build import BuildChecks, build_checks
from rungwright.measure.columns import Columns, columns
from rungwright.readiness.difficulty import bases, effect_spread, group_size_weight, lever_weights, margin_weights
from rungwright.readiness.outcome import Versions
from rungwright.readiness.posterior import Posterior, RunEvidence, posterior
from rungwright.recommend.resolve import Case


@dataclass(frozen=True)
class Model:
    """`zero` (criteria,) and `margins` (by check): weights and margins at the band's preset, where the scale starts."""

    zero: NDArray[np.float64]
    margins: Mapping[str, float]
    ready: Posterior

    def versions(self, case: Case, cols: Columns, build: BuildChecks) -> Versions:
        return _versions(case, cols, _demands(case, cols, build) - self.zero)

    def effect_sd(self, case: Case, settings: Mapping[str, Setting], build: BuildChecks, i: int) -> NDArray[np.float64]:
        """How uncertain the difficulty of `settings`, version `i` of `build`, is: (criteria,) [logit].

        Nothing at the preset, more far from it.
        """
        here = {check: float(margin[i]) for check, margin in _margins(build).items()}
        return effect_spread(case.challenge, case.levers, (case.preset, self.margins), (settings, here))


def build_model(case: Case, start: Mapping[str, Setting]) -> Model:
    """Readiness from the runs that teach; a run's settings that were not told are taken as `start`."""
    runs = case.teaching_runs
    cols = columns(case.levers, [case.preset, *({**start, **(run.settings or {})} for run in runs)])
    build = build_checks(cols, case.section.band, figure_height_mm=case.challenge.figure_height_mm)
    weights = _demands(case, cols, build)
    versions = _versions(case, cols, weights - weights[0])
    evidence = []
    for i, run in enumerate(runs, start=1):
        tallies = run.tallies()
        evidence.append(
            RunEvidence(
                groups=run.groups,
                runs_ago=len(runs) - i,
                tallies=[(case.criteria.index(c), *tallies[c]) for c in sorted(tallies)],
                difficulty=versions.difficulty[i],
                keep=versions.keep[i],
                second=versions.second[i],
            )
        )
    shift = case.section.grade_mid - BAND_MIDDLES[case.section.band]
    ready = posterior(case.challenge.readiness, shift, len(case.criteria), evidence)
    return Model(weights[0], {check: float(m[0]) for check, m in _margins(build).items()}, ready)


def _demands(case: Case, cols: Columns, build: BuildChecks) -> NDArray[np.float64]:
    return lever_weights(case.challenge, cols) + margin_weights(case.challenge, _margins(build))


def _margins(build: BuildChecks) -> dict[str, NDArray]:
    return {"load": build.load.typical_margin, "wind": build.wind.margin_mid}


def _versions(case: Case, cols: Columns, moved: NDArray) -> Versions:
    """`moved` (versions, criteria): how much harder than the preset [logit]."""
    challenge = case.challenge
    size = group_size_weight(challenge.readiness, case.section.group_sizes)
    difficulty = bases(challenge) + moved + size
    improve = cols["redesign_minutes"] > 0
    # A wet build can try again only in a later lesson, and only if it was wetted before.
    lessons = np.minimum(cols["sessions_used"], len(case.section.sessions))
    next_day = improve & (lessons > 1) & cols.is_one_of("first_round", "all")
    counts, second, keep = [], [], []
    tested_again = cols.is_one_of("retest", "all") & improve
    for criterion in challenge.criteria:
        part = np.ones(cols.n, bool)
        for lever, settings in (criterion.only_if or {}).items():
            part &= cols.is_one_of(lever, *settings)
        counts.append(part)
        again = next_day if criterion.second_try == "next_day" else improve
        second.append(again)
        # What is not tested again keeps its result.
        keep.append(np.where(tested_again & again, criterion.keep_rate, 1.0))
    return Versions(difficulty, *(np.column_stack(part) for part in (counts, second, keep)))
