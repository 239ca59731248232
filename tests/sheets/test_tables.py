"""The kit as a table, the lessons in a calendar, and the line for a lesson that runs late."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime, timedelta

import icalendar
import pytest

from rungwright.sheets import NotPrintable, calendar, kit_csv, late_line
from rungwright.sheets.kit import CSV_COLUMNS


def test_the_kit_table_is_read_back_as_the_kit(lesson_for):
    few = [{"material": "craft_stick", "quantity": 60}]
    lesson = lesson_for("3-5", section={"materials": few}, settings={"rigid_pieces": 20})
    text = kit_csv(lesson)
    assert text.endswith("\r\n")  # RFC 4180
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert tuple(rows[0]) == CSV_COLUMNS
    kit = lesson.answer.kit
    assert len(rows) == len(kit.items) + sum(len(s.things) for s in kit.stations)
    sticks = rows[0]
    item = kit.items[0]
    assert (sticks["what"], float(sticks["each_group"]), float(sticks["class"])) == (
        item.label,
        item.per_group,
        item.for_class,
    )
    assert float(sticks["short"]) == item.short > 0
    copies = {s.label: s.copies for s in lesson.answer.timetable.stations}
    tray = next(r for r in rows if r["what"] == "tray" and r["for"] == "weight station")
    assert int(tray["class"]) == copies["weight"]


def test_each_lesson_is_one_event_that_any_calendar_reads(lesson_for):
    lesson = lesson_for("3-5", section={"sessions": [{"minutes": 55}, {"minutes": 40}]}, settings={"sessions_used": 2})
    starts = [datetime(2026, 12, 1, 9, 15), datetime(2026, 12, 3, 10, 0)]
    events = icalendar.Calendar.from_ical(calendar(lesson.answer, starts)).walk("VEVENT")
    assert len(events) == 2
    for event, start, minutes in zip(events, starts, (55, 40), strict=True):
        assert event.decoded("dtstart") == start
        assert event.decoded("dtend") - event.decoded("dtstart") == timedelta(minutes=minutes)
        assert "tidy up" in str(event["description"])
    # RFC 5545: UID and DTSTAMP must be there, the first unlike any other, the second in UTC.
    assert len({str(e["uid"]) for e in events}) == 2
    assert all(e.decoded("dtstamp").utcoffset() == timedelta(0) for e in events)


@pytest.mark.parametrize(
    "starts",
    [[], [datetime(2026, 12, 1, 9, 15)] * 3, [datetime(2026, 12, 1, 9, tzinfo=UTC)] * 2],
)
def test_starts_that_do_not_fit_the_lessons_are_told(lesson_for, starts):
    answer = lesson_for("3-5", settings={"sessions_used": 2}).answer
    with pytest.raises(NotPrintable) as caught:
        calendar(answer, starts)
    assert caught.value.field == "start"


def test_running_late_keeps_all_groups_alike(lesson_for):
    answer = lesson_for("3-5", settings={"test_manner": "stations", "load_stations": 1}).answer
    all_of_them = late_line(answer, minutes_left=200, untested=answer.section.groups)
    assert "wind, rain and weight" in all_of_them
    assert "not tested" not in all_of_them
    some = late_line(answer, minutes_left=6, untested=3)
    assert "alike" in some and "never no" in some
    none = late_line(answer, minutes_left=0.1, untested=3)
    assert "no test can be done" in none
    assert answer.timetable.late.count(" minute") == len(answer.timetable.fair_finishes)


def test_running_late_names_whom_it_means(lesson_for):
    answer = lesson_for("3-5", settings={"test_manner": "stations"}).answer
    said = {n: late_line(answer, minutes_left=60, untested=n) for n in (1, 3, answer.section.groups)}
    assert "the one group that is left can still do" in said[1] and "alike" not in said[1]
    assert "the 3 groups that are left can still do" in said[3]
    assert "all 8 groups can still do" in said[8]
    assert "In 1 minute " in late_line(answer, minutes_left=1, untested=1)


@pytest.mark.parametrize(("minutes", "untested"), [(-1, 3), (5, 0), (5, 99)])
def test_running_late_by_nonsense(lesson_for, minutes, untested):
    with pytest.raises(ValueError, match=r"minutes left|groups can be untested"):
        late_line(lesson_for("3-5").answer, minutes_left=minutes, untested=untested)


def test_own_tables_finish_test_by_test(lesson_for):
    answer = lesson_for("K-2").answer
    queues = {s.test: s.queue_minutes for s in answer.timetable.stations}
    finishes = answer.timetable.fair_finishes
    assert finishes[0].minutes == pytest.approx(sum(queues.values()), abs=0.1)
    assert finishes[-1].minutes == pytest.approx(min(queues.values()), abs=0.1)
