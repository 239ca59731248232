"""A material of the catalogue, read from `rules/materials/`."""

from typing import Literal

from pydantic import Field

from rungwright.domain.strict import Id, Strict

Rigidity = Literal["rigid", "half_rigid", "soft", "joiner", "ballast", "station"]


class Property(Strict):
    """A number with its range and where it comes from."""

    value: float
    low: float
    high: float
    unit: str
    status: Literal["published", "second_hand", "derived", "from_memory", "starting_guess"]
    source: Id


class Material(Strict):
    """Quantities are counted in `unit`; `holds` says how much of the kit measure one unit gives."""

    id: Id
    label: str
    one: str
    many: str
    rigidity: Rigidity
    role: Id = Field(description="what it does in a kit; a substitute has the same role")
    unit: str = Field(description="the catalogue unit: piece, sheet, roll, ...")
    holds: float = Field(gt=0, description="kit measure in one unit: pieces, sheets, cm of tape, cm2 of cover")
    measure: Literal["piece", "sheet", "cm", "cm2", "g"]
    usual: float = Field(ge=0, description="a usual amount in a cupboard, in units")
    substitute: list[Id] = []
    allergens: list[Id] = Field(description="latex, wheat, nuts, ...; an empty list says that none is known")
    reused: bool = Field(description="can go back into the cupboard after a lesson")
    small_part: bool = Field(description="may fit the small-parts cylinder of 31.7 mm")
    tool: Id | None = Field(default=None, description="a tool that is needed to work it, if any")
    properties: dict[Id, Property] = {}
