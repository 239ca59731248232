"""Readiness over time: after each run, how many groups would meet every criterion of the usual version."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from rungwright.pictures.svg import Drawing

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 560.0, 260.0, 48.0, 16.0, 16.0, 56.0


@dataclass(frozen=True)
class Point:
    """After the run of a day: `share` of groups 0..1 that would meet all, with the range `low` to `high`."""

    on: date
    share: float
    low: float
    high: float


def readiness_over_time(points: Sequence[Point], *, groups: int, label: str) -> str:
    """SVG with a dot and its range for each point, oldest left, even steps; the scale counts the section's groups.

    Parameters: `points` at least one, in order of days; `groups` 1..60; `label`, the section's. Raises ValueError where
    there is no point.
    """
    if not points:
        raise ValueError("there is no run to show")
    drawing = Drawing(WIDTH, HEIGHT, title=f"Readiness of {label} over time", says=_in_words(points, groups))
    high = HEIGHT - TOP - BOTTOM

    def y(share: float) -> float:
        return TOP + (1 - share) * high

    for count in _ticks(groups):
        at = y(count / groups)
        drawing.line(LEFT, at, WIDTH - RIGHT, at, opacity=0.25)
        drawing.text(LEFT - 8, at + 5, str(count), anchor="end", size=12)
    step = (WIDTH - LEFT - RIGHT) / len(points)
    every = -(-len(points) // 8)
    places = [(LEFT + step * (i + 0.5), point) for i, point in enumerate(points)]
    for (x1, a), (x2, b) in pairwise(places):
        drawing.line(x1, y(a.share), x2, y(b.share), opacity=0.6)
    for i, (x, point) in enumerate(places):
        drawing.line(x, y(point.low), x, y(point.high), width=3, opacity=0.45)
        drawing.dot(x, y(point.share), 5)
        if i % every == 0:
            drawing.text(x, HEIGHT - BOTTOM + 20, f"{point.on.day} {point.on:%b}", anchor="middle", size=12)
    drawing.text(LEFT, HEIGHT - 12, f"groups of {groups} that would meet every criterion of the usual version", size=12)
    return str(drawing)


def _ticks(groups: int) -> list[int]:
    every = max(1, round(groups / 5))
    return [*range(0, groups, every), groups] if groups % every == 0 else list(range(0, groups + 1, every))


def _in_words(points: Sequence[Point], groups: int) -> str:
    told = (
        f"After the run of {point.on.isoformat()}, about {point.share * groups:.0f} of {groups} groups, from "
        f"{point.low * groups:.0f} to {point.high * groups:.0f}."
        for point in points
    )
    return " ".join(told)
