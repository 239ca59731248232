"""The build that all checks of one answer describe, with its sizes: what a drawing of it needs."""

from typing import Literal

from pydantic import Field

from rungwright.domain.strict import Id, Strict


class Spot(Strict):
    """A place on the roof, from the middle of the floor: to the right and away from the way in."""

    x_mm: float
    y_mm: float


class Place(Spot):
    """The room of one figure on the floor; its middle, and its sizes."""

    width_mm: float
    depth_mm: float


class WayIn(Strict):
    """In the front, which is as wide as the build."""

    setting: Id
    width_mm: float
    height_mm: float


class Build(Strict):
    """A form with its sizes, where its figures have their room and where the weight is set."""

    form: Id
    label: str
    kind: Literal["stick_frame", "leaning", "rolled_posts", "poles", "arch", "box"]
    roof: Literal["flat", "folded", "rolls", "sticks", "ridge", "point", "arch"] = Field(
        description="what a flat roof is made of, or the shape of another; a ridge runs away from the front"
    )
    width_mm: float = Field(description="outside, across the front")
    depth_mm: float
    height_mm: float
    inside_width_mm: float
    inside_depth_mm: float
    headroom_mm: float = Field(description="under the roof; of a roof that is not flat, at its highest")
    legs: int = Field(description="posts, leaning sticks or poles")
    across: int = Field(description="sticks or rolls across the roof")
    figures: list[Place] = Field(description="as many as fit of those asked for")
    spots: list[Spot] = Field(description="tested places, as the load check takes them")
    entry: WayIn | None
