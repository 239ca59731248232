"""From the runs of many sections to learnt weights, as a document; nothing is stored here."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.lever import LeverKind
from rungwright.domain.run import Run
from rungwright.domain.weights import (
    LEARNED_BELOW,
    LearningData,
    LearningRequest,
    LearntSpread,
    LearntWeight,
    SectionRuns,
    Weights,
    digest_of,
)
from rungwright.measure.columns import columns
from rungwright.readiness.apart import APART_SD, Results, learn_apart
from rungwright.readiness.difficulty import Weight
from rungwright.readiness.learning import MOST_STEPS, Compared, learn
from rungwright.readiness.posterior import tally_counts
from rungwright.recommend.model import checks_of, evidence_of, parts_of, versions_of, zero_of
from rungwright.recommend.problem import FieldProblem, RequestProblem
from rungwright.recommend.resolve import Case, resolve
from rungwright.rulebase import CompiledRules

SAME = 1e-9
"""Parts that differ by less than this are the same setting [logit]."""


FIXED = 1e-4
"""Spread of a factor that is not learned."""


@dataclass(frozen=True)
class _Gathered:
    case: Case
    runs: Sequence[Run]
    left_out: dict[str, int]


def learn_weights(
    request: LearningRequest,
    rules: CompiledRules,
    *,
    learned_on: date,
    progress: Callable[[int, int], None] = lambda done, of: None,
) -> Weights:
    """Weights after the runs of all sections; those that nothing was compared for stay at their starting guess.

    The starting guesses are those of the rule base, whatever was learnt before. `progress` is told steps done of the
    most there may be. Raises RequestProblem with every field that is wrong.
    """
    rules = rules.with_weights(None)
    of, done = 2 * len(request.sections) + MOST_STEPS, 0

    def tick() -> None:
        nonlocal done
        done += 1
        progress(done, of)

    compared, taught, left, problems = [], [], dict.fromkeys(_LEFT_OUT, 0), []
    case = None
    for i, section in enumerate(request.sections):
        try:
            case = _case(request, section, rules)
            found = _gather(case)
        except RequestProblem as error:
            problems += [_at(i, p) for p in error.problems]
            continue
        for name, count in found.left_out.items():
            left[name] += count
        if found.runs:
            taught.append(found)
        if len(found.runs) > 1:
            compared.append(_compared(found))
        tick()
    if problems:
        raise RequestProblem(list(dict.fromkeys(problems)))
    spread = np.where(_access(case), FIXED, case.difficulty.sd)
    learnt = learn(compared, case.challenge.readiness, case.difficulty.on, spread, tick)
    weights = list(_weights(case, learnt.factor, learnt.sd, compared))
    apart = _apart(case, taught, learnt.factor, tick)
    progress(of, of)
    digest = digest_of(case.challenge.id, apart, weights)
    return Weights(
        version=f"{learned_on.isoformat()}-{digest[:8]}",
        digest=digest,
        learned_on=learned_on,
        challenge=case.challenge.id,
        rule_base=case.base.digest,
        data=LearningData(
            sections=len(compared),
            runs=sum(len(c.groups) for c in compared),
            groups=sum(int(c.groups.sum()) for c in compared),
            **left,
        ),
        growth=round(learnt.growth, 4),
        apart=apart,
        weights=weights,
    )


_LEFT_OUT = ("flagged", "settings_not_told", "another_challenge", "nothing_to_compare")


def _case(request: LearningRequest, section: SectionRuns, rules: CompiledRules) -> Case:
    return resolve(
        RecommendationRequest(challenge=request.challenge, section=section.section, runs=section.runs), rules
    )


def _at(section: int, problem: FieldProblem) -> FieldProblem:
    """The same problem, said in the learning request."""
    pointer = problem.pointer
    return (
        problem if pointer.startswith("/challenge") else FieldProblem(f"/sections/{section}{pointer}", problem.detail)
    )


def _gather(case: Case) -> _Gathered:
    """The runs of one section that teach with their settings told, oldest first; one alone has nothing to compare."""
    left = dict.fromkeys(_LEFT_OUT, 0)
    usable = []
    left["flagged"] = sum(not run.teaches for run in case.request.runs)
    for run in case.teaching_runs:
        if run.challenge != case.challenge.id:
            left["another_challenge"] += 1
        elif run.settings is None:
            left["settings_not_told"] += 1
        else:
            usable.append(run)
    left["nothing_to_compare"] = int(len(usable) == 1)
    return _Gathered(case, usable, left)


def _compared(found: _Gathered) -> Compared:
    """Levers that a run does not tell are taken at the preset: alike in all runs of the section, they cancel."""
    case = found.case
    cols = columns(case.levers, [{**case.preset, **run.settings} for run in found.runs])
    parts = parts_of(case, cols, checks_of(case, cols)) - zero_of(case)
    versions = versions_of(case, cols, parts)
    rows = [
        (r, c, met, of, kind, versions.keep[r, c], versions.gain[r, c])
        for r, run in enumerate(found.runs)
        for c, name in enumerate(case.criteria)
        for met, of, kind in tally_counts(*run.tallies().get(name, (None, None)), second=bool(versions.second[r, c]))
    ]
    run, criterion, met, of, kind, keep, gain = np.array(rows, float).reshape(-1, 7).T
    shift = case.challenge.readiness.growth_a_grade * case.grade_shift
    # What is not a weight of a setting: base and size of the groups.
    rest = versions.difficulty[0] - case.difficulty.moved(parts)[0]
    return Compared(
        parts,
        np.array([run.groups for run in found.runs]),
        run.astype(int),
        criterion.astype(int),
        met,
        of,
        kind.astype(int),
        keep,
        gain,
        shift - rest,
    )


def _apart(case: Case, taught: Sequence[_Gathered], factor: NDArray, tick: Callable[[], None]) -> LearntSpread:
    """How far sections and groups stand apart, the results read with the weights just learned."""
    results = []
    for found in taught:
        of = replace(found.case, difficulty=replace(found.case.difficulty, factor=factor), teaching_runs=found.runs)
        results.append(Results(of.grade_shift, len(of.criteria), evidence_of(of, of.preset)[1]))
    found = learn_apart(results, case.challenge.readiness, tick)
    sd = round(found.sd, 4)
    return LearntSpread(
        factor=round(found.factor, 4),
        sd=sd,
        starting_sd=APART_SD,
        sections=len(taught),
        groups=sum(run.groups for one in taught for run in one.runs),
        learned_here=sd < LEARNED_BELOW * APART_SD,
    )


def _access(case: Case) -> NDArray[np.bool_]:
    """Weights of access levers. How many sections had which would tell of supports, so nothing is learned of them."""
    kinds = [case.levers[w.lever].kind if w.lever else None for w in case.difficulty.weights]
    return np.array([kind == LeverKind.ACCESS for kind in kinds])


def _weights(case: Case, factor: NDArray, sd: NDArray, compared: Sequence[Compared]) -> Iterator[LearntWeight]:
    access = _access(case)
    for i, weight in enumerate(case.difficulty.weights):
        if access[i]:
            continue
        behind = [c for c in compared if _differs(c, case.difficulty.on[i], i)]
        # Gentler is never harder for a monotone lever, whatever chance has thrown.
        value = round(max(float(factor[i]), 0.0) if weight.monotone else float(factor[i]), 4)
        yield _entry(weight, value, round(float(sd[i]), 4), behind)


def _differs(compared: Compared, touches: NDArray, i: int) -> bool:
    """Whether a section had this weight at different settings in runs that counted what it touches."""
    seen = compared.parts[np.unique(compared.run[touches[compared.criterion] > 0]), i]
    return bool(len(seen) and np.ptp(seen) > SAME)


def _entry(weight: Weight, factor: float, sd: float, behind: Sequence[Compared]) -> LearntWeight:
    return LearntWeight(
        lever=weight.lever,
        margin=weight.term and weight.term.check,
        criteria=list(weight.criteria),
        starting=list(weight.starting),
        learnt=[round(factor * x, 4) for x in weight.starting],
        factor=factor,
        sd=sd,
        starting_sd=weight.spread,
        sections=len(behind),
        groups=sum(int(c.groups.sum()) for c in behind),
        learned_here=sd < LEARNED_BELOW * weight.spread,
    )
