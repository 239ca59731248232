"""A lesson that runs late: what every group that is still untested can do alike in the minutes that are left."""

from __future__ import annotations

from rungwright.domain.recommendation import Recommendation
from rungwright.measure.rotation import Stop, fair_finish
from rungwright.recommend.stations import CALLED
from rungwright.recommend.wording import counted_groups, listed, minutes


def late_line(answer: Recommendation, *, minutes_left: float, untested: int) -> str:
    """One sentence. `minutes_left` to the tidying up, >= 0; `untested` groups, 1 to the groups of the section.

    Raises ValueError outside of these ranges, or for an answer without a timetable.
    """
    if answer.timetable is None:
        raise ValueError("this needs an answer that includes its timetable")
    if minutes_left < 0:
        raise ValueError("the minutes left cannot be below 0")
    if not 1 <= untested <= answer.section.groups:
        raise ValueError(f"from 1 to {answer.section.groups} groups can be untested")
    stations = {s.test: s for s in answer.timetable.stations}
    order = [stations[test] for test in answer.timetable.order]
    if answer.after.settings.get("test_manner") in CALLED:
        stops, groups = [Stop(s.test, s.visit_minutes, s.copies) for s in order], untested
    else:
        # Test by test with everybody; fewer groups may be quicker, never slower.
        stops, groups = [Stop(s.test, s.queue_minutes, 1) for s in order], 1
    left = "the one group that is left" if untested == 1 else f"the {untested} groups that are left"
    who = counted_groups(untested) if untested == answer.section.groups else left
    finish = fair_finish(stops, groups=groups, minutes_left=minutes_left)
    if finish is None:
        return (
            f"In {minutes(minutes_left)} no test can be done with {who}: stop here, mark what is left not tested, and "
            "begin with it next time."
        )
    labels = listed([stations[test].label for test in finish.tests])
    left_out = [s.label for s in order if s.test not in finish.tests]
    rest = f" Mark {listed(left_out)} not tested for them, never no." if left_out else ""
    alike = "" if untested == 1 else " alike"
    return f"In {minutes(minutes_left)} {who} can still do {labels}{alike}: about {minutes(finish.minutes)}.{rest}"
