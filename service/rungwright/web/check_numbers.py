"""The numbers of a check in words, with their units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rungwright.domain.strict import Setting
from rungwright.web.section_form import ROLES

_TIMES = "times what is needed"
SAID: Mapping[str, tuple[str, str]] = {
    "weight_g": ("The weight", "g"),
    "margin_low": ("It bears at least", _TIMES),
    "margin": ("It bears, in the middle", _TIMES),
    "margin_high": ("It bears at most", _TIMES),
    "fails_first": ("What gives way first", ""),
    "sticks_needed": ("Sticks that it takes", ""),
    "sheets_needed": ("Sheets that it takes", ""),
    "tape_needed_cm": ("Tape that it takes", "cm"),
    "build_g": ("The build", "g"),
    "face_cm2": ("Its face to the wind", "cm²"),
    "reference_g": ("The box that sets the wind", "g"),
    "slides_first": ("It slides before it tips over", ""),
    "cover_cm2": ("The cover", "cm²"),
    "roof_cm2": ("The roof, overlaps included", "cm²"),
    "cover_ratio": ("The cover reaches", "times over the roof"),
    "strokes": ("Strokes of the sprayer", ""),
    "stroke_ml": ("Water in a stroke", "ml"),
    "depth_mm_low": ("Rain on the roof, at least", "mm"),
    "depth_mm_high": ("Rain on the roof, at most", "mm"),
    "rate_mm_h": ("Rate of the rain", "mm in an hour"),
    "rain": ("As steady rain it is", ""),
    "shower": ("As a shower it is", ""),
    "fits": ("Figures that fit", ""),
    "wanted": ("Figures that must fit", ""),
    "floor_width_mm": ("Floor, across", "mm"),
    "floor_depth_mm": ("Floor, deep", "mm"),
    "headroom_mm": ("Under the roof", "mm"),
    "lessons": ("Lessons", ""),
    "needed": ("Needed", ""),
    "available": ("There", ""),
    "there": ("There", ""),
    "spare": ("To spare", ""),
    "short": ("Too few", ""),
    "test_minutes": ("Testing", ""),
    "fixed": ("Rules, talk and tidying up", ""),
    "plan": ("Planning", ""),
    "build": ("Building", ""),
    "redesign": ("Improving", ""),
    "extra": ("Other parts", ""),
    "set_aside": ("Set aside", ""),
    "groups": ("Groups", ""),
}
"""Key of a number -> its words and its unit."""
LACKS = "short_"
_NONE = frozenset({"extra", "set_aside", "short"})
_MINUTES = frozenset({"needed", "available", "spare", "test_minutes", "fixed", "plan", "build", "redesign", "extra",
                      "set_aside"})  # fmt: skip


def in_words(kind: str, numbers: Mapping[str, Setting | None]) -> Iterator[tuple[str, str]]:
    """Label and value of each, in their order.

    The id of the form is left out, as its name is said anyway, and so is what there is none of.
    """
    for key, value in numbers.items():
        if key == "form" or (value == 0 and (key in _NONE or key.startswith(LACKS))):
            continue
        if key.startswith(LACKS):
            label, unit = f"{ROLES.get(role := key.removeprefix(LACKS), role.replace('_', ' '))} too few", ""
        else:
            label, unit = SAID.get(key, (key.replace("_", " ").capitalize(), ""))
        if kind == "time" and key in _MINUTES:
            unit = "minutes"
        yield label, f"{_number(value)} {unit}".strip()


def _number(value: Setting | None) -> str:
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return said_short(value) if isinstance(value, (int, float)) else value


def said_short(value: float) -> str:
    """Two figures below ten, three below a hundred, then whole numbers: the ranges are wide."""
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.2g}" if abs(value) < 10 else f"{value:.3g}"
