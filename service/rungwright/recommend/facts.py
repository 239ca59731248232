"""The slim facts that the rules read: one section, one now, one checks, a few criteria and stations."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rungwright.domain.challenge import Test
from rungwright.domain.run import Run
from rungwright.domain.section import Support, most_common
from rungwright.domain.strict import Setting
from rungwright.engine.form import Fact, Scalar
from rungwright.measure.queues import station_tests
from rungwright.measure.verdicts import VERDICTS
from rungwright.readiness.outcome import Expected
from rungwright.recommend.measuring import Measured
from rungwright.recommend.resolve import Case

NEED_FACTS = {
    Support.FINE_MOTOR: "need_fine_motor",
    Support.READING: "need_reading",
    Support.NEW_TO_LANGUAGE: "need_language",
    Support.MOBILITY: "need_mobility",
    Support.SENSORY: "need_sensory",
    Support.ATTENTION: "need_attention",
    Support.MAY_MOUTH_OBJECTS: "may_mouth_objects",
}


def rounded(fact: Fact) -> Fact:
    """Numbers to 4 places, once, before the engine and the reason see them."""
    return {k: round(v, 4) if isinstance(v, float) else v for k, v in fact.items()}


def section_fact(case: Case) -> dict[str, Scalar | None]:
    """Who they are. Nothing asked and nothing computed: what can be known before any setting is measured."""
    section, runs = case.section, case.own_runs
    last = runs[-1] if runs else None
    supports = section.supports or {}
    told = case.last_told
    return {
        "kind": "section",
        "family": case.challenge.family,
        "grade_low": section.grade_low,
        "grade_mid": section.grade_mid,
        "grade_high": section.grade_high,
        "band": section.band.value,
        "band_low": section.band_low.value,
        "mixed_grades": len(section.grades) > 1,
        "students": section.students,
        "groups": section.groups,
        "group_size": most_common(section.group_sizes),
        "largest_group": max(section.group_sizes),
        "smallest_group": min(section.group_sizes),
        "adults": section.adults,
        "lessons": len(section.sessions),
        "minutes": section.minutes,
        "evidence": evidence(runs),
        "runs": len(runs),
        "other_family_runs": sum(
            case.base.challenges[run.challenge].family != case.challenge.family
            for run in case.teaching_runs
            if run.challenge != case.challenge.id
        ),
        "groups_last": last.groups if last else None,
        "last_outcome": last_outcome(last),
        "minutes_over": told.minutes_over if told else None,
        "kit_ran_out": bool(told and "kit_ran_out" in told.flags),
        **{fact: supports.get(need, 0) > 0 for need, fact in NEED_FACTS.items()},
    }


def evidence(runs: Sequence[Run]) -> str:
    """How much is known: none, thin (one run of under four groups), one_run, several."""
    if not runs:
        return "none"
    if len(runs) > 1:
        return "several"
    return "thin" if runs[0].groups < 4 else "one_run"


def last_outcome(run: Run | None) -> str:
    """Of the last run, by the end: all passed or all failed on every criterion that was tested, or mixed."""
    tallies = [end or first for first, end in (run.tallies().values() if run else ())]
    tested = [t for t in tallies if t and t.of]
    if not tested:
        return "none"
    if all(t.met == t.of for t in tested):
        return "all_passed"
    return "all_failed" if all(t.met == 0 for t in tested) else "mixed"


def now_fact(case: Case, settings: Mapping[str, Setting], flat_roof: bool | None = None) -> dict[str, Scalar | None]:
    """The settings as they stand."""
    fact: dict[str, Scalar | None] = {
        "kind": "now",
        "spots_flat": flat_roof,
        "stand_asked": _stand_asked(case, settings),
    }
    return fact | {lever: settings[lever] for lever in case.levers}


def _stand_asked(case: Case, settings: Mapping[str, Setting]) -> bool:
    stand = (c for c in case.challenge.criteria if c.only_if and c.id == "stand")
    return any(criterion.asked_at(settings) for criterion in stand)


def measured_facts(measured: Measured, expected: Expected) -> list[Fact]:
    """The computed facts of row 0: checks, criteria, stations; row 1 is what if there were `NO_RIGID`."""
    facts = (_checks_fact(measured, expected), *_criterion_facts(measured, expected), *_station_facts(measured))
    return [rounded(fact) for fact in facts]


def _checks_fact(measured: Measured, expected: Expected) -> dict[str, Scalar | None]:
    load, wind, room = (measured.checks[name] for name in ("load", "wind", "room"))
    time, kit, adults = (measured.checks[name] for name in ("time", "kit", "adults"))
    return {
        "kind": "checks",
        **{f"{name}_verdict": VERDICTS[measured.verdict(name, 0)].value for name in measured.checks if name != "rain"},
        "load_margin_low": float(load.margin_low[0]),
        "load_margin": float(load.margin_mid[0]),
        "wind_margin": float(wind.margin_mid[0]),
        "build_mass_g": float(wind.mass_g[0]),
        "figures_that_fit": int(room.fits[0]),
        "room_spare": int(room.spare[0]),
        "cover_ratio": float(measured.checks["rain"].cover_ratio[0]),
        "minutes_spare": float(time.spare[0]),
        "test_minutes": float(time.test_minutes[0]),
        "kit_lines_short": int(kit.lines_short[0]),
        "adults_short": int(adults.short[0]),
        "groups_expected": expected.groups,
        "groups_expected_share": expected.all_criteria.share,
        "if_no_rigid_load_margin": float(load.margin_mid[1]),
        "if_no_rigid_verdict": VERDICTS[load.verdict[1]].value,
    }


def _criterion_facts(measured: Measured, expected: Expected) -> list[dict[str, Scalar | None]]:
    case, runs = measured.case, measured.case.own_runs
    last = runs[-1].tallies() if runs else {}
    held = runs[-1].positions_held if runs else None
    margins = {"load": measured.checks["load"].margin_mid[0], "wind": measured.checks["wind"].margin_mid[0]}
    listed = [(c, criterion) for c, criterion in enumerate(case.challenge.criteria) if c in expected.first]
    # Surplus is judged against the design share; otherwise the way in, which nearly all manage, always has most.
    surplus = sorted(
        listed, key=lambda x: (-round((expected.first[x[0]].share - x[1].first_share) / TIE), x[1].thinking)
    )
    weak = sorted(listed, key=lambda x: (round(expected.first[x[0]].share, 4), x[1].thinking))
    weakest = expected.first[weak[0][0]].share if weak else 0.0
    # One that clearly more groups meet than the weakest is no weak one, whatever its place.
    strong = {c for c, _ in listed if expected.first[c].share > weakest + CLEARLY_MORE}
    facts = []
    for c, criterion in listed:
        first, end = last.get(criterion.id, (None, None))
        by_end = end or first
        short = held.counts[-2] if held and criterion.id == "load" else None
        facts.append(
            {
                "kind": "criterion",
                "name": criterion.id,
                "first_share": expected.first[c].share,
                "share": expected.end[c].share,
                "passed": by_end.met if by_end else None,
                "missed": by_end.of - by_end.met if by_end else None,
                "of": by_end.of if by_end else None,
                "passed_share": by_end.met / by_end.of if by_end and by_end.of else None,
                "first_passed": first.met if first else None,
                "surplus_order": 1 + [x[0] for x in surplus].index(c),
                "weak_order": 1 + [x[0] for x in weak].index(c) + (len(listed) if c in strong else 0),
                "one_short": short,
                "one_short_share": short / runs[-1].groups if short is not None else None,
                "runs_failed": sum(_half_or_fewer(run, criterion.id) for run in runs),
                "margin": float(margins[criterion.id]) if criterion.id in margins else None,
            }
        )
    return facts


def _half_or_fewer(run: Run, criterion: str) -> bool:
    first, end = run.tallies().get(criterion, (None, None))
    tally = end or first
    return bool(tally and tally.of and tally.met <= tally.of / 2)


def _station_facts(measured: Measured) -> list[dict[str, Scalar | None]]:
    case, time = measured.case, measured.checks["time"]
    there = copies_there(case)
    return [
        {
            "kind": "station",
            "name": test.id,
            "copies": int(time.copies[test.id][0]),
            "copies_there": there[test.id],
            "visit_minutes": float(time.visit[test.id][0]),
            "queue_minutes": float(time.queue[test.id][0]),
            "queue_over_build": float(time.queue_over_build[test.id][0]),
        }
        for test in station_tests(case.challenge)
    ]


CLEARLY_MORE = 0.2
"""Part of the groups by which a criterion that is met more often than the weakest is not weak itself; agreed here."""

TIE = 0.1
"""Surpluses in the same tenth count as a tie, which goes to more thinking: no run tells them apart; agreed here."""

USUAL_COPIES = 2
"""Sets of one test that a school can usually make up; common practice."""


def copies_there(case: Case) -> dict[str, int]:
    """Copies of each station that the section has, or can usually make up where it did not say."""
    stations = case.section.stations
    if stations is None:
        return {test.id: min(USUAL_COPIES, case.section.groups) for test in station_tests(case.challenge)}
    told: dict[str, int] = {}
    for station in stations:
        told[station.test] = told.get(station.test, 0) + station.copies
    return {test.id: told.get(test.id, 0) for test in station_tests(case.challenge)}


def not_there(case: Case) -> list[Test]:
    """Tests of the challenge for which the section told that it has no tool, or no station."""
    tools, stations = case.section.tools, case.section.stations
    banned = {*(case.section.exclusions or ()), *case.banned}
    copies = copies_there(case)
    return [
        test
        for test in case.challenge.tests
        if (test.made_with and tools is not None and not set(test.made_with) & set(tools) - banned)
        or (test.made_with and banned >= set(test.made_with))
        or (stations is not None and test.stations and not copies[test.id])
    ]


NO_RIGID: Mapping[str, Setting] = {"rigid_pieces": 0}
"""The change whose load check the rules may ask about before anyone proposes it."""
