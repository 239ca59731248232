"""How big letters, lines and boxes are, by band. Common practice, no source; large print from 18 points."""

from __future__ import annotations

from rungwright.domain.grades import Band

POINTS = {Band.K_2: 15.0, Band.G3_5: 12.0, Band.G6_8: 11.0, Band.G9_12: 10.5}
LARGE_POINTS = {Band.K_2: 20.0, Band.G3_5: 18.0, Band.G6_8: 18.0, Band.G9_12: 18.0}
TEACHER_POINTS = 9.5
LARGE_TEACHER_POINTS = 18.0
LINE_MM = {Band.K_2: 16.0, Band.G3_5: 11.0, Band.G6_8: 9.0, Band.G9_12: 8.0}
"""Distance of ruled lines, and the least height of a row to write in."""
GUESS_FIRST = (Band.G6_8, Band.G9_12)
"""Bands that write down what they expect before a test."""


def points(band: Band, *, large: bool) -> float:
    return (LARGE_POINTS if large else POINTS)[band]
