"""The model of one section: its readiness, and the difficulty of any version of the challenge for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.grades import BAND_MIDDLES
from rungwright.domain.run import Run
from rungwright.domain.strict import Setting
from rungwright.measure.build import BuildChecks, build_checks
from rungwright.measure.columns import Columns, columns
from rungwright.readiness.difficulty import bases, effect_spread, group_size_weight, lever_weights, margin_weights
from rungwright.readiness.outcome import Versions
from rungwright.readiness.posterior import Posterior, RunEvidence, posterior
from rungwright.recommend.resolve import Case


@dataclass(frozen=True)
class Model:
    """`zero` (criteria,): weights and margins at the band's preset, which the scale starts from."""

    zero: NDArray[np.float64]
    ready: Posterior

    def versions(self, case: Case, cols: Columns, build: BuildChecks) -> Versions:
        return _versions(case, cols, build, self.zero)


def effect_sd(case: Case, settings: Mapping[str, Setting]) -> NDArray[np.float64]:
    """How uncertain the difficulty of these settings is, (criteria,) [logit]: none at the preset, more far from it."""
    cols = columns(case.levers, [case.preset, settings])
    return effect_spread(case.challenge, cols, _margins(_build(case, cols)), preset=0)[1]


def build_model(case: Case, start: Mapping[str, Setting]) -> Model:
    """Readiness from the runs that teach; a run's settings that were not told are taken as `start`."""
    preset = columns(case.levers, [case.preset])
    zero = _demands(case, preset, _build(case, preset))[0]
    runs = teaching_runs(case.request.runs)
    evidence = []
    if runs:
        cols = columns(case.levers, [{**start, **(run.settings or {})} for run in runs])
        versions = _versions(case, cols, _build(case, cols), zero)
        for i, run in enumerate(runs):
            tallies = run.tallies()
            evidence.append(
                RunEvidence(
                    groups=run.groups,
                    runs_ago=len(runs) - 1 - i,
                    tallies=[(case.criteria.index(c), *tallies[c]) for c in sorted(tallies)],
                    difficulty=versions.difficulty[i],
                    keep=versions.keep[i],
                    second=versions.second[i],
                )
            )
    shift = case.section.grade_mid - BAND_MIDDLES[case.section.band]
    return Model(zero, posterior(case.challenge.readiness, shift, len(case.criteria), evidence))


def teaching_runs(runs: Sequence[Run]) -> list[Run]:
    """Runs that teach, oldest first."""
    return sorted((run for run in runs if run.teaches), key=lambda run: (run.on, run.model_dump_json()))


def _build(case: Case, cols: Columns) -> BuildChecks:
    return build_checks(cols, case.section.band, figure_height_mm=case.challenge.figure_height_mm)


def _demands(case: Case, cols: Columns, build: BuildChecks) -> NDArray[np.float64]:
    return lever_weights(case.challenge, cols) + margin_weights(case.challenge, _margins(build))


def _margins(build: BuildChecks) -> dict[str, NDArray]:
    return {"load": build.load.typical_margin, "wind": build.wind.margin_mid}


def _versions(case: Case, cols: Columns, build: BuildChecks, zero: NDArray) -> Versions:
    challenge = case.challenge
    difficulty = (
        bases(challenge)
        + _demands(case, cols, build)
        - zero
        + group_size_weight(challenge.readiness, case.section.group_sizes)
    )
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
