"""The checks on the build itself, all of the same form in one version."""

from __future__ import annotations

from dataclasses import dataclass

from rungwright.domain.grades import Band
from rungwright.domain.readings import Readings
from rungwright.measure.columns import Columns, only_rows
from rungwright.measure.figures import RoomCheck, room_check
from rungwright.measure.load import LOAD_LEVERS, LoadCheck, load_check
from rungwright.measure.measured import materials_of
from rungwright.measure.quantiles import Materials
from rungwright.measure.rain import RainCheck, rain_check
from rungwright.measure.wind import WindCheck, wind_check

MANY = 500
"""Versions from which it is worth looking for those that are alike; of no matter for the answer."""


@dataclass(frozen=True)
class BuildChecks:
    load: LoadCheck
    wind: WindCheck
    rain: RainCheck
    room: RoomCheck


def build_checks(
    cols: Columns, band: Band, *, figure_height_mm: float, measured: Readings | None = None
) -> BuildChecks:
    """Load, wind, rain and room of every version. The load check picks the form; the others look at that form.

    `measured`: the section's own readings, in place of the usual ranges.
    """
    load = _load(cols, band, figure_height_mm, materials_of(measured))
    return BuildChecks(load, wind_check(cols, load, measured), rain_check(cols, load, measured), room_check(cols, load))


def _load(cols: Columns, band: Band, height: float, materials: Materials) -> LoadCheck:
    """The load check; of many versions, once for all that are alike to it."""
    if cols.n < MANY:
        return load_check(cols, band, figure_height_mm=height, materials=materials)
    first, which = cols.distinct(LOAD_LEVERS)
    load = load_check(cols.only(first), band, figure_height_mm=height, materials=materials)
    return only_rows(load, which)
