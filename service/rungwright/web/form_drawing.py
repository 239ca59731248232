"""Reference forms of every family from the side, to scale: one unit is one millimetre, a pouch of 70 mm on top."""

from __future__ import annotations

import math

from markupsafe import Markup

from rungwright.domain.build import Build
from rungwright.domain.units import length_mm
from rungwright.measure.rafts import HULL_FREEBOARD_MM, HULL_SIDE_MM, Raft
from rungwright.measure.spans import BEARING_MM, PANEL_MM
from rungwright.measure.towers import PLATFORM_MM, TIER_MM
from rungwright.web.drawing import Drawing
from rungwright.web.front_view import ROLL_MM, STICK_MM, front_of, pouch, roof_at, width_of
from rungwright.web.pictures import joined, tag

DECKS_MM = {"flat": 3.0, "layers": 6.0, "box": 14.0, "rolls": 12.0, "folded": 10.0}
"""Height of a deck as it is drawn, by its form: sticks are 2 mm thick and 10 mm wide, rolls 12 mm."""
STRAW_MM = 6.0
_POUCH_ROOM = 44.0


def shelter_drawing(build: Build) -> Drawing:
    """With the weight on its first spot."""
    width, spot = width_of(build), build.spots[0]
    parts = [_ground(width), front_of(build), pouch(spot.x_mm, -roof_at(build, spot.x_mm) - 1)]
    return _drawn(parts, build.label, wide=width, high=build.height_mm)


def span_drawing(id: str, label: str, *, gap: float) -> Drawing:
    """Over a gap [mm], from bank to bank."""
    ends = gap / 2 + BEARING_MM
    banks = [tag("rect", x=x, y=0, width=50, height=40, class_="wall") for x in (-gap / 2 - 50, gap / 2)]
    if id == "span_truss":
        panels = math.ceil((gap + BEARING_MM) / PANEL_MM)
        step, rise = 2 * ends / panels, PANEL_MM * math.sin(math.pi / 3)
        feet = [-ends + i * step for i in range(panels + 1)]
        tops = [x + step / 2 for x in feet[:-1]]
        web = "".join(f"M{a:g} 0L{t:g} {-rise:g}L{b:g} 0" for a, t, b in zip(feet, tops, feet[1:], strict=False))
        lines = f"M{-ends:g} 0H{ends:g}{web}M{tops[0]:g} {-rise:g}H{tops[-1]:g}"
        deck, thick = tag("path", d=lines, class_="stick"), 3.0
        return _drawn([*banks, deck, pouch(0, -thick)], label, wide=gap, high=rise, below=40)
    thick = DECKS_MM[id.split("_")[1]]
    deck = tag("rect", x=-ends, y=-thick, width=2 * ends, height=thick, class_="post")
    inner = [f"M{-ends:g} {-thick * part:g}H{ends:g}" for part in ((1 / 3, 2 / 3) if "layers" in id else ())]
    parts = [*banks, deck, tag("path", d="".join(inner) or "M0 0", class_="fold"), pouch(0, -thick - 1)]
    return _drawn(parts, label, wide=gap, high=thick, below=40)


def tower_drawing(id: str, label: str, *, height: float) -> Drawing:
    """At least as high as asked [mm], in whole tiers."""
    tiers, rolled = math.ceil(height / TIER_MM), id == "tower_rolls"
    top, half, thick = tiers * TIER_MM, PLATFORM_MM / 2, ROLL_MM if rolled else STICK_MM
    posts = [-half, half - thick] + ([-thick / 2] if id.startswith("tower_3") else [])
    parts = [_ground(PLATFORM_MM)]
    parts += [tag("rect", x=x, y=-top, width=thick, height=top, rx=6 if rolled else 1, class_="post") for x in posts]
    lines = "".join(f"M{-half:g} {-i * TIER_MM:g}H{half:g}" for i in range(1, tiers))
    if id.endswith("braced"):
        lines += "".join(f"M{-half:g} {-i * TIER_MM:g}L{half:g} {-(i + 1) * TIER_MM:g}" for i in range(tiers))
    parts.append(tag("path", d=lines or "M0 0", class_="fold"))
    platform = tag("rect", x=-half - 6, y=-top - 4, width=PLATFORM_MM + 12, height=4, class_="post")
    return _drawn([*parts, platform, pouch(0, -top - 5)], label, wide=PLATFORM_MM, high=top + 4)


def raft_drawing(raft: Raft, label: str) -> Drawing:
    """As deep as it may lie: a deck to its top, a hull to the side that must stay dry."""
    half = raft.length_mm / 2
    if raft.id == "hull":
        high, under = HULL_SIDE_MM, HULL_SIDE_MM - HULL_FREEBOARD_MM
        body = tag("path", d=f"M{-half:g} {-high:g}V0H{half:g}V{-high:g}", class_="cover")
        stands = 0.0
    else:
        high = under = STRAW_MM if raft.id == "raft_straws" else 4.0
        body = tag("rect", x=-half, y=-high, width=2 * half, height=high, rx=high / 3, class_="post")
        stands = high
    y = -under
    water = "".join(f"M{x:g} {y:g}q6 -4 12 0t12 0" for x in (-half - 30, half + 6))
    return _drawn([body, tag("path", d=water, class_="gust"), pouch(0, -stands - 1)], label, wide=2 * half, high=high)


def _ground(width: float) -> Markup:
    return tag("path", d=f"M{-width / 2 - 30:g} 0H{width / 2 + 30:g}", class_="ground")


def _drawn(parts: list[Markup], label: str, *, wide: float, high: float, below: float = 0.0) -> Drawing:
    """With its width and height said beside it. `below`: what is drawn under the ground line."""
    whole = wide + 140
    # Letters as large on a wide or tall form as on a small one.
    size = max(whole / 22, (high + below + 100) / 14)
    half, x = wide / 2, wide / 2 + 58
    under = below + 6
    marks = f"M{-half:g} {under:g}v8M{half:g} {under:g}v8M{-half:g} {under + 4:g}H{half:g}"
    parts = [*parts, tag("path", d=marks, class_="size")]
    said = tag("text", length_mm(wide), x=0, y=under + 10 + size, text_anchor="middle", font_size=size)
    words = f"{label[:1].upper()}{label[1:]}, {length_mm(wide)} wide and {length_mm(high)} high."
    up = high + _POUCH_ROOM
    upright = tag("path", d=f"M{x - 4:g} 0h8M{x - 4:g} {-high:g}h8M{x:g} 0V{-high:g}", class_="size")
    down = under + 16 + size
    picture = tag(
        "svg",
        joined([*parts, said, upright]),
        class_="build-picture form-picture",
        viewBox=f"{-whole / 2:g} {-up:g} {whole:g} {up + down:g}",
        role="img",
        aria_label=words,
    )
    return Drawing(picture, words)
