"""What is proposed, what would do as well, and what was held back."""

from __future__ import annotations

from rungwright.domain import recommendation as out
from rungwright.domain.lever import LeverKind
from rungwright.domain.strict import Setting
from rungwright.measure.queues import station_tests
from rungwright.recommend import wording
from rungwright.recommend.basis import reason_of, rule_basis, rule_of, weight_basis
from rungwright.recommend.choose import Chosen
from rungwright.recommend.decided import Decided
from rungwright.recommend.facts import copies_there
from rungwright.recommend.identity import proposal_id
from rungwright.recommend.infer import Candidate
from rungwright.recommend.measuring import Measured
from rungwright.recommend.station_kit import station_things
from rungwright.rulebase import Move

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
    ("other", "Another reason, or none told."),
)
MOST_HELD_BACK = 8


def proposal(d: Decided, c: Candidate, answer_id: str) -> out.Proposal:
    case, lever = d.case, d.case.levers[c.lever]
    here = d.start.settings[c.lever]
    alone, i = d.choice.alone[c]
    reason = reason_of(case, c.lead, Move(**{"from": here, "to": c.to}))
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
        from_text=d.say(c.lever, here),
        to_text=d.say(c.lever, c.to),
        unit=lever.many or lever.quantity,
        direction=d.direction if lever.kind == LeverKind.CHALLENGE else "practical",
        reason=reason,
        basis=rule_basis(case, c.lead) + weight_basis(case, lever),
        rule=rule_of(case, c.lead),
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
            return [f"{d.say(c.lever, c.to)} for each group instead of {d.say(c.lever, d.start.settings[c.lever])}"]
    return []


def _needs(alone: Measured, i: int, c: Candidate) -> list[str]:
    """What to get first: a kit line of this lever that the cupboard lacks."""
    check, case = alone.checks["kit"], alone.case
    for line in case.challenge.kit:
        if line.lever == c.lever and check.there is not None and check.short[line.role][i] > 0:
            return [f"Collect or buy {line.label}: the cupboard does not hold enough for {case.section.groups} groups."]
    for test in station_tests(case.challenge):
        if test.stations == c.lever and c.to > copies_there(case)[test.id]:
            names = [case.base.names.get(thing, thing) for thing in station_things(case)[test.id]]
            return [f"For each {test.label} station more: {wording.listed(names)}."]
    return []


def alternative(d: Decided, chosen: Chosen) -> out.Alternative:
    share, groups = float(chosen.measured.share[chosen.row]), d.case.section.groups
    changes = [
        out.Change(
            lever=c.lever,
            **{"from": d.start.settings[c.lever]},
            to=c.to,
            text=f"{d.case.levers[c.lever].label}: {d.say(c.lever, c.to)} "
            f"instead of {d.say(c.lever, d.start.settings[c.lever])}",
        )
        for c in chosen.moves
    ]
    return out.Alternative(
        changes=changes,
        share=round(share, 4),
        groups=round(share * groups, 2),
        text="Just as good: " + wording.listed([c.text for c in changes]) + ".",
    )


def held_back(d: Decided) -> list[out.HeldBack]:
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
    return label if to is None else f"{label}, {d.say(lever, to)}"
