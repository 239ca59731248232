"""A ladder as rising steps, each as high as it asks more, with the sections that stand on it."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from rungwright.web.pictures import joined, tag

_WIDE, _LOWEST, _RISE = 150.0, 74.0, 150.0
"""Width of a step, height of the lowest one, and how much higher the highest is."""
_LINE, _FLAG = 15.0, 18.0
_LETTERS, _LINES, _FLAGS = 20, 3, 6
"""Letters and lines of a name, flags on one step: what has room."""


@dataclass(frozen=True)
class Step:
    """`demand` only sets the height; `sections`: labels of those that stand here."""

    name: str
    demand: float
    sections: Sequence[str]


def steps(found: Sequence[Step]) -> Markup:
    """Steps from the gentlest to the hardest."""
    low = min(step.demand for step in found)
    span = max(max(step.demand for step in found) - low, 1e-9)
    tall = [_LOWEST + (step.demand - low) / span * _RISE if len(found) > 1 else _LOWEST for step in found]
    top = max(high + _FLAG * (min(len(s.sections), _FLAGS + 1) + 1) for high, s in zip(tall, found, strict=True)) + 6
    drawn = [_drawn(i, step, top, high) for i, (step, high) in enumerate(zip(found, tall, strict=True))]
    width = _WIDE * len(found)
    ground = tag("path", d=f"M0 {top:g}H{width:g}", class_="ground")
    told = "; ".join(_words(i, step) for i, step in enumerate(found))
    return tag(
        "svg",
        joined([*drawn, ground]),
        class_="build-picture steps-picture",
        viewBox=f"0 0 {width:g} {top + 2:g}",
        role="img",
        aria_label=f"Steps from the gentlest to the hardest. {told}.",
    )


def _words(place: int, step: Step) -> str:
    on_it = f", with {', '.join(step.sections)}" if step.sections else ""
    return f"{place + 1}: {step.name}{on_it}"


def _drawn(place: int, step: Step, ground: float, tall: float) -> Markup:
    x, tread = place * _WIDE, ground - tall
    block = tag("rect", x=x, y=tread, width=_WIDE, height=tall, class_="wall")
    edge = tag("path", d=f"M{x:g} {ground:g}V{tread:g}H{x + _WIDE:g}", class_="tread")
    lines = textwrap.wrap(step.name, _LETTERS, max_lines=_LINES, placeholder=" …")
    name = [tag("text", text, x=x + 12, y=tread + 38 + i * _LINE, class_="step-name") for i, text in enumerate(lines)]
    number = tag("text", str(place + 1), x=x + 12, y=tread + 21, class_="step-number")
    return block + edge + number + joined(name) + _flags(step.sections, x + 14, tread)


def _flags(labels: Sequence[str], x: float, tread: float) -> Markup:
    """One pole with a flag a section; more than there is room for are counted."""
    if not labels:
        return Markup()
    shown = list(labels[:_FLAGS]) + ([f"and {len(labels) - _FLAGS} more"] if len(labels) > _FLAGS else [])
    tops = [tread - _FLAG * (len(shown) - i) - 6 for i in range(len(shown))]
    pole = tag("path", d=f"M{x:g} {tread:g}V{tops[0] - 2:g}", class_="pole")
    flags = [tag("path", d=f"M{x:g} {y:g}h12l-4 5 4 5h-12z", class_="flag") for y in tops]
    words = [
        tag("text", textwrap.shorten(label, 19, placeholder="…") or label[:18] + "…", x=x + 17, y=y + 9)
        for label, y in zip(shown, tops, strict=True)
    ]
    return pole + joined([*flags, *words])
