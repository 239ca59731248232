"""A build seen from the front, to scale: x to the right from its middle, y up from the ground is negative; in mm.

Sizes of the things that are set on the roof are common practice, no source: a can 66 mm by 123 mm, a bottle of half a
litre 65 mm by 215 mm, a pouch of rice or sand 70 mm by 40 mm.
"""

from __future__ import annotations

import math

from markupsafe import Markup

from rungwright.domain.build import Build, Place, WayIn
from rungwright.web.pictures import joined, tag

STICK_MM, ROLL_MM = 10.0, 14.0
"""Width of a craft stick seen from its broad side, and of a rolled-paper post."""
ITEMS_MM = {"bag": (70.0, 40.0), "can": (66.0, 123.0), "bottle": (65.0, 215.0)}
BODY_MM = 26.0
_ROOF_MM = 6.0
_BEHIND_MM = 0.06
"""how far what lies one millimetre further back is drawn up and to the right"""


def width_of(build: Build) -> float:
    """Across the front, as drawn; of poles, across the circle on which they stand."""
    return 2 * foot_radius(build) if build.kind == "poles" else build.width_mm


def foot_radius(build: Build) -> float:
    """Of poles: their floor is the square inside the circle of their feet."""
    return math.hypot(build.inside_width_mm, build.inside_depth_mm) / 2


def front_of(build: Build) -> Markup:
    """Walls, posts and roof."""
    half, top = width_of(build) / 2, build.height_mm
    if build.roof == "arch":
        line = f"M{-half:g} 0A{half:g} {top:g} 0 0 1 {half:g} 0"
        return tag("path", d=line, class_="wall") + tag("path", d=line, class_="cover")
    if build.roof == "ridge":
        line = f"M{-half:g} 0L0 {-top:g}L{half:g} 0"
        return tag("path", d=line, class_="wall") + tag("path", d=line, class_="stick")
    if build.roof == "point":
        feet = [foot_radius(build) * math.cos(angle) for angle in pole_angles(build)]
        outline = f"M{min(feet):g} 0L0 {-top:g}L{max(feet):g} 0"
        poles = "".join(f"M{x:g} 0L0 {-top:g}" for x in feet)
        return tag("path", d=outline, class_="wall") + tag("path", d=poles, class_="stick")
    wall = tag("rect", x=-half, y=-top + _ROOF_MM, width=2 * half, height=top - _ROOF_MM, class_="wall")
    return wall + _sides(build, half, top) + _flat_roof(build, half, top)


def pole_angles(build: Build) -> list[float]:
    """Where poles stand on their circle, from the right and towards the back; two of them are at the front."""
    step = 2 * math.pi / build.legs
    return [-math.pi / 2 + step * (i + 0.5) for i in range(build.legs)]


def _sides(build: Build, half: float, top: float) -> Markup:
    if build.kind == "box":
        return tag("path", d=f"M{-half:g} 0V{-top + _ROOF_MM:g}H{half:g}V0", class_="fold")
    thick, round_ = (STICK_MM, 1) if build.kind == "stick_frame" else (ROLL_MM, 6)
    posts = [
        tag("rect", x=x, y=-top + _ROOF_MM, width=thick, height=top - _ROOF_MM, rx=round_, class_="post")
        for x in (-half, half - thick)
    ]
    return joined(posts)


def _flat_roof(build: Build, half: float, top: float) -> Markup:
    cover = tag("path", d=f"M{-half - 4:g} {-top:g}H{half + 4:g}", class_="cover")
    if build.roof == "folded":
        n = 12
        points = [f"{-half + i * 2 * half / n:g} {-top + (_ROOF_MM if i % 2 else 0):g}" for i in range(n + 1)]
        return tag("path", d="M" + "L".join(points), class_="fold") + cover
    return tag("rect", x=-half, y=-top, width=2 * half, height=_ROOF_MM, class_="post") + cover


def roof_at(build: Build, x: float) -> float:
    """Height of the roof over a place across the front."""
    part = min(abs(x) / (width_of(build) / 2), 1.0)
    if build.roof in ("ridge", "point"):
        return build.height_mm * (1 - part)
    if build.roof == "arch":
        return build.height_mm * math.sqrt(1 - part**2)
    return build.height_mm


def door(way: WayIn | None) -> Markup:
    if way is None:
        return Markup()
    x, high = -way.width_mm / 2, way.height_mm
    if way.setting == "open_side":
        # The whole front is open, in the shape that it has.
        return Markup()
    drawn = tag("rect", x=x, y=-high, width=way.width_mm, height=high, class_="door")
    if way.setting == "can_be_closed":
        drawn += tag("circle", cx=x + 6, cy=-high / 2, r=2.5, class_="knob")
    return drawn


def pouch(x: float, y: float) -> Markup:
    """A pouch of rice or sand that stands at `y`."""
    w = ITEMS_MM["bag"][0] / 2
    shape = f"M{x - w:g} {y:g}c-4 -26 14 -38 {w:g} -38s{w + 4:g} 12 {w:g} 38z"
    return tag("path", d=shape, class_="weight")


def item(kind: str, x: float, y: float) -> Markup:
    """What is set on the roof, standing at `y`."""
    if kind == "bag":
        return pouch(x, y)
    wide, high = ITEMS_MM[kind]
    return tag("rect", x=x - wide / 2, y=y - high, width=wide, height=high, rx=6, class_="weight")


def figures_of(build: Build, tall: float) -> Markup:
    """Each in its place; those further back are paler, and a little up and to the right."""
    front = min((place.y_mm for place in build.figures), default=0.0)
    # Those behind first, so that the front row covers them.
    places = sorted(build.figures, key=lambda place: -place.y_mm)
    return joined([_figure(place, (place.y_mm - front) * _BEHIND_MM, tall) for place in places])


def _figure(place: Place, back: float, tall: float) -> Markup:
    style = "figure behind" if back else "figure"
    x, ground, head = place.x_mm + back, -back, tall * 0.15
    if place.width_mm > place.depth_mm:
        body = tag("rect", x=x - tall / 2, y=ground - 20, width=tall - 2 * head, height=18.0, rx=8, class_=style)
        return body + tag("circle", cx=x + tall / 2 - head, cy=ground - 12, r=head, class_=style)
    if place.width_mm < place.depth_mm:
        # Lies with its head to the back: seen from the feet.
        return tag("ellipse", cx=x, cy=ground - 9, rx=BODY_MM / 2, ry=9.0, class_=style)
    foot = ground - 3
    shoulder, w, neck = foot - tall + 2 * head, BODY_MM, BODY_MM * 0.32
    left, right = x - w / 2, x + w / 2
    body = f"M{left:g} {foot:g}L{x - neck:g} {shoulder + 8:g}q{neck:g} -14 {2 * neck:g} 0L{right:g} {foot:g}z"
    return (
        tag("path", d=body, class_=style)
        + tag("circle", cx=x, cy=foot - tall + head, r=head, class_=style)
        + tag("rect", x=x - w * 0.7, y=ground - 3, width=w * 1.4, height=3.0, class_=style)
    )
