"""The checks on the build itself, all of the same form in one version."""

from __future__ import annotations

from dataclasses import dataclass

from rungwright.domain.grades import Band
from rungwright.domain.readings import Readings
from rungwright.measure.columns import Columns
from rungwright.measure.figures import RoomCheck, room_check
from rungwright.measure.load import LoadCheck, load_check
from rungwright.measure.measured import materials_of
from rungwright.measure.rain import RainCheck, rain_check
from rungwright.measure.wind import WindCheck, wind_check


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
    load = load_check(cols, band, figure_height_mm=figure_height_mm, materials=materials_of(measured))
    return BuildChecks(load, wind_check(cols, load, measured), rain_check(cols, load, measured), room_check(cols, load))
