"""How a section's readiness moved: after each run, what would be expected of the usual version of the challenge."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from rungwright.domain.ask import RecommendationRequest
from rungwright.measure.columns import columns
from rungwright.readiness.outcome import Spread, expected
from rungwright.recommend.model import build_model, checks_of, effect_sd, own_runs
from rungwright.recommend.resolve import resolve
from rungwright.recommend.start import start
from rungwright.rulebase import CompiledRules


@dataclass(frozen=True)
class Reached:
    """After the run of a day: the share of groups that would meet all criteria of the usual version by the end."""

    on: date
    all_criteria: Spread


def readiness_history(request: RecommendationRequest, rules: CompiledRules) -> list[Reached]:
    """One entry for each day with a run of this challenge that teaches, oldest first; empty without one.

    The usual version is the section's start without what the caller set, so that all entries are of one scale.
    Raises RequestProblem.
    """
    request = request.model_copy(update={"settings": {}})
    case = resolve(request, rules)
    usual = start(resolve(request.model_copy(update={"runs": []}), rules)).settings
    cols, spread = columns(case.levers, [usual]), effect_sd(case, usual)
    build, reached = checks_of(case, cols), []
    for day in sorted({run.on for run in own_runs(case)}):
        known = [run for run in request.runs if run.on <= day]
        so_far = resolve(request.model_copy(update={"runs": known}), rules)
        model = build_model(so_far, usual)
        versions = model.versions(so_far, cols, build)
        now = expected(case.challenge.readiness, model.ready, versions, 0, case.section.groups, spread)
        reached.append(Reached(day, now.all_criteria))
    return reached
