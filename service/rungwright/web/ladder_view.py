"""A ladder as its page shows it: each rung with what it newly asks, why, and how it can be changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from rungwright.domain.grades import GRADE_CODES, grade_number, grades_said
from rungwright.domain.ladder import Agreement, Ladder, Rung
from rungwright.domain.ladder_report import LadderReport, RungChange, RungReport
from rungwright.domain.lever import Lever, setting_key
from rungwright.domain.strict import Setting
from rungwright.rulebase import RuleBase
from rungwright.rulebase.words import counted, say_setting
from rungwright.web.ladder_picture import Step, steps
from rungwright.web.saying import capital, day


@dataclass(frozen=True)
class Notch:
    """A setting one step away; `key` is what a form sends."""

    key: str
    text: str


@dataclass(frozen=True)
class SettingRow:
    lever: str
    label: str
    text: str
    pinned: bool
    gentler: Notch | None
    harder: Notch | None


@dataclass(frozen=True)
class ChangeRow:
    label: str
    before: str
    after: str
    asks: str
    reason: str
    bases: list[str]
    rule: str | None


@dataclass(frozen=True)
class RungView:
    id: str
    number: int
    name: str
    who: str
    suits: str
    asks: str
    standard: str
    changes: list[ChangeRow]
    settings: list[SettingRow]
    checks: list[tuple[str, str, str]]
    """verdict, kind and word, text: those that are not clear"""
    limits: list[str]
    agreed: Agreement | None
    first_run: bool
    sections: list[str]


@dataclass(frozen=True)
class LadderView:
    """`must` is to be mended before it is published, `look` is worth a look."""

    name: str
    challenge: str
    standing: str
    who: str
    picture: Markup
    same: list[tuple[str, str]]
    locked: str
    rungs: list[RungView]
    must: list[str]
    look: list[str]
    published: bool
    scale: str


def ladder_view(
    ladder: Ladder, report: LadderReport, base: RuleBase, sections: Mapping[str, Sequence[str]]
) -> LadderView:
    """`sections`: rung -> labels of the sections that were put on it."""
    rungs = [
        _rung(rung, told, ladder, base, list(sections.get(rung.id, ())))
        for rung, told in zip(ladder.rungs, report.rungs, strict=True)
    ]
    drawn = [Step(r.name, told.demand, r.sections) for r, told in zip(rungs, report.rungs, strict=True)]
    return LadderView(
        name=ladder.name,
        challenge=report.challenge,
        standing=standing(ladder),
        who=f"{counted(len(rungs), 'rung')} · {span(ladder)}",
        picture=steps(drawn),
        same=[(capital(s.label), s.text) for s in report.same],
        locked=report.locked,
        rungs=rungs,
        must=[p.text for p in report.problems if p.must],
        look=[p.text for p in report.problems if not p.must],
        published=ladder.published is not None,
        scale=report.scale,
    )


def standing(ladder: Ladder) -> str:
    if ladder.published:
        return f"Version {ladder.version}, published on {day(ladder.published.on)} by {ladder.published.by}"
    return f"Draft after version {ladder.version}" if ladder.version else "Draft, not published yet"


def span(ladder: Ladder) -> str:
    return capital(
        grades_said([GRADE_CODES[g] for g in range(grade_number(ladder.low), grade_number(ladder.high) + 1)])
    )


def _rung(rung: Rung, told: RungReport, ladder: Ladder, base: RuleBase, sections: list[str]) -> RungView:
    standard = told.new_demand.standard
    return RungView(
        id=rung.id,
        number=told.number,
        name=rung.name,
        who=capital(grades_said(rung.grades)),
        suits=told.suits.text,
        asks=told.new_demand.text,
        standard=f"{standard.code}: {standard.text}" if standard else "",
        changes=[_change(change, base) for change in told.changes],
        settings=[_setting(rung, s.lever, s.text, ladder, base) for s in told.settings],
        checks=[
            (c.verdict.value, f"{capital(c.kind)}: {c.verdict.said}.", c.text)
            for c in told.checks
            if c.verdict != "clear" and (c.kind != "kit" or c.verdict == "not_feasible")
        ],
        limits=[limit.text for limit in told.limits],
        agreed=rung.agreed,
        first_run=ladder.first_run == rung.id,
        sections=sections,
    )


def _change(change: RungChange, base: RuleBase) -> ChangeRow:
    return ChangeRow(
        label=capital(change.label),
        before=change.from_text,
        after=change.to_text,
        asks=change.asks,
        reason=change.reason.text,
        bases=[f"{b.label}: {b.supports}" for b in change.basis],
        rule=change.rule.id if change.rule and change.rule.id in base.rules else None,
    )


def _setting(rung: Rung, lever: str, text: str, ladder: Ladder, base: RuleBase) -> SettingRow:
    spec, here = base.levers[lever], rung.settings[lever]
    domain = next(c.settings for c in base.ladders[ladder.challenge].climbs if c.lever == lever)
    places = {spec.position(value): value for value in domain}
    at = spec.position(here)
    below = [place for place in places if place < at - 1e-9]
    above = [place for place in places if place > at + 1e-9]
    return SettingRow(
        lever=lever,
        label=capital(spec.label),
        text=text,
        pinned=lever in rung.pinned,
        gentler=_notch(spec, places[max(below)]) if below else None,
        harder=_notch(spec, places[min(above)]) if above else None,
    )


def _notch(lever: Lever, value: Setting) -> Notch:
    return Notch(setting_key(value), say_setting(lever, value, "both"))
