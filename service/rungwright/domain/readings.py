"""What was measured in the room: values that the checks take in place of the usual ranges."""

from typing import Annotated, Any

from pydantic import AfterValidator, Field

from rungwright.domain.strict import Strict


def _ends(values: list[float]) -> list[float]:
    return sorted({min(values), max(values)})


def _readings(low: float, high: float) -> Any:
    """One reading, or several; kept are the lowest and the highest, or the one where they are alike."""
    each = Annotated[float, Field(ge=low, le=high)]
    return Annotated[list[each], Field(min_length=1, max_length=20), AfterValidator(_ends)] | None


def _told(what: str) -> Any:
    return Field(default=None, description=f"{what}; one reading or several, the lowest and the highest count")


class Readings(Strict):
    """Measured with a section's own things; what is left out takes its usual range. See the calibrations."""

    stick_thickness_mm: _readings(0.5, 6) = _told("thickness of one stick")
    paper_thickness_mm: _readings(0.03, 0.5) = _told("thickness of one sheet of paper")
    friction: _readings(0.02, 1.5) = _told("friction of a build on the tray or table of the test")
    stroke_ml: _readings(0.05, 10) = _told("water in one stroke of the sprayer")
    wind_m_s: _readings(0.1, 20) = _told("speed of the wind where the build stands")
    weight_g: float | None = Field(default=None, ge=1, le=20_000, description="mass of the test weight there is")

    def range_of(self, name: str) -> tuple[float, float] | None:
        """Lowest and highest reading; None where nothing was measured."""
        values = getattr(self, name)
        return (values[0], values[-1]) if values else None
