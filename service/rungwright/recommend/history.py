"""How a section's readiness moved: after each run, what would be expected of the usual version of the challenge."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from rungwright.domain.ask import RecommendationRequest
from rungwright.readiness.outcome import Spread
from rungwright.recommend.measuring import measure
from rungwright.recommend.model import build_model
from rungwright.recommend.resolve import resolve
from rungwright.recommend.start import start
from rungwright.rulebase import CompiledRules


@dataclass(frozen=True)
class Reached:
    """After the run of a day: the share of groups that would meet all criteria of the usual version by the end."""

    on: date
    all_criteria: Spread


def readiness_history(
    request: RecommendationRequest, rules: CompiledRules, *, last: int | None = None
) -> list[Reached]:
    """One entry for each day with a run of this challenge that teaches, oldest first; empty without one.

    `last`: that many days alone, the newest; each day costs about as much as a measure of one version.

    The usual version is the section's start without what the caller set, so that all entries are of one scale.
    Raises RequestProblem.
    """
    request = request.model_copy(update={"settings": {}})
    case = resolve(request, rules)
    usual = start(resolve(request.model_copy(update={"runs": []}), rules)).settings
    reached = []
    days = sorted({run.on for run in case.own_runs})
    for day in days if last is None else days[max(len(days) - last, 0) :]:
        known = [run for run in request.runs if run.on <= day]
        so_far = resolve(request.model_copy(update={"runs": known}), rules)
        now = measure(so_far, build_model(so_far, usual), usual, [{}]).expected()
        reached.append(Reached(day, now.all_criteria))
    return reached
