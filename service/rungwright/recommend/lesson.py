"""What the class needs: timetable, kit and brief of the chosen settings."""

from __future__ import annotations

from collections.abc import Sequence

from rungwright.domain import recommendation as out
from rungwright.domain.lever import setting_key
from rungwright.measure.constants import FIGURE_WIDTH_MM
from rungwright.measure.figures import foot_mm, scale_of, tilt_to_tip_deg
from rungwright.measure.kit import SETS_WITH_RAIN, KitUse, kit_lines
from rungwright.measure.phases import phases
from rungwright.measure.queues import station_tests
from rungwright.recommend import wording
from rungwright.recommend.measuring import Measured
from rungwright.recommend.resolve import Case
from rungwright.recommend.station_kit import station_things
from rungwright.recommend.stations import station_plan, test_order
from rungwright.recommend.supplies import price_list, shares
from rungwright.rulebase import RuleFiring
from rungwright.rulebase.words import counted, number, say_setting


def timetable_of(measured: Measured) -> out.Timetable:
    case, time = measured.case, measured.checks["time"]
    tests = station_tests(case.challenge)
    plan = station_plan(measured)
    return out.Timetable(
        manner=_say(measured, "test_manner"),
        order=test_order(measured),
        lessons=[session.minutes for session in case.section.sessions[: int(time.lessons[0])]],
        phases=phases(case.challenge, case.section, time, 0),
        stations=[
            out.StationVisit(
                test=t.id,
                label=t.label,
                copies=int(time.copies[t.id][0]),
                visit_minutes=round(float(time.visit[t.id][0]), 1),
                queue_minutes=round(float(time.queue[t.id][0]), 1),
            )
            for t in tests
        ],
        calls=plan.calls,
        least_minutes=plan.least_minutes,
        fair_finishes=plan.fair_finishes,
        late=plan.late,
        minutes_available=round(float(time.available[0]), 1),
        minutes_needed=round(float(time.needed[0]), 1),
    )


def kit_of(measured: Measured) -> out.Kit:
    case = measured.case
    names, row = case.base.names, measured.cols.row(0)
    holds = {name: material.holds for name, material in case.stock.catalogue.items()}
    uses = kit_lines(case.challenge, case.section, case.stock, measured.cols, 0)
    items = [
        out.KitItem(
            lever=use.lever,
            role=use.role,
            material=use.material,
            also=list(use.also),
            instead_of=list(use.instead[:3]),
            shares=shares(use, groups=case.section.groups, stock=case.stock.held, names=names, holds=holds),
            label=use.label,
            per_group=round(use.per_group, 1),
            for_class=round(use.for_class, 1),
            unit=use.measure,
            there=None if use.there is None else round(use.there, 1),
            short=round(use.short, 1),
            instead=[names[m] for m in use.instead[:3]],
        )
        for use in uses
    ]
    labels = {t.id: t.label for t in case.challenge.tests}
    stations = [
        out.StationThings(test=test, label=labels[test], things=things) for test, things in station_things(case).items()
    ]
    return out.Kit(
        items=items,
        price_list=price_list(uses) if row.get("budget") else None,
        stations=stations,
        figures=_figures(measured),
        preparation=_preparation(measured),
        preparation_minutes=round(float(measured.preparation_minutes[0]), 1),
    )


def _figures(measured: Measured) -> out.FigureSet | None:
    case, row = measured.case, measured.cols.row(0)
    if not row.get("figure_count"):
        return None
    height = case.challenge.figure_height_mm
    standing = str(row.get("figure_standing", "lying"))
    foot = foot_mm(figure_height_mm=height) if standing == "base_given" else None
    age = 5 + case.section.grade_mid  # a student of grade 5 is about 10
    return out.FigureSet(
        height_mm=height,
        width_mm=FIGURE_WIDTH_MM,
        base_mm=foot,
        tips_at_deg=round(tilt_to_tip_deg(base_mm=foot, centre_of_mass_mm=height / 2), 1) if foot else None,
        standing=standing,
        each_group=int(row["figure_count"]),
        sets=SETS_WITH_RAIN if any(t.leaves == "wet" for t in case.challenge.tests) else 1,
        scale=round(scale_of(figure_height_mm=height, age_years=age), 1),
        age_years=age,
    )


def _preparation(measured: Measured) -> list[str]:
    """What to get ready before the lesson, with its minutes."""
    listed = []
    for lever in measured.cols.levers.values():
        value = measured.cols.row(0)[lever.id]
        minutes = (lever.preparation_minutes or {}).get(setting_key(value), 0)
        if minutes:
            listed.append(
                f"{wording.sentence(lever.label)[:-1]}: {_say(measured, lever.id)} (about {minutes:g} minutes)"
            )
    return listed


def brief_of(measured: Measured, advice: Sequence[RuleFiring]) -> out.Brief:
    """The page the groups get, from the chosen settings. Supports and their settings stay out of it."""
    case, challenge = measured.case, measured.case.challenge
    row = measured.cols.row(0)
    part = [c for i, c in enumerate(challenge.criteria) if measured.versions.counts[0, i]]
    kit = kit_lines(challenge, case.section, case.stock, measured.cols, 0)
    spots = int(row["load_positions"])
    told = [firing for firing in advice if for_groups(firing)]
    return out.Brief(
        title=challenge.label,
        need=challenge.need,
        criteria=[out.BriefLine(criterion=c.id, must=c.must, counts_as_yes=c.counts_as_yes) for c in part],
        constraints=[
            f"Shelter {counted(row['figure_count'], challenge.figure, challenge.figures)}; "
            f"room for each: {_say(measured, 'room_each')}.",
            f"The weight is {_say(measured, 'load_mass_g')}, {_say(measured, 'load_item')}.",
            f"It stays {_say(measured, 'hold_seconds')} at {'one spot' if spots == 1 else f'{spots} spots'}: "
            f"{_say(measured, 'load_place')}.",
            f"The wind comes from {_say(measured, 'wind_sides')}.",
            f"The rain comes from {_say(measured, 'rain_from')}, {_say(measured, 'rain_strokes')}.",
            f"The way in: {_say(measured, 'entry')}.",
        ],
        kit=[_kit_line(case, use) for use in kit if use.per_group > 0],
        minutes=[
            f"{label}: {_say(measured, lever)}"
            for label, lever in (("Plan", "plan_minutes"), ("Build", "build_minutes"), ("Improve", "redesign_minutes"))
            if row[lever]
        ],
        testing=[
            f"Tests come in this order: {wording.listed(_order(measured))}.",
            "A build that breaks gets one minute of repair; what cannot be tested is marked not tested.",
        ],
        questions=[q for firing in told if firing.rule.ask for q in firing.rule.ask.questions][:6],
        safety=list(dict.fromkeys(firing.text(firing.rule.warn) for firing in told if firing.rule.warn)),
    )


def for_groups(firing: RuleFiring) -> bool:
    """Whether groups are told; the rest is for the teacher alone."""
    return "/teacher/" not in firing.rule.id


def _order(measured: Measured) -> list[str]:
    labels = {t.id: t.label for t in measured.case.challenge.tests}
    return [labels[t] for t in test_order(measured)]


def _kit_line(case: Case, use: KitUse) -> str:
    """`12 craft sticks`, `1 sheet of copy paper (A4 or letter)`, `3 pieces of card for the figures`."""
    n = use.per_group
    if use.lever is None and use.material is None:
        return f"{counted(n, 'piece', 'pieces')} of {use.label}"
    if use.measure == "piece":
        one = case.base.materials[use.material].one if use.material else use.label
        return counted(n, one, use.label)
    unit = {"sheet": "sheet" if n == 1 else "sheets", "cm": "cm", "cm2": "cm²", "g": "g"}[use.measure]
    return f"{number(n)} {unit} of {use.label}"


def _say(measured: Measured, lever: str) -> str:
    case = measured.case
    return say_setting(case.levers[lever], measured.cols.row(0)[lever], case.request.units.value)
