"""The kit of a whole school: what to buy for all sections on their rungs, and which station kit each week needs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_report import BuyLine, SchoolKit, StationWeek
from rungwright.domain.ladder_request import PlacedSection
from rungwright.domain.units import area_cm2, area_m2, length_cm, length_m, mass
from rungwright.ladders.frame import Frame, Placed
from rungwright.measure.kit import KEPT_BACK, KitUse, kit_lines, stock_of
from rungwright.measure.queues import station_copies, station_tests
from rungwright.recommend.wording import listed
from rungwright.rulebase.words import number, say_setting

WEIGHT, WEIGHT_LEVER = "weight", "load_mass_g"

OnRung = tuple[PlacedSection, Sequence[Placed], int]
"""a section, the section on every rung, the rung that it is placed on"""


@dataclass
class _Need:
    """One role over all sections. What goes back into the cupboard is needed once, for the section that needs most."""

    first: KitUse
    used_up: float = 0.0
    reused: float = 0.0
    labels: dict[str, None] = field(default_factory=dict)

    @property
    def amount(self) -> float:
        return self.used_up + self.reused


def school_kit(frame: Frame, ladder: Ladder, sections: Sequence[OnRung]) -> SchoolKit:
    """The cupboard is the ladder's; where that was not told, everything is to be bought."""
    needs: dict[str, _Need] = {}
    weeks: dict[date, list[OnRung]] = {}
    ids = [rung.id for rung in ladder.rungs]
    for asked, wheres, placed in sections:
        rung = ids.index(asked.now_on) if asked.now_on else placed
        for use in _lines(wheres[rung], ladder.rungs[rung].settings):
            _add(frame, needs, use)
        if asked.monday:
            weeks.setdefault(asked.monday, []).append((asked, wheres, rung))
    return SchoolKit(
        buy=[_buy(frame, ladder, role, need) for role, need in needs.items()],
        weeks=[_week(frame, ladder, monday, weeks[monday]) for monday in sorted(weeks)],
        notes=_notes(ladder, sections),
    )


def _lines(where: Placed, settings: dict) -> list[KitUse]:
    case = where.case
    # What a section has by itself does not matter here: the list is for the school's cupboard.
    section = case.section.model_copy(update={"materials": None})
    stock = stock_of(section, case.base.materials, banned=case.banned)
    return kit_lines(case.challenge, section, stock, where.columns([settings]), 0)


def _add(frame: Frame, needs: dict[str, _Need], use: KitUse) -> None:
    need = needs.setdefault(use.role, _Need(use))
    need.labels[use.label] = None
    material = frame.rules.base.materials.get(use.material or "")
    if material and material.reused:
        need.reused = max(need.reused, use.for_class)
    else:
        need.used_up += use.for_class


def _buy(frame: Frame, ladder: Ladder, role: str, need: _Need) -> BuyLine:
    usual = ladder.usual.section(ladder.name, [ladder.scale_grade])
    stock = stock_of(usual, frame.rules.base.materials)
    # A cupboard that was not told is not counted on.
    there = None if stock.held is None else round(stock.there([role])[role], 6)
    short = max(need.amount - (there or 0.0), 0.0)
    # As much must be left as is kept back.
    buy = math.ceil(round(short / (1 - KEPT_BACK), 6)) if short else 0
    label = " or ".join(need.labels)
    if buy:
        text = f"Get {_amount(buy, need.first.measure)}{label}, a tenth of it to keep back."
    else:
        text = f"The cupboard has enough {label}."
    return BuyLine(
        role=role, label=label, measure=need.first.measure, need=need.amount, there=there, buy=buy, text=text
    )


def _amount(amount: float, measure: str) -> str:
    if measure == "cm":
        return f"{length_m(amount / 100) if amount >= 300 else length_cm(amount)} of "
    if measure == "cm2":
        return f"{area_m2(amount / 10_000) if amount >= 10_000 else area_cm2(amount)} of "
    if measure == "g":
        return f"{mass(amount)} of "
    return f"{number(amount)} {'sheets of ' if measure == 'sheet' else ''}"


def _week(frame: Frame, ladder: Ladder, monday: date, sections: Sequence[OnRung]) -> StationWeek:
    challenge = frame.challenge
    most: dict[str, int] = {}
    for _, wheres, rung in sections:
        copies = station_copies(challenge, wheres[rung].columns([ladder.rungs[rung].settings]))
        for test in station_tests(challenge):
            for thing in challenge.station_kit[test.id]:
                most[thing] = max(most.get(thing, 0), int(copies[test.id][0]))
    things = [f"{count} × {_thing(frame, ladder, thing)}" for thing, count in most.items()]
    labels = [asked.section.label for asked, _, _ in sections]
    return StationWeek(
        week=monday,
        sections=labels,
        things=things,
        text=f"Week of {monday.isoformat()}, {listed(labels)}: {', '.join(things)}.",
    )


def _thing(frame: Frame, ladder: Ladder, thing: str) -> str:
    """Its name; of the test weight, which is the same on every rung, how heavy too."""
    name = frame.rules.base.names.get(thing, thing)
    if thing == WEIGHT and (grams := ladder.same.get(WEIGHT_LEVER)) is not None:
        return f"{name} of {say_setting(frame.levers[WEIGHT_LEVER], grams, frame.units)}"
    return name


def _notes(ladder: Ladder, sections: Sequence[OnRung]) -> list[str]:
    notes = []
    if ladder.usual.materials is None:
        notes.append("The school's cupboard was not told, so the list holds everything that is needed.")
    if any(asked.week is None for asked, _, _ in sections):
        notes.append("Sections without a week are in no week's list.")
    notes.append("Sections of one week are taken to use the stations one after another.")
    return notes
