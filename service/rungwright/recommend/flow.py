"""One recommendation, one direction: measure, infer, size and choose, advise, compose. No step reaches back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from rungwright.domain.ask import Direction, Include, RecommendationRequest
from rungwright.domain.recommendation import Recommendation
from rungwright.domain.strict import Setting
from rungwright.engine.form import Scalar
from rungwright.measure.build import build_checks
from rungwright.measure.columns import columns
from rungwright.readiness.outcome import Expected, expected
from rungwright.recommend.advise import advice_facts, flat_roof
from rungwright.recommend.choose import aim_of, choose
from rungwright.recommend.compose import Decided, compose
from rungwright.recommend.facts import (
    measured_facts,
    now_fact,
    rounded,
    section_fact,
    what_if_facts,
    what_if_rows,
)
from rungwright.recommend.infer import infer
from rungwright.recommend.measuring import Measured, measure
from rungwright.recommend.model import build_model, effect_sd
from rungwright.recommend.resolve import Case, resolve
from rungwright.recommend.start import start
from rungwright.rulebase import CompiledRules


def recommend(request: RecommendationRequest, rules: CompiledRules) -> Recommendation:
    """Propose a few justified adjustments for one section.

    Equal requests against an equal rule base give equal answers, but for `created_at`.
    Raises RequestProblem where the request names what is not there or asks for what is not allowed.
    """
    case = resolve(request, rules)
    begun = start(case)
    case = replace(case, banned=begun.banned)
    model = build_model(case, begun.settings)
    before = measure(case, model, [begun.settings])
    now = _expected(case, before)
    section, direction = _resolved(case, now)
    what_if = _what_if(case, begun.settings)
    facts = [
        section,
        now_fact(case, begun.settings, flat_roof(before, 0)),
        *measured_facts(case, before, 0, now, what_if),
    ]
    inference = infer(case, facts, begun.settings, direction)
    choice = choose(case, begun.settings, before, inference, direction)
    then = _expected(case, choice.after)
    chosen = dict(choice.after.cols.rows[0])
    what_if = _what_if(case, chosen)
    about_chosen = advice_facts(case, section, choice.after, then, inference, what_if)
    considered = []
    if Include.EXPLANATION in request.include:
        family = case.challenge.family
        every = rules.considered(facts, family) + rules.considered(about_chosen, family, advise=True)
        # What a rule on supports did would tell that there are some.
        considered = [c for c in every if not c.rule.tests_support]
    return compose(
        Decided(
            case=case,
            start=begun,
            before=before,
            expected_before=now,
            direction=direction,
            inference=inference,
            choice=choice,
            expected_after=then,
            advice=rules.advise(about_chosen, case.challenge.family),
            considered=considered,
        )
    )


def _expected(case: Case, measured: Measured) -> Expected:
    prior = case.challenge.readiness
    spread = effect_sd(case, measured.cols.rows[0])
    return expected(prior, measured.model.ready, measured.versions, 0, case.section.groups, spread)


def _resolved(case: Case, now: Expected) -> tuple[dict[str, Scalar | None], str]:
    """`fit` goes easier before the band, harder beyond it, and nowhere inside."""
    low, high = aim_of(case)
    share = round(now.all_criteria.share, 6)
    standing = "before_band" if share < low else "beyond_band" if share > high else "in_band"
    asked = case.request.ask.direction
    if asked == Direction.FIT:
        direction = {"before_band": "easier", "beyond_band": "harder", "in_band": "none"}[standing]
    else:
        direction = asked.value
    return rounded({**section_fact(case), "standing": standing, "direction": direction}), direction


def _what_if(case: Case, settings: Mapping[str, Setting]) -> dict[str, Scalar | None]:
    """Checks of versions that the rules may ask about: no stiff pieces, and one spot more."""
    cols = columns(case.levers, what_if_rows(case, settings))
    load = build_checks(cols, case.section.band, figure_height_mm=case.challenge.figure_height_mm).load
    return what_if_facts(float(load.margin_mid[0]), int(load.verdict[0]), int(load.verdict[1]))
