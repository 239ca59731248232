"""The answer, put together from what was decided. Nothing is decided here."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

from rungwright.domain import recommendation as out
from rungwright.domain.ask import Include
from rungwright.readiness.outcome import Expected, Spread
from rungwright.recommend import wording
from rungwright.recommend.basis import reason_of, rule_basis, rule_of, weights_told, weights_version
from rungwright.recommend.decided import Decided
from rungwright.recommend.facts import evidence
from rungwright.recommend.identity import recommendation_id, weights_digest
from rungwright.recommend.lesson import brief_of, for_groups, kit_of, timetable_of
from rungwright.recommend.measuring import Measured
from rungwright.recommend.proposals import alternative, held_back, proposal
from rungwright.recommend.resolve import Case
from rungwright.recommend.summary import reached, summary
from rungwright.rulebase import RuleFiring

MOMENTS = {
    "plan": "while planning",
    "stuck": "when a group is stuck",
    "finished_early": "when a group is done early",
}
"""What a prompt may be about, besides a criterion."""


def compose(d: Decided) -> out.Recommendation:
    case, section = d.case, d.case.section
    answer_id = recommendation_id(case)
    include = set(case.request.include)
    return out.Recommendation(
        id=answer_id,
        created_at=datetime.now(UTC),
        rule_base=out.RuleBaseRef(version=case.base.version, digest=case.base.digest, engine=case.rules.engine),
        model=out.ModelRef(weights_version=weights_version(case), digest=weights_digest(case)),
        challenge=out.ChallengeRef(id=case.challenge.id, family=case.challenge.family, label=case.challenge.label),
        section=out.SectionSummary(
            label=section.label,
            grades=section.grades,
            band=section.band.value,
            students=section.students,
            groups=section.groups,
            group_sizes=list(section.group_sizes),
            minutes=section.minutes,
            lessons=len(section.sessions),
            evidence=evidence(case.own_runs),
        ),
        asked=case.request.ask.direction.value,
        resolved_direction=d.direction,
        reached=reached(d),
        summary=summary(d),
        assumptions=d.start.assumptions,
        before=out.Before(
            settings=dict(d.start.settings),
            adjusted=_adjusted(d),
            expected=_outcome(case, d.expected_before),
            checks=d.before.results(),
            build=d.before.drawn(),
        ),
        after=out.After(
            settings=d.after.cols.row(0),
            expected=_outcome(case, d.expected_after),
            checks=d.after.results(),
            build=d.after.drawn(),
        ),
        proposals=[proposal(d, c, answer_id) for c in (*d.choice.best.moves, *d.choice.practical)],
        alternatives=[alternative(d, chosen) for chosen in d.choice.alternatives],
        held_back=held_back(d),
        prompts=_prompts(d),
        cautions=_cautions(d),
        standards=[
            out.Standard(code=text.code, text=text.text, caution=text.caution)
            for text in (case.base.standards[s] for s in case.challenge.standards[section.band])
        ],
        timetable=timetable_of(d.after) if Include.TIMETABLE in include else None,
        kit=kit_of(d.after) if Include.KIT in include else None,
        brief=brief_of(d.after, d.advice) if Include.BRIEF in include else None,
        explanation=_explanation(d) if Include.EXPLANATION in include else None,
        not_evaluated=_not_evaluated(case),
    )


def _share(spread: Spread) -> out.Share:
    return out.Share(share=round(spread.share, 4), low=round(spread.low, 4), high=round(spread.high, 4))


def _outcome(case: Case, expected: Expected) -> out.ExpectedOutcome:
    return out.ExpectedOutcome(
        all_criteria=out.AllCriteria(
            **_share(expected.all_criteria).model_dump(),
            groups=round(expected.groups, 2),
            groups_likely=expected.groups_likely,
        ),
        first_test_all=round(expected.all_first, 4),
        criteria={
            case.criteria[c]: out.CriterionExpected(first=_share(expected.first[c]), end=_share(expected.end[c]))
            for c in expected.first
        },
    )


def _adjusted(d: Decided) -> list[out.Adjusted]:
    return [
        out.Adjusted(
            lever=f.lever,
            label=d.case.levers[f.lever].label,
            preset=f.preset,
            used=f.used,
            text=f"{d.say(f.lever, f.used)} instead of {d.say(f.lever, f.preset)}",
            why=f.why,
            rule=f.rule,
        )
        for _, f in sorted(d.start.fitted.items())
    ]


def _prompts(d: Decided) -> list[out.Prompt]:
    labels = {**MOMENTS, **{c.id: c.label for c in d.case.challenge.criteria}}
    return [
        out.Prompt(
            about=f.rule.ask.about,
            label=wording.sentence(labels.get(f.rule.ask.about, f.rule.ask.about.replace("_", " ")))[:-1],
            audience="groups" if for_groups(f) else "teacher",
            questions=f.rule.ask.questions,
            reason=reason_of(d.case, f),
            rule=rule_of(d.case, f),
        )
        for f in _once(d.advice)
        if f.rule.ask
    ]


def _cautions(d: Decided) -> list[out.Caution]:
    return [
        out.Caution(
            text=f.text(f.rule.warn, d.case.request.units.value),
            reason=reason_of(d.case, f),
            basis=rule_basis(d.case, f),
            rule=rule_of(d.case, f),
        )
        for f in _once(d.advice)
        if f.rule.warn
    ]


def _once(firings: Sequence[RuleFiring]) -> list[RuleFiring]:
    """A rule that fired on several facts is told once."""
    return list({f.rule.id: f for f in reversed(firings)}.values())[::-1]


def _explanation(d: Decided) -> out.Explanation:
    def by_criterion(measured: Measured) -> dict[str, float]:
        return {
            c: round(float(measured.versions.difficulty[0, i]), 4)
            for i, c in enumerate(d.case.criteria)
            if measured.versions.counts[0, i]
        }

    return out.Explanation(
        considered=[
            out.Considered(rule=c.rule.id, title=c.rule.title, stage=c.rule.stage, fired=c.fired, text=c.text)
            for c in d.considered
        ],
        difficulty={"before": by_criterion(d.before), "after": by_criterion(d.after)},
        demand_before=round(float(d.before.demand[0]), 4),
        demand_after=round(float(d.after.demand[0]), 4),
        target=_target_text(d),
        weights=weights_told(d.case),
        candidates=[
            {"lever": c.lever, "to": c.to, "rank": c.rank, "rule": c.lead.rule.id} for c in d.inference.candidates
        ],
    )


def _target_text(d: Decided) -> str:
    target, groups = d.choice.target, d.case.section.groups
    if target.share:
        low, high = (round(part * groups, 1) for part in d.case.request.ask.band)
        return (
            f"Between {low:g} and {high:g} of {groups} groups meeting every criterion by the end: a planning choice "
            "borrowed from question-and-answer teaching, not a finding about engineering challenges. It is held "
            "against a class in the middle of what this one may be like; what is not known about a class pulls the "
            "expected number of groups toward half of them."
        )
    low, middle, high = target.demand
    return (
        f"A change of demand of {low:g} to {high:g}, best {middle:g}; {d.choice.sets_tried} sets of moves were tried."
    )


def _not_evaluated(case: Case) -> list[str]:
    return [
        "Uplift of a light roof by gusts is not computed.",
        "Joints are taken as carefully made within the range of the band; no check sees a group's own build.",
    ]
