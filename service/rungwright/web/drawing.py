"""The build drawn to scale from its settings: one unit of the picture is one millimetre.

The form is the one that the load check is about, its floor the one of the room check. Sizes of the things that are set
on the roof are common practice, no source: a can 66 mm by 123 mm, a bottle of half a litre 65 mm by 215 mm, a pouch of
rice or sand 70 mm by 40 mm.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from rungwright.domain.challenge import Challenge
from rungwright.domain.recommendation import CheckResult
from rungwright.domain.strict import Setting
from rungwright.domain.units import length_mm, mass
from rungwright.measure.form import HEIGHT_MM, Form
from rungwright.measure.forms import forms
from rungwright.measure.other_shelters import FOOT_RADIUS_MM, other_shelters
from rungwright.measure.room import SQUARES_MM
from rungwright.web.pictures import joined, tag

STICK_MM, ROLL_MM = 10.0, 14.0
"""Width of a craft stick seen from the front, and of a rolled-paper post."""
ITEMS_MM = {"bag": (70.0, 40.0), "can": (66.0, 123.0), "bottle": (65.0, 215.0)}
FIGURE_WIDTH_MM = 26.0
DOOR_MM = (40.0, 85.0)
_LEFT, _RIGHT, _BELOW = 92.0, 56.0, 44.0


@dataclass(frozen=True)
class Drawing:
    picture: Markup
    words: str


def drawing(challenge: Challenge, settings: Mapping[str, Setting], checks: list[CheckResult]) -> Drawing | None:
    """None where no form bears the weight, or where the challenge has none to draw."""
    named = next((check.numbers.get("form") for check in checks if check.kind == "load"), None)
    form = next((f for f in (*forms(), *other_shelters()) if f.id == named), None)
    if form is None:
        return None
    return _Sketch(challenge, settings, form).drawn()


def sizes_of(form: Form) -> tuple[float, float]:
    """Width at the foot and height [mm], as drawn."""
    width = 2 * FOOT_RADIUS_MM if _of_poles(form) else form.floor.outer_width
    return width, HEIGHT_MM if form.flat_roof else form.headroom + 6


def front_of(form: Form) -> Markup:
    """Walls, posts and roof from the front: x from the middle of the foot, y from the ground, upwards negative."""
    width, top = sizes_of(form)
    half = width / 2
    if not form.flat_roof:
        outline = f"M{-half:g} 0L0 {-top:g}L{half:g} 0"
        if form.kind == "arch":
            arch = f"M{-half:g} 0A{half:g} {top:g} 0 0 1 {half:g} 0"
            return tag("path", d=arch, class_="wall") + tag("path", d=arch, class_="cover")
        # Of poles that meet at a top, one is seen upright between the two at the sides.
        lean = outline + (f"M0 {-top:g}V0" if _of_poles(form) else "")
        return tag("path", d=outline, class_="wall") + tag("path", d=lean, class_="stick")
    wall = tag("rect", x=-half, y=-top + 6, width=width, height=top - 6, class_="wall")
    if form.kind == "box":
        sides = tag("path", d=f"M{-half:g} 0V{-top + 6:g}H{half:g}V0", class_="fold")
        return wall + sides + _roof(form, half, top)
    thick = STICK_MM if form.kind == "stick_frame" else ROLL_MM
    posts = [
        tag("rect", x=x, y=-top + 6, width=thick, height=top - 6, rx=1 if thick == STICK_MM else 6, class_="post")
        for x in (-half, half - thick)
    ]
    return wall + joined(posts) + _roof(form, half, top)


def _of_poles(form: Form) -> bool:
    return form.id.startswith("poles_")


def _roof(form: Form, half: float, top: float) -> Markup:
    cover = tag("path", d=f"M{-half - 4:g} {-top:g}H{half + 4:g}", class_="cover")
    if form.roof == "folded":
        n = 12
        points = [f"{-half + i * 2 * half / n:g} {-top + (6 if i % 2 else 0):g}" for i in range(n + 1)]
        return tag("path", d="M" + "L".join(points), class_="fold") + cover
    if form.roof == "rolls":
        rolls = [
            tag("circle", cx=-half + 8 + i * (2 * half - 16) / 3, cy=-top + 6, r=6, class_="post") for i in range(4)
        ]
        return joined(rolls) + cover
    return tag("rect", x=-half, y=-top, width=2 * half, height=6.0, class_="post") + cover


def pouch(x: float, y: float) -> Markup:
    """A pouch of rice or sand that stands at `y`."""
    wide, _ = ITEMS_MM["bag"]
    w = wide / 2
    shape = f"M{x - w:g} {y:g}c-4 -26 14 -38 {w:g} -38s{w + 4:g} 12 {w:g} 38z"
    return tag("path", d=shape, class_="weight")


class _Sketch:
    """The front of the build: x to the right from its middle, y up from the ground, in mm."""

    def __init__(self, challenge: Challenge, settings: Mapping[str, Setting], form: Form):
        self.challenge, self.settings, self.form = challenge, settings, form
        self.width, self.top = sizes_of(form)
        self.item = ITEMS_MM[str(settings.get("load_item", "bag"))]
        self.spots = int(settings.get("load_positions", 1))
        self.up = self.top + self.item[1] + 34

    def drawn(self) -> Drawing:
        words = self._words()
        shapes = [self._ground(), self._wind(), self._build(), self._figures(), self._weight(), self._sizes()]
        width, height = self.width + _LEFT + _RIGHT, self.up + _BELOW
        picture = tag(
            "svg",
            joined(shapes),
            class_="build-picture",
            viewBox=f"{-self.width / 2 - _LEFT:g} {-self.up:g} {width:g} {height:g}",
            role="img",
            aria_label=words,
        )
        return Drawing(picture, words)

    def _words(self) -> str:
        figures = self.settings.get("figure_count", 0)
        who = self.challenge.figure if figures == 1 else self.challenge.figures
        spots = "one spot" if self.spots == 1 else f"the first of {self.spots} spots"
        return (
            f"{self.form.label[:1].upper()}{self.form.label[1:]}, {length_mm(self.width)} wide and "
            f"{length_mm(self.top)} high, with {figures} {who} of {length_mm(self.challenge.figure_height_mm)} inside "
            f"and {mass(float(self.settings['load_mass_g']))} on {spots}."
        )

    def _ground(self) -> Markup:
        half = self.width / 2
        ground = tag("path", d=f"M{-half - _LEFT + 6:g} 0H{half + _RIGHT - 6:g}", class_="ground")
        if self.settings.get("base_tray") is not True:
            return ground
        return ground + tag("rect", x=-half - 22, y=0.0, width=self.width + 44, height=5.0, rx=2, class_="tray")

    def _build(self) -> Markup:
        thick = STICK_MM if self.form.kind == "stick_frame" else ROLL_MM
        beside_a_post = self.width / 2 - thick - DOOR_MM[0] - 4
        return front_of(self.form) + self._way_in(beside_a_post if self.form.flat_roof else 0.0)

    def _way_in(self, x: float) -> Markup:
        entry = self.settings.get("entry")
        if entry == "open_side" or not self.form.flat_roof:
            return Markup()
        door = tag("rect", x=x, y=-DOOR_MM[1], width=DOOR_MM[0], height=DOOR_MM[1], class_="door")
        if entry == "can_be_closed":
            door += tag("circle", cx=x + 6, cy=-DOOR_MM[1] / 2, r=2.5, class_="knob")
        return door

    def _figures(self) -> Markup:
        count, tall = int(self.settings.get("figure_count", 0)), self.challenge.figure_height_mm
        inside = self.form.width
        lying = self.settings.get("figure_standing") == "lying" and self.settings.get("room_each") == "lying"
        place = tall if lying else SQUARES_MM.get(str(self.settings.get("room_each")), SQUARES_MM["own_50mm"])
        columns = max(1, int(inside // place))
        drawn = []
        # Those behind first, so that the front row covers them.
        for i in reversed(range(count)):
            row, column = divmod(i, columns)
            x = -inside / 2 + (column + 0.5) * inside / columns + row * 7.0
            drawn.append(_figure(x, row * 5.0, tall, lying=lying, behind=row > 0, base=not lying))
        return joined(drawn)

    def _weight(self) -> Markup:
        half, (wide, high) = self.width / 2, self.item
        if not self.form.flat_roof:
            places = [0.0]
        else:
            places = [-half + (i + 0.5) * self.width / self.spots for i in range(self.spots)]
        x, top = places[0], -self.top - 1
        kind = str(self.settings.get("load_item", "bag"))
        if kind == "bag":
            body = pouch(x, top)
        else:
            body = tag("rect", x=x - wide / 2, y=top - high, width=wide, height=high, rx=6, class_="weight")
        said = mass(float(self.settings["load_mass_g"]), "metric")
        body += tag("text", said, x=x, y=top - 13, text_anchor="middle", class_="on-weight")
        marks = []
        for i, at in enumerate(places if self.spots > 1 else []):
            marks.append(tag("path", d=f"M{at - 5:g} {top + 9:g}h10l-5 -8z", class_="spot"))
            if i:
                marks.append(tag("path", d=f"M{at:g} {top - 3:g}v-16", class_="spot-line"))
                marks.append(tag("text", str(i + 1), x=at, y=top - 23, text_anchor="middle", class_="spot-number"))
        return body + joined(marks)

    def _wind(self) -> Markup:
        if "wind_sides" not in self.settings:
            return Markup()
        x = -self.width / 2 - _LEFT + 8
        gusts = joined([tag("path", d=f"M{x:g} {-y:g}c12 -7 18 7 30 0s18 7 30 0", class_="gust") for y in (30, 52, 74)])
        return gusts + tag("text", "wind", x=x, y=-88.0)

    def _sizes(self) -> Markup:
        half, top = self.width / 2, self.top
        across = tag("path", d=f"M{-half:g} 14v8M{half:g} 14v8M{-half:g} 18H{half:g}", class_="size")
        said = tag("text", length_mm(self.width), x=0, y=36, text_anchor="middle")
        x = half + 12
        upright = tag("path", d=f"M{x - 4:g} 0h8M{x - 4:g} {-top:g}h8M{x:g} 0V{-top:g}", class_="size")
        metric, inch = length_mm(top, "metric"), length_mm(top, "us")
        upright += tag("text", metric, x=x + 6, y=-top / 2 - 2) + tag("text", inch, x=x + 6, y=-top / 2 + 14)
        return across + said + upright


def _figure(x: float, lift: float, tall: float, *, lying: bool, behind: bool, base: bool) -> Markup:
    """A paper climber: head, body, and the folded base it stands on."""
    style = "figure behind" if behind else "figure"
    w, head = FIGURE_WIDTH_MM, tall * 0.15
    if lying:
        y = -lift - w / 2
        body = tag("rect", x=x - tall / 2, y=-lift - w * 0.8, width=tall - 2 * head, height=w * 0.7, rx=8, class_=style)
        return body + tag("circle", cx=x + tall / 2 - head, cy=y, r=head, class_=style)
    foot = -lift - (3 if base else 0)
    shoulder = foot - tall + 2 * head
    left, right, neck = x - w / 2, x + w / 2, w * 0.32
    body = f"M{left:g} {foot:g}L{x - neck:g} {shoulder + 8:g}q{neck:g} -14 {2 * neck:g} 0L{right:g} {foot:g}z"
    drawn = tag("path", d=body, class_=style) + tag("circle", cx=x, cy=foot - tall + head, r=head, class_=style)
    return drawn + (
        tag("rect", x=x - w * 0.7, y=-lift - 3, width=w * 1.4, height=3.0, class_=style) if base else Markup()
    )
