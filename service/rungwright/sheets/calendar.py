"""The lessons as calendar events (RFC 5545), one event a lesson, in the local time of whoever opens them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from icalendar import Calendar, Event

from rungwright.domain.recommendation import Recommendation
from rungwright.sheets.lesson import NotPrintable

PRODUCT = "-//Rungwright//Lesson//EN"


def calendar(answer: Recommendation, starts: Sequence[datetime]) -> bytes:
    """One event for each lesson in use, its phases in the description, starting at `starts` (local, without a zone).

    Raises NotPrintable where there is not one start for each lesson, or one has a zone; ValueError for an answer
    without a timetable.
    """
    if answer.timetable is None:
        raise ValueError("a calendar is made from an answer that includes its timetable")
    lessons = answer.timetable.lessons
    if len(starts) != len(lessons):
        raise NotPrintable(
            "start", f"{len(lessons)} starts are needed, one for each lesson, and {len(starts)} were given"
        )
    if any(start.tzinfo is not None for start in starts):
        raise NotPrintable("start", "give local times without a zone, for example 2026-12-01T09:15")
    book = Calendar()
    book.add("prodid", PRODUCT)
    book.add("version", "2.0")
    for number, (minutes, start) in enumerate(zip(lessons, starts, strict=True), start=1):
        book.add_component(_event(answer, number, minutes, start))
    return book.to_ical()


def _event(answer: Recommendation, number: int, minutes: int, start: datetime) -> Event:
    lessons = len(answer.timetable.lessons)
    which = f", lesson {number} of {lessons}" if lessons > 1 else ""
    phases = [p for p in answer.timetable.phases if p.lesson == number]
    event = Event()
    event.add("uid", f"{answer.id}-{number}@rungwright")
    event.add("dtstamp", answer.created_at)
    event.add("dtstart", start)
    event.add("dtend", start + timedelta(minutes=minutes))
    event.add("summary", f"{answer.challenge.label}{which}: {answer.section.label}")
    event.add("description", "\n".join(f"{p.start:g} min: {p.label}, {p.minutes:g} minutes" for p in phases))
    return event
