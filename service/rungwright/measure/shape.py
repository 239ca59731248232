"""The drawn form as data: sizes, figures on the floor, spots on the roof, the way in. One description for all checks.

Spots are spread evenly along the longer side of a flat roof or along the ridge; one spot that the builders do not
choose lies near an edge, where the load check takes it. Agreed here.
"""

from __future__ import annotations

from collections.abc import Mapping

from rungwright.domain.build import Build, Place, Spot, WayIn
from rungwright.domain.strict import Setting
from rungwright.measure.constants import CLEARANCE_MM, FIGURE_WIDTH_MM, POUCH_MM
from rungwright.measure.form import Form
from rungwright.measure.room import places_in


def build_of(
    form: Form, *, figures: int, room: str, figure_height_mm: float, spots: int, off_centre: bool,
    entry: str | None = None,
) -> Build:  # fmt: skip
    """`figures` and `spots` 1 or more; `room` and `entry` settings of the levers `room_each` and `entry`."""
    floor = form.floor
    return Build(
        form=form.id,
        label=form.label,
        kind=form.kind,
        roof=form.roof,
        width_mm=floor.outer_width,
        depth_mm=floor.outer_depth,
        height_mm=form.height,
        inside_width_mm=floor.width,
        inside_depth_mm=floor.depth,
        headroom_mm=form.headroom,
        legs=form.legs,
        across=form.across,
        figures=[
            Place(x_mm=round(x, 1), y_mm=round(y, 1), width_mm=w, depth_mm=d)
            for x, y, w, d in places_in(form, room, figure_height_mm=figure_height_mm, count=figures)
        ],
        spots=_spots(form, spots, off_centre),
        entry=_way_in(form, entry, figure_height_mm) if entry else None,
    )


def build_of_settings(
    form: Form, settings: Mapping[str, Setting], *, figure_height_mm: float, off_centre: bool
) -> Build:
    """With the settings of one version."""
    return build_of(
        form,
        figures=int(settings["figure_count"]),
        room=str(settings["room_each"]),
        figure_height_mm=figure_height_mm,
        spots=int(settings["load_positions"]),
        off_centre=off_centre,
        entry=str(settings["entry"]),
    )


def _spots(form: Form, count: int, off_centre: bool) -> list[Spot]:
    floor = form.floor
    if count == 1:
        near_edge = max(floor.width - POUCH_MM, 0.0) / 2 if form.flat_roof else floor.width / 4
        return [Spot(x_mm=near_edge if off_centre else 0.0, y_mm=0.0)]
    along_y = form.roof == "ridge" or (form.flat_roof and floor.depth > floor.width)
    length = floor.depth if along_y else floor.width
    at = [round(((i + 0.5) / count - 0.5) * length, 1) for i in range(count)]
    return [Spot(x_mm=0.0, y_mm=p) if along_y else Spot(x_mm=p, y_mm=0.0) for p in at]


def _way_in(form: Form, entry: str, figure_height_mm: float) -> WayIn:
    """An open side is a whole side; a doorway just lets a figure in."""
    if entry == "open_side":
        return WayIn(setting=entry, width_mm=form.floor.width, height_mm=form.headroom)
    wide, high = FIGURE_WIDTH_MM + CLEARANCE_MM, figure_height_mm + CLEARANCE_MM
    return WayIn(setting=entry, width_mm=min(wide, form.floor.width), height_mm=min(high, form.headroom))
