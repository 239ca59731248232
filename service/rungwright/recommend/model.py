"""The model of one section: its readiness, and the difficulty of any version of the challenge for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.readings import Readings
from rungwright.domain.run import Run
from rungwright.domain.strict import Setting
from rungwright.measure.build import BuildChecks, build_checks
from rungwright.measure.columns import Columns, columns
from rungwright.readiness.difficulty import group_size_weight
from rungwright.readiness.outcome import Versions
from rungwright.readiness.posterior import OTHER_CHALLENGE_SD, Posterior, RunEvidence, posterior
from rungwright.recommend.resolve import Case


@dataclass(frozen=True)
class Model:
    """`zero` (weights,): what each weight adds at the band's preset of usual materials; the scale starts from it."""

    zero: NDArray[np.float64]
    ready: Posterior


def build_model(case: Case, start: Mapping[str, Setting]) -> Model:
    """Readiness from the runs that teach; a run's settings that were not told are taken as `start`."""
    zero, evidence = evidence_of(case, start)
    return Model(zero, posterior(case.prior, case.grade_shift, len(case.criteria), evidence))


def evidence_of(case: Case, start: Mapping[str, Setting]) -> tuple[NDArray[np.float64], list[RunEvidence]]:
    """The scale's zero (see `Model`), and what the runs that teach say of the section, oldest first.

    Runs of other challenges teach too, less so: only the readiness that all criteria share, and criteria of the same
    name where the family is the same. Their settings that were not told are that challenge's preset.
    """
    runs, zero = case.teaching_runs, None
    cases = {
        name: case if name == case.challenge.id else case.of_challenge(name)
        for name in dict.fromkeys([case.challenge.id, *(run.challenge for run in runs)])
    }
    terms = list(dict.fromkeys(term for of in cases.values() for term in _terms(case, of)))
    evidence = {}
    for name, of in cases.items():
        these = {i: run for i, run in enumerate(runs) if run.challenge == name}
        untold = start if of is case else of.preset
        cols = columns(of.levers, [of.preset, *({**untold, **(run.settings or {})} for run in these.values())])
        build = checks_of(of, cols)
        parts = parts_of(of, cols, build)
        usual = parts[0] if case.section.measured is None else zero_of(of)
        zero = usual if of is case else zero
        if these:
            versions = versions_of(of, cols, parts - usual)
            at = [terms.index(term) for term in _terms(case, of)]
            for row, (i, run) in enumerate(these.items(), start=1):
                evidence[i] = _evidence(case, of, run, versions, row, at, len(terms), len(runs) - i)
    return zero, [evidence[i] for i in range(len(runs))]


def _terms(case: Case, of: Case) -> list[str]:
    """The criteria of a challenge by the name of their own part of readiness: shared inside a family."""
    if of.challenge.family == case.challenge.family:
        return list(of.criteria)
    return [f"{of.challenge.id}/{name}" for name in of.criteria]


def _evidence(
    case: Case, of: Case, run: Run, versions: Versions, row: int, at: Sequence[int], terms: int, ago: int
) -> RunEvidence:
    """A run of the challenge of `of`, whose criteria stand `at` these of the `terms`."""
    difficulty, keep, second, gain = np.zeros(terms), np.ones(terms), np.zeros(terms, bool), np.zeros(terms)
    difficulty[at], keep[at], second[at] = versions.difficulty[row], versions.keep[row], versions.second[row]
    gain[at] = versions.gain[row]
    tallies = run.tallies()
    family = "same_family" if of.challenge.family == case.challenge.family else "other_family"
    return RunEvidence(
        groups=run.groups,
        runs_ago=ago,
        tallies=[(at[of.criteria.index(c)], *tallies[c]) for c in sorted(tallies)],
        difficulty=difficulty,
        keep=keep,
        second=second,
        gain=gain,
        elsewhere=None if of is case else of.challenge.id,
        elsewhere_sd=0.0 if of is case else OTHER_CHALLENGE_SD[family],
    )


def zero_of(case: Case) -> NDArray[np.float64]:
    """What each weight adds at the band's preset of usual materials, (weights,) [logit]."""
    preset = columns(case.levers, [case.preset])
    return parts_of(case, preset, _checks(case, preset, None))[0]


def checks_of(case: Case, cols: Columns) -> BuildChecks:
    """The checks on the build, with what the section measured."""
    return _checks(case, cols, case.section.measured)


def _checks(case: Case, cols: Columns, measured: Readings | None) -> BuildChecks:
    height = case.challenge.figure_height_mm
    return build_checks(cols, case.section.band, figure_height_mm=height, measured=measured)


def parts_of(case: Case, cols: Columns, build: BuildChecks) -> NDArray[np.float64]:
    """What each weight adds at its starting guess, (versions, weights) [logit]."""
    return case.difficulty.parts(cols, {"load": build.load.typical_margin, "wind": build.wind.margin_mid})


def versions_of(case: Case, cols: Columns, moved: NDArray) -> Versions:
    """Difficulty and manner of testing of every version; `moved` (versions, weights), `parts_of` less the preset."""
    challenge = case.challenge
    difficulty = (
        case.difficulty.base
        + case.difficulty.moved(moved)
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
        again = next_day if criterion.second_try.when == "next_day" else improve
        second.append(again)
        # What is not tested again keeps its result.
        keep.append(np.where(tested_again & again, criterion.keep_rate, 1.0))
    gain = np.tile([criterion.second_try.gain for criterion in challenge.criteria], (cols.n, 1))
    return Versions(difficulty, *(np.column_stack(part) for part in (counts, second, keep)), gain)
