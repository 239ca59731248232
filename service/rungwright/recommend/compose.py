"""The answer, put together from what was decided. Nothing is decided here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from rungwright.domain import recommendation as out
from rungwright.domain.ask import Direction, Include
from rungwright.domain.lever import LeverKind
from rungwright.domain.strict import Setting
from rungwright.measure.queues import station_tests
from rungwright.measure.verdicts import NOT_FEASIBLE
from rungwright.readiness.outcome import Expected, Spread
from rungwright.recommend import wording
from rungwright.recommend.basis import weight_basis, weights_told, weights_version
from rungwright.recommend.choose import CEILING, FLOOR, Choice
from rungwright.recommend.facts import copies_there, evidence
from rungwright.recommend.identity import proposal_id, recommendation_id, weights_digest
from rungwright.recommend.infer import Candidate, Inference
from rungwright.recommend.lesson import brief_of, for_groups, kit_of, timetable_of
from rungwright.recommend.measuring import Measured
from rungwright.recommend.resolve import Case
from rungwright.recommend.start import Start
from rungwright.rulebase import Considered, Move, Quoted, RuleFiring
from rungwright.rulebase.words import say_setting

DECLINE_REASONS = (
    ("no_time", "There is no time for it."),
    ("no_material", "I cannot get it."),
    ("tried_already", "We have done this."),
    ("not_for_these_groups", "It does not suit these groups."),
    ("policy", "Our rules do not allow it."),
    ("keep_the_same", "I want all sections alike."),
    ("disagree", "I do not think it is so."),
    ("too_much_to_prepare", "It is too much to prepare."),
    ("unsafe_here", "It is not safe here."),
    ("required_support", "A support that is required rules it out."),
    ("other_goal", "I am after something else."),
    ("other", "Another reason."),
)
MOST_HELD_BACK = 8
MOMENTS = {
    "plan": "while planning",
    "stuck": "when a group is stuck",
    "finished_early": "when a group is done early",
}
"""What a prompt may be about, besides a criterion."""


@dataclass(frozen=True)
class Decided:
    """Everything the steps before have settled."""

    case: Case
    start: Start
    before: Measured
    expected_before: Expected
    direction: str
    inference: Inference
    choice: Choice
    after: Measured
    expected_after: Expected
    advice: Sequence[RuleFiring]
    considered: Sequence[Considered]


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
        reached=_reached(d),
        summary=_summary(d),
        assumptions=d.start.assumptions,
        before=out.Before(
            settings=dict(d.start.settings),
            adjusted=_adjusted(d),
            expected=_outcome(case, d.expected_before),
            checks=d.before.results(),
            build=d.before.drawn(),
        ),
        after=out.After(
            settings=dict(d.choice.settings),
            expected=_outcome(case, d.expected_after),
            checks=d.after.results(),
            build=d.after.drawn(),
        ),
        proposals=[_proposal(d, c, answer_id) for c in (*d.choice.best.moves, *d.choice.practical)],
        alternatives=[_alternative(d, chosen) for chosen in d.choice.alternatives],
        held_back=_held_back(d),
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


def _say(case: Case, lever: str, value: Setting) -> str:
    return say_setting(case.levers[lever], value, case.request.units.value)


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
            text=f"{_say(d.case, f.lever, f.used)} instead of {_say(d.case, f.lever, f.preset)}",
            why=f.why,
            rule=f.rule,
        )
        for _, f in sorted(d.start.fitted.items())
    ]


def _summary(d: Decided) -> out.Summary:
    groups, now, then = d.case.section.groups, d.expected_before, d.expected_after
    amount = (lambda e: e.all_criteria.share) if groups == 1 else (lambda e: e.groups)
    standing = wording.sentence(f"as it stands, {wording.outcome_clause(amount(now), groups)}")
    moves, practical = d.choice.best.moves, d.choice.practical
    if moves:
        count = (
            "One change makes" if len(moves) == 1 else f"{wording.number_word(len(moves)).capitalize()} changes make"
        )
        way = "harder" if d.direction == "harder" else "easier"
        headline = f"{count} this {way}. {wording.sentence(wording.outcome_clause(amount(then), groups))}"
        was, will = (wording.about_groups(e.groups, groups) for e in (now, then))
        if groups > 1 and was != will:
            headline += f" If nothing changes, {was} should."
        elif groups > 1:
            headline += f" That is a little {'fewer' if d.direction == 'harder' else 'more'} than if nothing changes."
    else:
        headline = f"{_nothing_proposed(d)} {standing}"
    headline += _nearly_inside(d)
    if practical:
        headline += " One practical change helps the lesson to work."
    if moves and not _reached(d):
        headline += " " + _not_reached(d)
    if d.after.verdict("time", 0) == NOT_FEASIBLE:
        headline += " But the lesson does not fit its minutes: see what would help at the time check."
    if d.after.verdict("kit", 0) == NOT_FEASIBLE:
        headline += " The cupboard lacks part of the kit: see the kit check."
    first = then.all_first * groups
    if groups == 1:
        first_test = "At the first test it may well miss something; that is what the second try is for."
    else:
        first_test = f"At the first test expect {wording.about_groups(first, groups)} to meet every criterion" + (
            "; that is what the second try is for." if d.after.versions.second[0].any() else "."
        )
    return out.Summary(headline=headline, standing=standing, first_test=first_test, evidence=evidence_sentence(d.case))


def _nothing_proposed(d: Decided) -> str:
    asked, share = d.case.request.ask.direction, d.expected_before.all_criteria.share
    if asked == Direction.FIT and d.direction == "none":
        return "This section stands inside the range you aim for, so nothing needs to change."
    if d.choice.at_edge and d.direction == "harder":
        return "This is at the hard end for these groups already, so nothing harder is proposed."
    if d.choice.at_edge:
        return "This is at the gentle end already, so nothing easier is proposed."
    edge = FLOOR if d.direction == "harder" else CEILING
    close = abs(share - edge) < 0.05
    return (
        f"No change that would make this {d.direction} passes the checks{' and stays within reach' if close else ''}."
    )


def _nearly_inside(d: Decided) -> str:
    """Why `fit` moves a section whose expected share lies inside the band."""
    low, high = d.case.request.ask.band
    inside = low <= round(d.expected_before.all_criteria.share, 6) <= high
    if d.case.request.ask.direction != Direction.FIT or d.direction == "none" or not inside:
        return ""
    return f" As it stands it is near the {_EDGE[d.direction]} edge of what you aim for."


_EDGE = {"harder": "easy", "easier": "hard"}


def _reached(d: Decided) -> bool:
    """Whether the target was reached; `fit` aims at the middle of the band, and anywhere inside is reached."""
    if d.case.request.ask.direction != Direction.FIT:
        return d.choice.best.distance == 0
    low, high = d.case.request.ask.band
    return d.direction == "none" or low <= round(float(d.choice.best.measured.share[d.choice.best.row]), 6) <= high


def _not_reached(d: Decided) -> str:
    if d.case.request.ask.direction == Direction.FIT:
        return "The range you aim for cannot be reached with these changes; this is the closest."
    change = abs(float(d.after.demand[0] - d.before.demand[0]))
    least = d.choice.target.demand[0]
    size = "smaller" if change < least else "larger"
    return f"It is a {size} step than you asked for; it is the closest there is."


def evidence_sentence(case: Case) -> str:
    runs = case.own_runs
    others = len(case.teaching_runs) - len(runs)
    if not runs and not others:
        return "No earlier run of this section is known, so this is what is usual for the grade: a rough guess."
    if not runs:
        return (
            f"Based on {_runs(others)} of another challenge, which count{'s' if others == 1 else ''} for less, and on "
            "what is usual for the grade: a rough guess."
        )
    groups = runs[-1].groups
    told = f"{groups} group{'s' if groups > 1 else ''}"
    also = f" {_runs(others).capitalize()} of another challenge count{'s' if others == 1 else ''} for less."
    if len(runs) > 1:
        text = f"Based on {len(runs)} earlier runs, the last with {told}."
    elif groups < 4:
        text = f"Based on one earlier run with only {told}: thin evidence, so treat this as a rough guess."
    else:
        text = f"Based on one earlier run with {told}, so treat this as a rough guess."
    return text + (also if others else "")


def _runs(count: int) -> str:
    return "one run" if count == 1 else f"{wording.number_word(count)} runs"


def _proposal(d: Decided, c: Candidate, answer_id: str) -> out.Proposal:
    case, lever = d.case, d.case.levers[c.lever]
    here = d.start.settings[c.lever]
    alone, i = d.choice.alone[c]
    reason = c.lead.because(case.request.units.value, Move(**{"from": here, "to": c.to}))
    share_before, share_after = float(d.before.share[0]), float(alone.share[i])
    groups = (share_after - share_before) * case.section.groups
    if lever.kind == LeverKind.CHALLENGE:
        text = wording.sentence(wording.effect_clause(groups, case.section.groups))
    else:
        text = "It makes the lesson work and changes no group's chance by itself."
    minutes = float(alone.checks["time"].needed[i] - d.before.checks["time"].needed[0])
    return out.Proposal(
        id=proposal_id(answer_id, c.lever, c.to),
        lever=c.lever,
        label=lever.label,
        kind=lever.kind,
        **{"from": here},
        to=c.to,
        from_text=_say(case, c.lever, here),
        to_text=_say(case, c.lever, c.to),
        unit=lever.many or lever.quantity,
        direction=d.direction if lever.kind == LeverKind.CHALLENGE else "practical",
        reason=out.Reason(text=reason.text, evidence=_evidence(reason.evidence)),
        basis=_basis(case, c.lead) + weight_basis(case, lever),
        rule=_rule(case, c.lead),
        also=list(c.also),
        effect=out.Effect(
            demand=round(float(alone.demand[i] - d.before.demand[0]), 4),
            share_before=round(share_before, 4),
            share_after=round(share_after, 4),
            groups=round(groups, 2),
            text=text,
            minutes=round(minutes, 1),
            preparation_minutes=round(float(alone.preparation_minutes[i] - d.before.preparation_minutes[0]), 1),
            kit=_kit_effect(d, c),
        ),
        needs=_needs(alone, i, c),
        decline_reasons=[out.DeclineReason(code=code, text=text) for code, text in DECLINE_REASONS],
    )


def _kit_effect(d: Decided, c: Candidate) -> list[str]:
    for line in d.case.challenge.kit:
        if line.lever == c.lever:
            return [
                f"{_say(d.case, c.lever, c.to)} for each group "
                f"instead of {_say(d.case, c.lever, d.start.settings[c.lever])}"
            ]
    return []


def _needs(alone: Measured, i: int, c: Candidate) -> list[str]:
    """What to get first: a kit line of this lever that the cupboard lacks."""
    check, case = alone.checks["kit"], alone.case
    for line in case.challenge.kit:
        if line.lever == c.lever and check.there is not None and check.short[line.role][i] > 0:
            return [f"Collect or buy {line.label}: the cupboard does not hold enough for {case.section.groups} groups."]
    for test in station_tests(case.challenge):
        if test.stations == c.lever and c.to > copies_there(case)[test.id]:
            names = [case.base.names.get(thing, thing) for thing in case.challenge.station_kit[test.id]]
            return [f"For each {test.label} station more: {wording.listed(names)}."]
    return []


def _evidence(quoted: Sequence[Quoted]) -> list[out.Evidence]:
    return [
        out.Evidence(fact=q.fact, property=q.property, about=q.about, value=q.value, unit=q.unit, meaning=q.meaning)
        for q in quoted
    ]


def _basis(case: Case, firing: RuleFiring) -> list[out.Basis]:
    found = []
    for basis in firing.rule.basis:
        source = case.base.sources[basis.source]
        found.append(
            out.Basis(
                source=basis.source,
                label=source.title,
                locator=source.locator,
                kind=source.kind,
                supports=basis.supports,
            )
        )
    return found


def _rule(case: Case, firing: RuleFiring) -> out.RuleRef:
    return out.RuleRef(id=firing.rule.id, version=case.base.version)


def _alternative(d: Decided, chosen) -> out.Alternative:
    share, groups = float(chosen.measured.share[chosen.row]), d.case.section.groups
    changes = [
        out.Change(
            lever=c.lever,
            **{"from": d.start.settings[c.lever]},
            to=c.to,
            text=f"{d.case.levers[c.lever].label}: {_say(d.case, c.lever, c.to)} "
            f"instead of {_say(d.case, c.lever, d.start.settings[c.lever])}",
        )
        for c in chosen.moves
    ]
    return out.Alternative(
        changes=changes,
        share=round(share, 4),
        groups=round(share * groups, 2),
        text="Just as good: " + wording.listed([c.text for c in changes]) + ".",
    )


def _held_back(d: Decided) -> list[out.HeldBack]:
    """One a lever, the first of each; those that were proposed after all are left out."""
    proposed = {c.lever for c in (*d.choice.best.moves, *d.choice.practical)}
    held: dict[str, out.HeldBack] = {}
    for h in d.choice.held:
        if h.lever not in proposed and h.lever not in held:
            held[h.lever] = out.HeldBack(
                lever=h.lever, label=_change_said(d, h.lever, h.to), to=h.to, kind=h.kind, rule=h.rule, text=h.text
            )
    return list(held.values())[:MOST_HELD_BACK]


def _change_said(d: Decided, lever: str, to: Setting | None) -> str:
    label = wording.sentence(d.case.levers[lever].label)[:-1]
    return label if to is None else f"{label}, {_say(d.case, lever, to)}"


def _prompts(d: Decided) -> list[out.Prompt]:
    labels = {**MOMENTS, **{c.id: c.label for c in d.case.challenge.criteria}}
    return [
        out.Prompt(
            about=f.rule.ask.about,
            label=wording.sentence(labels.get(f.rule.ask.about, f.rule.ask.about.replace("_", " ")))[:-1],
            audience="groups" if for_groups(f) else "teacher",
            questions=f.rule.ask.questions,
            reason=_reason(d.case, f),
            rule=_rule(d.case, f),
        )
        for f in _once(d.advice)
        if f.rule.ask
    ]


def _cautions(d: Decided) -> list[out.Caution]:
    return [
        out.Caution(
            text=f.text(f.rule.warn, d.case.request.units.value),
            reason=_reason(d.case, f),
            basis=_basis(d.case, f),
            rule=_rule(d.case, f),
        )
        for f in _once(d.advice)
        if f.rule.warn
    ]


def _once(firings: Sequence[RuleFiring]) -> list[RuleFiring]:
    """A rule that fired on several facts is told once."""
    return list({f.rule.id: f for f in reversed(firings)}.values())[::-1]


def _reason(case: Case, firing: RuleFiring) -> out.Reason:
    reason = firing.because(case.request.units.value)
    return out.Reason(text=reason.text, evidence=_evidence(reason.evidence))


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
            "borrowed from question-and-answer teaching, not a finding about engineering challenges."
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
