"""One recommendation, one direction: measure, infer, size and choose, advise, compose. No step reaches back."""

from __future__ import annotations

from dataclasses import replace

from rungwright.domain.ask import Direction, Include, RecommendationRequest
from rungwright.domain.recommendation import Recommendation
from rungwright.engine.form import Scalar
from rungwright.recommend.advise import advice_facts, flat_roof
from rungwright.recommend.begun import begin
from rungwright.recommend.choose import aim_of, choose
from rungwright.recommend.compose import compose
from rungwright.recommend.decided import Decided
from rungwright.recommend.facts import (
    measured_facts,
    now_fact,
    rounded,
    section_fact,
)
from rungwright.recommend.infer import infer
from rungwright.recommend.measuring import Measured
from rungwright.recommend.resolve import Case, resolve
from rungwright.rulebase import CompiledRules


def recommend(request: RecommendationRequest, rules: CompiledRules) -> Recommendation:
    """Propose a few justified adjustments for one section.

    Equal requests against an equal rule base give equal answers, but for `created_at`.
    Raises RequestProblem where the request names what is not there or asks for what is not allowed.
    """
    case = resolve(request, rules)
    begun = begin(case)
    case, before, now = begun.case, begun.before, begun.expected
    section, direction = _resolved(case, before)
    facts = [
        section,
        now_fact(case, begun.start.settings, flat_roof(before)),
        *measured_facts(before, now),
    ]
    inference = infer(case, facts, begun.start.settings, direction)
    case = replace(case, banned=inference.limits.banned)
    choice = choose(case, begun.start.settings, before, inference, direction, begun.start.fitted)
    after = choice.after
    then = after.expected() if after.cols.row(0) != begun.start.settings else now
    about_chosen = advice_facts(section, after, then, inference)
    considered = []
    if Include.EXPLANATION in request.include:
        family = case.challenge.family
        every = rules.considered(facts, family) + rules.considered(about_chosen, family, advise=True)
        # What a rule on supports did would tell that there are some.
        considered = [c for c in every if not c.rule.tests_support]
    return compose(
        Decided(
            case=case,
            start=begun.start,
            before=before,
            expected_before=now,
            direction=direction,
            inference=inference,
            choice=choice,
            after=after,
            expected_after=then,
            advice=rules.advise(about_chosen, case.challenge.family),
            considered=considered,
        )
    )


def _resolved(case: Case, before: Measured) -> tuple[dict[str, Scalar | None], str]:
    """`fit` goes easier before the band, harder beyond it, and nowhere inside."""
    low, high = aim_of(case)
    share = round(float(before.middle_share[0]), 6)
    standing = "before_band" if share < low else "beyond_band" if share > high else "in_band"
    asked = case.request.ask.direction
    if asked == Direction.FIT:
        direction = {"before_band": "easier", "beyond_band": "harder", "in_band": "none"}[standing]
    else:
        direction = asked.value
    return rounded({**section_fact(case), "standing": standing, "direction": direction}), direction
