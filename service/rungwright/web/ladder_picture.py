"""A ladder as rising steps, each as high as it asks more, with the sections that stand on it."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from rungwright.web.pictures import joined, tag

_WIDE, _LOWEST, _RISE = 160.0, 74.0, 150.0
"""Width of a step, height of the lowest one, and how much higher the highest is."""
_LINE, _FLAG = 15.0, 18.0
_LETTERS, _LINES, _FLAGS, _FLAG_LETTERS = 20, 3, 6, 21
"""Letters and lines of a name, flags on one step, letters of a flag: what has room."""


@dataclass(frozen=True)
class Step:
    """`demand` only sets the height; `sections`: labels of those that stand here."""

    name: str
    demand: float
    sections: Sequence[str]


def steps(found: Sequence[Step], *, beside: Sequence[float] = ()) -> Markup:
    """Steps from the gentlest to the hardest. `beside`: demands of another ladder that is drawn to the same scale."""
    low = min(*(step.demand for step in found), *beside, math.inf)
    span = max(*(step.demand for step in found), *beside, -math.inf) - low
    tall = [_LOWEST + (step.demand - low) / (span or 1) * _RISE for step in found]
    top = max(high + _FLAG * (min(len(s.sections), _FLAGS + 1) + 1) for high, s in zip(tall, found, strict=True)) + 6
    drawn = [_drawn(i, step, top, high) for i, (step, high) in enumerate(zip(found, tall, strict=True))]
    width = _WIDE * len(found)
    stairs = "".join(f"V{top - high:g}H{(i + 1) * _WIDE:g}" for i, high in enumerate(tall))
    edge = tag("path", d=f"M0 {top:g}{stairs}V{top:g}", class_="tread")
    ground = tag("path", d=f"M-6 {top:g}H{width + 6:g}", class_="ground")
    told = "; ".join(_words(i, step) for i, step in enumerate(found))
    return tag(
        "svg",
        joined([*(block for block, _ in drawn), edge, ground, *(words for _, words in drawn)]),
        class_="build-picture steps-picture"
        + (" many" if len(found) > 3 else "")
        + (" fits" if len(found) < 8 else ""),
        viewBox=f"-6 0 {width + 12:g} {top + 4:g}",
        width=width + 12,
        role="img",
        aria_label=f"Steps from the gentlest to the hardest. {told}.",
    )


def _words(place: int, step: Step) -> str:
    on_it = f", with {', '.join(step.sections)}" if step.sections else ""
    return f"{place + 1}: {step.name}{on_it}"


def _drawn(place: int, step: Step, ground: float, tall: float) -> tuple[Markup, Markup]:
    """The block, and what stands on it."""
    x, tread = place * _WIDE, ground - tall
    block = tag("rect", x=x, y=tread, width=_WIDE, height=tall, class_="wall")
    lines = textwrap.wrap(step.name, _LETTERS, max_lines=_LINES, placeholder=" …")
    name = [tag("text", text, x=x + 12, y=tread + 38 + i * _LINE, class_="step-name") for i, text in enumerate(lines)]
    number = tag("text", str(place + 1), x=x + 12, y=tread + 21, class_="step-number")
    return block, number + joined(name) + _flags(step.sections, x + 16, tread)


def _flags(labels: Sequence[str], x: float, tread: float) -> Markup:
    """One pole with a flag a section; more than there is room for are counted."""
    if not labels:
        return Markup()
    shown = list(labels[:_FLAGS]) + ([f"and {len(labels) - _FLAGS} more"] if len(labels) > _FLAGS else [])
    tops = [tread - _FLAG * (len(shown) - i) - 6 for i in range(len(shown))]
    pole = tag("path", d=f"M{x:g} {tread:g}V{tops[0] - 2:g}", class_="pole")
    flags = [tag("path", d=f"M{x:g} {y:g}h12l-4 5 4 5h-12z", class_="flag") for y in tops]
    words = [tag("text", _cut(label), x=x + 17, y=y + 9) for label, y in zip(shown, tops, strict=True)]
    return pole + joined([*flags, *words])


def _cut(label: str) -> str:
    return label if len(label) <= _FLAG_LETTERS else label[: _FLAG_LETTERS - 1].rstrip() + "…"
