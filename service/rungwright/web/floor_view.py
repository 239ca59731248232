"""A build seen from above, to scale: x to the right and y to the front from the middle of its floor, in mm."""

from __future__ import annotations

import math

from markupsafe import Markup

from rungwright.domain.build import Build, Place, Spot, WayIn
from rungwright.web.front_view import ROLL_MM, STICK_MM, foot_radius, pole_angles
from rungwright.web.pictures import joined, tag

SPOT_MM = 18.0
"""across the mark of a spot"""


def depth_of(build: Build) -> float:
    return 2 * foot_radius(build) if build.kind == "poles" else build.depth_mm


def floor_of(build: Build) -> Markup:
    """Outline, posts or feet, what carries the roof, the room of each figure, the way in."""
    parts = [_outline(build), *(_place(place) for place in build.figures), _roof(build), _posts(build)]
    if build.entry:
        parts.append(_way_in(build, build.entry))
    return joined(parts)


def spots_of(build: Build, size: float) -> Markup:
    """Where the weight is set, numbered from the left or the front if there are several; letters of `size`."""
    return joined([_spot(spot, str(i + 1) if len(build.spots) > 1 else "", size) for i, spot in enumerate(build.spots)])


def _outline(build: Build) -> Markup:
    if build.kind == "poles":
        return tag("circle", cx=0, cy=0, r=foot_radius(build), class_="floor")
    wide, deep = build.width_mm, build.depth_mm
    return tag("rect", x=-wide / 2, y=-deep / 2, width=wide, height=deep, class_="floor")


def _place(place: Place) -> Markup:
    x, y, wide, deep = place.x_mm, -place.y_mm, place.width_mm, place.depth_mm
    room = tag("rect", x=x - wide / 2 + 1, y=y - deep / 2 + 1, width=wide - 2, height=deep - 2, rx=3, class_="own-room")
    if wide == deep:
        return room + tag("circle", cx=x, cy=y, r=9, class_="figure")
    along = (wide - 10, 18.0) if wide > deep else (18.0, deep - 10)
    body = tag("rect", x=x - along[0] / 2, y=y - along[1] / 2, width=along[0], height=along[1], rx=9.0, class_="figure")
    return room + body


def _roof(build: Build) -> Markup:
    wide, deep = build.inside_width_mm, build.inside_depth_mm
    if build.roof == "ridge":
        return tag("path", d=f"M0 {-build.depth_mm / 2:g}V{build.depth_mm / 2:g}", class_="roof-line")
    if build.roof == "point":
        r = foot_radius(build)
        ends = [(r * math.cos(a), -r * math.sin(a)) for a in pole_angles(build)]
        return tag("path", d="".join(f"M0 0L{x:g} {y:g}" for x, y in ends), class_="roof-line")
    across = [(-deep / 2 + (i + 0.5) * deep / build.across) for i in range(build.across)]
    return tag("path", d="".join(f"M{-wide / 2:g} {y:g}H{wide / 2:g}" for y in across) or "M0 0", class_="roof-line")


def _posts(build: Build) -> Markup:
    if build.kind == "poles":
        r = foot_radius(build)
        feet = [(r * math.cos(a), -r * math.sin(a)) for a in pole_angles(build)]
        return joined([tag("circle", cx=x, cy=y, r=STICK_MM / 2, class_="post") for x, y in feet])
    if not build.legs:
        return Markup()
    thick = ROLL_MM if build.kind == "rolled_posts" else STICK_MM
    half, rows = build.width_mm / 2, build.legs // 2
    deep = build.depth_mm - thick
    at = [(x, -deep / 2 + i * deep / (rows - 1)) for i in range(rows) for x in (-half, half - thick)]
    return joined(
        [
            tag("rect", x=x, y=y - thick / 2, width=thick, height=thick, rx=thick / 2 if thick == ROLL_MM else 1,
                class_="post")
            for x, y in at
        ]
    )  # fmt: skip


def _way_in(build: Build, way: WayIn) -> Markup:
    """In the front, which is below."""
    y = depth_of(build) / 2
    return tag("path", d=f"M{-way.width_mm / 2:g} {y:g}h{way.width_mm:g}", class_="way-in")


def _spot(spot: Spot, number: str, size: float) -> Markup:
    x, y, r = spot.x_mm, -spot.y_mm, max(SPOT_MM / 2, size * 0.75)
    mark = tag("circle", cx=x, cy=y, r=r, class_="spot")
    if not number:
        return mark + tag("path", d=f"M{x - r / 2:g} {y:g}h{r:g}M{x:g} {y - r / 2:g}v{r:g}", class_="spot-cross")
    said = tag("text", number, x=x, y=y + size * 0.36, text_anchor="middle", class_="on-weight")
    return mark + said
