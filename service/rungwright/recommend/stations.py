"""Who is called to which station when, and what still fits when the lesson runs late."""

from __future__ import annotations

from dataclasses import dataclass

from rungwright.domain import recommendation as out
from rungwright.measure.queues import groups_at_tests, station_tests
from rungwright.measure.rotation import Finish, Stop, fair_finishes, least_minutes, rotation
from rungwright.recommend import wording
from rungwright.recommend.measuring import Measured

CALLED = ("stations", "when_ready")
"""Settings of `test_manner` in which groups come to stations."""


@dataclass(frozen=True)
class StationPlan:
    calls: list[out.StationCall]
    least_minutes: float
    fair_finishes: list[out.FairFinish]
    late: str


def test_order(measured: Measured) -> list[str]:
    """The tests with stations, in the one order that every group follows; what waits for the second round is last."""
    challenge, lessons = measured.case.challenge, measured.checks["time"].lessons
    order = list(challenge.order_paper) if measured.order_paper[0] else [t.id for t in station_tests(challenge)]
    first, _ = groups_at_tests(challenge, measured.case.section, measured.cols, lessons)
    return sorted(order, key=lambda test: not first[test][0])


def station_plan(measured: Measured) -> StationPlan:
    case, time = measured.case, measured.checks["time"]
    groups, manner = case.section.groups, measured.cols.row(0)["test_manner"]
    order = test_order(measured)
    first, _ = groups_at_tests(case.challenge, case.section, measured.cols, time.lessons)
    if manner in CALLED:
        stops = [Stop(t, float(time.visit[t][0]), int(time.copies[t][0])) for t in order]
        here = [stop for stop in stops if first[stop.test][0]]
        calls, least = rotation(here, groups=groups), least_minutes(here, groups=groups)
        finishes = fair_finishes(stops, groups=groups)
    else:
        # At own tables, or with the class watching, each test is done with everybody before the next one starts.
        stops = [Stop(t, float(time.queue[t][0]), 1) for t in order]
        calls, least = [], sum(stop.visit for stop in stops if first[stop.test][0])
        finishes = fair_finishes(stops, groups=1)
    return StationPlan(
        calls=[
            out.StationCall(
                group=c.group, test=c.test, copy=c.copy, start=round(c.start, 2), minutes=round(c.minutes, 2)
            )
            for c in calls
        ],
        least_minutes=round(least, 1),
        fair_finishes=[_finish(measured, f) for f in finishes],
        late=_late(measured, finishes),
    )


def _labels(measured: Measured, tests: tuple[str, ...]) -> list[str]:
    labels = {t.id: t.label for t in measured.case.challenge.tests}
    return [labels[t] for t in tests]


def _finish(measured: Measured, finish: Finish) -> out.FairFinish:
    return out.FairFinish(
        tests=list(finish.tests), labels=_labels(measured, finish.tests), minutes=round(finish.minutes, 1)
    )


def _late(measured: Measured, finishes: list[Finish]) -> str:
    """One line for a teacher who looks at the clock: what every group can still do alike, by the minutes it takes."""
    parts = [f"{wording.listed(_labels(measured, f.tests))} in {wording.minutes(f.minutes)}" for f in finishes]
    groups = measured.case.section.groups
    said = wording.listed(parts, "or")
    alike = wording.sentence(said) if groups == 1 else f"The same for all {groups} groups: {said}."
    return f"Running late? {alike} Then tidy up."
