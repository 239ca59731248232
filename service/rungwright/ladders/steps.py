"""A step from one version to another, explained: what changes, what it newly asks, why, and what stands behind it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from rungwright.domain import recommendation as out
from rungwright.domain.ask import Direction
from rungwright.domain.climb import Demand, standard_for
from rungwright.domain.grades import Band
from rungwright.domain.ladder_report import NewDemand, RungChange
from rungwright.domain.lever import setting_key
from rungwright.domain.strict import Setting
from rungwright.ladders.frame import Frame, Placed
from rungwright.recommend.advise import flat_roof
from rungwright.recommend.facts import (
    NO_RIGID,
    measured_facts,
    now_fact,
    rounded,
    section_fact,
)
from rungwright.recommend.infer import Candidate, infer
from rungwright.recommend.measuring import measure
from rungwright.recommend.wording import sentence
from rungwright.rulebase import Move
from rungwright.rulebase.words import say_setting


def candidates(where: Placed, settings: Mapping[str, Setting], direction: str) -> dict[tuple[str, Setting], Candidate]:
    """Moves that the rules propose for a class at these settings, toward harder or easier: (lever, to) -> move."""
    case = where.case
    row = where.row(settings)
    measured = measure(case, where.model, row, [{}, NO_RIGID])
    way = Direction(direction).value
    section = rounded({**section_fact(case), "standing": "in_band", "direction": way})
    facts = [section, now_fact(case, row, flat_roof(measured)), *measured_facts(measured, measured.expected())]
    return {(c.lever, c.to): c for c in infer(case, facts, row, way).candidates}


def changes(
    frame: Frame,
    scale: Placed,
    where: Placed,
    below: Mapping[str, Setting],
    above: Mapping[str, Setting],
    direction: str,
) -> list[RungChange]:
    """What moves from one version to another, the change of most demand first.

    `where`, the class at whose settings the rules are asked; `direction`, harder or easier.
    """
    moved = [lever for lever in frame.climbing if below[lever] != above[lever]]
    if not moved:
        return []
    proposed = candidates(where, below, direction)
    alone = scale.demand(scale.columns([below, *({**below, lever: above[lever]} for lever in moved)]))
    effects = np.round(alone[1:] - alone[0], 4)
    band = where.case.section.band
    order = sorted(range(len(moved)), key=lambda i: (-abs(effects[i]), i))
    return [
        _change(frame, band, moved[i], below, above, float(effects[i]), _nearest(frame, proposed, moved[i], above))
        for i in order
    ]


def _nearest(
    frame: Frame, proposed: Mapping[tuple[str, Setting], Candidate], name: str, above: Mapping[str, Setting]
) -> Candidate | None:
    """The move of a lever that the rules propose to this setting; else, for the same reason, to the one nearest it."""
    place = frame.levers[name].position
    mine = [c for (lever, _), c in proposed.items() if lever == name]
    return min(mine, key=lambda c: (abs(place(c.to) - place(above[name])), place(c.to)), default=None)


def _change(
    frame: Frame,
    band: Band,
    name: str,
    below: Mapping[str, Setting],
    above: Mapping[str, Setting],
    effect: float,
    candidate: Candidate | None,
) -> RungChange:
    lever, base = frame.levers[name], frame.rules.base
    here, to = below[name], above[name]
    from_text, to_text = (say_setting(lever, value, frame.units) for value in (here, to))
    demand = newly_asked(frame, name, here, to)
    if candidate:
        rendered = candidate.lead.because(frame.units, Move(**{"from": here, "to": to}))
        evidence = [
            out.Evidence(fact=q.fact, property=q.property, about=q.about, value=q.value, unit=q.unit, meaning=q.meaning)
            for q in rendered.evidence
        ]
        reason = out.Reason(text=rendered.text, evidence=evidence)
        basis = [basis_of(frame, b.source, b.supports) for b in candidate.lead.rule.basis]
        rule = out.RuleRef(id=candidate.lead.rule.id, version=base.version)
    else:
        mostly = frame.plan.climb(name).criterion
        term = next((t for t in lever.difficulty if mostly in t.criteria), None)
        reason = out.Reason(text=term.why if term else lever.meaning, evidence=[])
        basis = [basis_of(frame, term.source, "How much a setting of it changes.")] if term else []
        rule = None
    return RungChange(
        lever=name,
        label=lever.label,
        **{"from": here},
        to=to,
        from_text=from_text,
        to_text=to_text,
        text=f"{lever.label}: {to_text} instead of {from_text}",
        asks=demand.text if demand else "",
        standard=standard(frame, demand, band),
        reason=reason,
        basis=basis,
        rule=rule,
        demand=effect,
    )


def newly_asked(frame: Frame, lever: str, here: Setting, to: Setting) -> Demand | None:
    """What the plan says on reaching a setting from below.

    Between two of its settings, the one last passed, else the one ahead. None for a step back, and beyond them all.
    """
    spec, climb = frame.levers[lever], frame.plan.climb(lever)
    start, end = spec.position(here), spec.position(to)
    if end <= start:
        return None
    ahead = [s for s in climb.settings[1:] if spec.position(s) > start]
    passed = [s for s in ahead if spec.position(s) <= end]
    told = passed[-1:] or ahead[:1]
    return climb.asks[setting_key(told[0])] if told else None


def standard(frame: Frame, demand: Demand | None, band: Band) -> out.Standard | None:
    base = frame.rules.base
    name = demand and standard_for(demand, band, {k: s.bands for k, s in base.standards.items()})
    if not name:
        return None
    text = base.standards[name]
    return out.Standard(code=text.code, text=text.text, caution=text.caution)


def basis_of(frame: Frame, source: str, supports: str) -> out.Basis:
    entry = frame.rules.base.sources[source]
    return out.Basis(source=source, label=entry.title, locator=entry.locator, kind=entry.kind, supports=supports)


def new_demand(frame: Frame, made: Sequence[RungChange], band: Band) -> NewDemand:
    """That of the change that adds most; of a rung without one, what the ladder as a whole begins with.

    Where the plan says nothing of any change, that change itself.
    """
    lead = next((c for c in made if c.asks), None)
    if lead:
        return NewDemand(lever=lead.lever, text=lead.asks, standard=lead.standard)
    if made:
        return NewDemand(lever=made[0].lever, text=sentence(made[0].text), standard=None)
    first = frame.plan.first
    return NewDemand(lever=None, text=first.text, standard=standard(frame, first, band))
