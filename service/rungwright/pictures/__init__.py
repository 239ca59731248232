"""Pictures as SVG: pure functions of numbers, readable without colour and by a screen reader."""

from rungwright.pictures.over_time import Point, readiness_over_time
from rungwright.pictures.ranges import Row, dots_with_ranges

__all__ = ["Point", "Row", "dots_with_ranges", "readiness_over_time"]
