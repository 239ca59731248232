"""The build of an answer drawn to scale, from the front and from above: one unit of the picture is one millimetre."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from rungwright.domain.build import Build
from rungwright.domain.challenge import Challenge
from rungwright.domain.strict import Setting
from rungwright.domain.units import length_mm, mass
from rungwright.web.floor_view import depth_of, floor_of, spots_of
from rungwright.web.front_view import ITEMS_MM, door, figures_of, front_of, item, roof_at, width_of
from rungwright.web.pictures import joined, tag
from rungwright.web.saying import capital

# Margins in heights of a letter, so that letters are as large on a wide build as on a small one.
_LEFT, _BETWEEN, _RIGHT, _ABOVE, _BELOW, _IN_ALL = 4.2, 6.0, 1.0, 1.0, 4.0, 27.0


@dataclass(frozen=True)
class Drawing:
    picture: Markup
    words: str


def drawing(challenge: Challenge, settings: Mapping[str, Setting], build: Build | None) -> Drawing | None:
    """None where the kit makes no form that bears the weight."""
    return _Sketch(challenge, settings, build).drawn() if build else None


class _Sketch:
    def __init__(self, challenge: Challenge, settings: Mapping[str, Setting], build: Build):
        self.challenge, self.settings, self.build = challenge, settings, build
        self.width, self.depth, self.top = width_of(build), depth_of(build), build.height_mm
        self.item = str(settings.get("load_item", "bag"))
        self.letter = 2 * self.width / (_IN_ALL - _LEFT - _BETWEEN - _RIGHT)

    def drawn(self) -> Drawing:
        words, u, above = self._words(), self.letter, self.width + _BETWEEN * self.letter
        up = max(self.top + ITEMS_MM[self.item][1], self.depth) + _ABOVE * u
        shapes = [self._ground(), self._wind(), front_of(self.build), figures_of(self.build, self._tall())]
        shapes += [door(self.build.entry), self._weight(), self._sizes()]
        moved = tag("g", self._from_above(), transform=f"translate({above:g} {-self.depth / 2:g})")
        wide = 2 * self.width + (_LEFT + _BETWEEN + _RIGHT) * u
        picture = tag(
            "svg",
            tag("g", joined([*shapes, moved]), font_size=u),
            class_="build-picture two-views",
            viewBox=f"{-self.width / 2 - _LEFT * u:g} {-up:g} {wide:g} {up + _BELOW * u:g}",
            role="img",
            aria_label=words,
        )
        return Drawing(picture, words)

    def _tall(self) -> float:
        return self.challenge.figure_height_mm

    def _words(self) -> str:
        build, asked = self.build, int(self.settings.get("figure_count", 0))
        fit = len(build.figures)
        who = self.challenge.figure if asked == 1 else self.challenge.figures
        inside = f"{asked} {who}" if fit == asked else f"room for {fit} of {asked} {who}"
        spots = len(build.spots)
        on = "one spot" if spots == 1 else f"the first of {spots} spots"
        return (
            f"{capital(build.label)}, {length_mm(self.width)} wide, {length_mm(self.depth)} deep and "
            f"{length_mm(self.top)} high, with {inside} of {length_mm(self._tall())} inside "
            f"and {mass(float(self.settings['load_mass_g']))} on {on}."
        )

    def _ground(self) -> Markup:
        half, u = self.width / 2, self.letter
        ground = tag("path", d=f"M{-half - (_LEFT - 0.4) * u:g} 0H{half + 0.8 * u:g}", class_="ground")
        if self.settings.get("base_tray") is not True:
            return ground
        return ground + tag("rect", x=-half - 8, y=0.0, width=self.width + 16, height=5.0, rx=2, class_="tray")

    def _wind(self) -> Markup:
        if "wind_sides" not in self.settings:
            return Markup()
        u = self.letter
        x, step = -self.width / 2 - (_LEFT - 0.4) * u, self.top / 5
        gusts = [
            tag("path", d=f"M{x:g} {-step * i:g}q{0.7 * u:g} {-0.6 * u:g} {1.4 * u:g} 0t{1.4 * u:g} 0", class_="gust")
            for i in (1, 2, 3)
        ]
        return joined(gusts) + tag("text", "wind", x=x, y=-step * 4)

    def _weight(self) -> Markup:
        first = self.build.spots[0]
        foot = -roof_at(self.build, first.x_mm) - 1
        marks = [
            tag("path", d=f"M{x - 5:g} {-roof_at(self.build, x) + 10:g}h10l-5 -8z", class_="spot")
            for x in dict.fromkeys(spot.x_mm for spot in self.build.spots)
        ]
        said = mass(float(self.settings["load_mass_g"]), "metric")
        # Letters that fit the pouch.
        size = min(self.letter, 14.0)
        label = tag("text", said, x=first.x_mm, y=foot - 13, text_anchor="middle", class_="on-weight", font_size=size)
        return item(self.item, first.x_mm, foot) + label + joined(marks)

    def _sizes(self) -> Markup:
        half, top, u = self.width / 2, self.top, self.letter
        y = 0.9 * u
        across = f"M{-half:g} {y - 4:g}v8M{half:g} {y - 4:g}v8M{-half:g} {y:g}H{half:g}"
        x = half + 1.1 * u
        upright = f"M{x - 4:g} 0h8M{x - 4:g} {-top:g}h8M{x:g} 0V{-top:g}"
        words = [
            tag("text", length_mm(self.width), x=0, y=y + 1.3 * u, text_anchor="middle"),
            tag("text", "from the front", x=0, y=y + 2.6 * u, text_anchor="middle", class_="soft-text"),
            tag("text", length_mm(top, "metric"), x=x + 0.5 * u, y=-top / 2 - 0.2 * u),
            tag("text", length_mm(top, "us"), x=x + 0.5 * u, y=-top / 2 + 1.0 * u),
        ]
        return tag("path", d=across + upright, class_="size") + joined(words)

    def _from_above(self) -> Markup:
        """With its front on the ground line of the other view."""
        u = self.letter
        below = self.depth / 2 + 0.9 * u
        words = [
            tag("text", f"{length_mm(self.depth)} deep", x=0, y=below + 1.3 * u, text_anchor="middle"),
            tag("text", "from above", x=0, y=below + 2.6 * u, text_anchor="middle", class_="soft-text"),
        ]
        if self.build.entry:
            words.append(tag("text", "way in", x=0, y=below + 0.15 * u, text_anchor="middle", class_="soft-text"))
        return floor_of(self.build) + spots_of(self.build, u) + joined(words)
