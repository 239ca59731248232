"""Pictures that are computed: a dot a group, and bars of the timetable."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from rungwright.domain.recommendation import AllCriteria, Phase

A_ROW = 10
"""Dots in one row: more would not fit a phone."""
_PITCH, _RADIUS = 26, 9


def tag(name: str, content: Markup | str = "", **attributes: object) -> Markup:
    """One element, everything escaped. `class_` is class; underscores in names are hyphens."""
    said = "".join(
        [f' {key.rstrip("_").replace("_", "-")}="{escape(_plain(value))}"' for key, value in attributes.items()]
    )
    return Markup(f"<{name}{said}>{escape(content)}</{name}>")


def _plain(value: object) -> object:
    return f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else value


def joined(parts: Sequence[Markup]) -> Markup:
    return Markup("".join(map(escape, parts)))


@dataclass(frozen=True)
class Dots:
    picture: Markup
    words: str


def dots(expected: AllCriteria, groups: int) -> Dots:
    """Full: expected to meet every criterion; half: could go either way; empty: not expected to."""
    low, high = expected.groups_likely
    words = f"{low} of {groups}" if low == high else f"{low} to {high} of {groups}"
    if groups == 1:
        words = "expected to" if low else "could go either way" if high else "not expected to"
    drawn = [_dot(i, "full" if i < low else "half" if i < high else "none") for i in range(groups)]
    width, height = min(groups, A_ROW) * _PITCH, (groups + A_ROW - 1) // A_ROW * _PITCH
    picture = tag(
        "svg",
        joined(drawn),
        class_="dots-picture",
        viewBox=f"0 0 {width} {height}",
        width=width,
        height=height,
        role="img",
        aria_label=words if groups == 1 else f"{words} groups would be no surprise",
    )
    return Dots(picture, words)


def _dot(place: int, state: str) -> Markup:
    row, column = divmod(place, A_ROW)
    x, y, r = column * _PITCH + _PITCH // 2, row * _PITCH + _PITCH // 2, _RADIUS
    ring = tag("circle", cx=x, cy=y, r=r, class_=f"dot {state}")
    if state != "half":
        return ring
    return ring + tag("path", d=f"M{x} {y - r}a{r} {r} 0 0 1 0 {2 * r}z", class_="dot-half")


@dataclass(frozen=True)
class PhaseBar:
    """One line of a timetable."""

    label: str
    minutes: float
    start: float
    bar: Markup


def phase_bars(phases: Sequence[Phase]) -> list[tuple[int, list[PhaseBar]]]:
    """Lesson -> its lines, each bar at its place in the lesson."""
    lessons: dict[int, list[Phase]] = {}
    for phase in phases:
        lessons.setdefault(phase.lesson, []).append(phase)
    return [
        (lesson, [_bar(p, max(q.start + q.minutes for q in part)) for p in part]) for lesson, part in lessons.items()
    ]


def _bar(phase: Phase, whole: float) -> PhaseBar:
    box = tag(
        "rect",
        x=200 * phase.start / whole,
        y=1,
        width=max(200 * phase.minutes / whole, 1.0),
        height=12,
        rx=2,
        class_="bar test" if phase.phase.startswith("test") else "bar",
    )
    line = tag("path", d="M0 13.5H200", class_="bar-ground")
    bar = tag(
        "svg", line + box, viewBox="0 0 200 14", preserveAspectRatio="none", class_="bar-picture", aria_hidden="true"
    )
    return PhaseBar(phase.label, phase.minutes, phase.start, bar)
