"""Pictures: line drawings of the criteria, the climbers, and bars that are worked out from the timetable.

All are SVG in black and grey, so that any printer can show them. Lengths are in millimetres.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from html import escape
from pathlib import Path

from rungwright.domain.recommendation import Phase

_FOLDER = Path(__file__).parent / "pictures"
_FILLS = {"test": "#c8c8c8", "test_again": "#c8c8c8", "build": "#ffffff"}
_BAR_HEIGHT = 14.0
_LETTER_MM, _NUMBER_MM = 1.5, 6.0  # room a letter and a start minute take


@cache
def picture(name: str) -> str:
    """A drawing of the folder. Raises FileNotFoundError."""
    return (_FOLDER / f"{name}.svg").read_text(encoding="utf-8")


# Figures: outlines on a grid of 30 by 75, the feet at the bottom.
_POSES = (
    # arms down
    "M15 1.5a6.5 6.5 0 0 1 3.6 11.9l-.2 1.6c4.6.4 6.6 2.6 7 7l1.4 17.5c.2 2.8-3.6 3.3-4.1.5L21 27.5l-.3 13.5 2.1 29.5"
    "c.2 4-6.2 4.3-6.7.3L15 48l-1.1 22.8c-.5 4-6.9 3.7-6.7-.3L9.3 41 9 27.5 7.3 40c-.5 2.8-4.3 2.3-4.1-.5L4.6 22"
    "c.4-4.4 2.4-6.6 7-7l-.2-1.6A6.5 6.5 0 0 1 15 1.5z",
    # one arm up, waving
    "M15 1.5a6.5 6.5 0 0 1 3.6 11.9l-.2 1.6c1.8.2 3.2.6 4.2 1.4L25 5c.6-2.8 4.4-2 4 .8l-2.2 15c-.3 2-1.6 3-3.4 3.2"
    "l-2.6 1-.1 16 2.1 29.5c.2 4-6.2 4.3-6.7.3L15 48l-1.1 22.8c-.5 4-6.9 3.7-6.7-.3L9.3 41 9 27.5 7.3 40"
    "c-.5 2.8-4.3 2.3-4.1-.5L4.6 22c.4-4.4 2.4-6.6 7-7l-.2-1.6A6.5 6.5 0 0 1 15 1.5z",
    # hands on the hips
    "M15 1.5a6.5 6.5 0 0 1 3.6 11.9l-.2 1.6c3.6.3 5.6 1.5 6.4 4.2l3 8.3c.4 1.2.1 2.2-.8 3L21 36.2l-.3 4.8 2.1 29.5"
    "c.2 4-6.2 4.3-6.7.3L15 48l-1.1 22.8c-.5 4-6.9 3.7-6.7-.3L9.3 41 9 36.2 3 30.5c-.9-.8-1.2-1.8-.8-3l3-8.3"
    "c.8-2.7 2.8-3.9 6.4-4.2l-.2-1.6A6.5 6.5 0 0 1 15 1.5z",
)
_ARMS_AKIMBO = "M8.8 22.8 5.3 28.6 9.2 33.2zM21.2 22.8l3.5 5.8-3.9 4.6z"
_HELMET = "M8.6 6.4a6.6 6.6 0 0 1 12.8 0zM7.8 6.4h14.4M9.2 38.6h11.5"
_EARS = "M9.6 4.6 8.2.6l4 1.6M20.4 4.6 21.8.6l-4 1.6"
HEADS = (_HELMET, _EARS)
"""By story: climbers wear a helmet and a belt, animals have ears."""
_FACE = (
    '<g fill="#000" stroke="none"><circle cx="12.7" cy="7.4" r=".7"/><circle cx="17.3" cy="7.4" r=".7"/></g>'
    '<path d="M12.6 10.3c1.5 1.3 3.3 1.3 4.8 0" fill="none" stroke="#000" stroke-width=".5" stroke-linecap="round"/>'
)
GRID = (30.0, 75.0)
POSES = 2 * len(_POSES)
"""Each pose and its mirror image."""


def figure(pose: int, *, story: int, height: float, width: float, foot: float | None) -> str:
    """A climber, or whoever the story shelters, to cut out: `width` by `height`, plus half of `foot` below it where
    there is a foot to fold.

    The cutting line is the box around the outline: straight cuts suit small hands.
    """
    below = foot / 2 if foot else 0.0
    x, y = width / GRID[0], height / GRID[1]
    turned = pose % POSES >= len(_POSES)
    put = f"translate({width:g} 0) scale({-x:g} {y:g})" if turned else f"scale({x:g} {y:g})"
    inner = _ARMS_AKIMBO if pose % len(_POSES) == len(_POSES) - 1 else ""
    parts = [
        f'<rect x=".15" y=".15" width="{width - 0.3:g}" height="{height + below - 0.3:g}" fill="#fff" stroke="#000" '
        'stroke-width=".3"/>',
        f'<g transform="{put}" fill="#fff" stroke="#000" stroke-width=".6" stroke-linejoin="round">'
        f'<path d="{_POSES[pose % len(_POSES)]}"/><path d="{HEADS[story % len(HEADS)]}{inner}"/>{_FACE}</g>',
    ]
    if foot:
        parts += [
            f'<path d="M0 {height:g}H{width:g}" stroke="#000" stroke-width=".35"/>',
            f'<path d="M{width / 2:g} {height:g}V{height + below:g}" stroke="#000" stroke-width=".35" '
            'stroke-dasharray="1.5 1"/>',
        ]
    return svg(width, height + below, "".join(parts))


def bars(phases: Sequence[Phase], *, minutes: float, width: float) -> str:
    """One lesson's phases in a row, `width` wide for `minutes`; tests are grey, what runs past the end is hatched."""
    end = max([minutes, *(p.start + p.minutes for p in phases)])
    scale = width / end
    parts, told_to = [], 0.0
    for phase in phases:
        x, wide = phase.start * scale, phase.minutes * scale
        fill = _FILLS.get(phase.phase, "#ececec")
        parts.append(
            f'<rect x="{x:.2f}" y="4" width="{wide:.2f}" height="9" fill="{fill}" stroke="#000" stroke-width=".3"/>'
        )
        bell = minutes * scale if end > minutes else 2 * width
        if x >= told_to and not 0 <= bell - x < _NUMBER_MM:  # a start is told where there is room for it
            parts.append(f'<text x="{x + 0.4:.2f}" y="3.1" font-size="2.6">{phase.start:g}</text>')
            told_to = x + _NUMBER_MM
        middle, wide = _clear_of(bell, x, wide)
        named = len(phase.label) * _LETTER_MM < wide
        if named:
            parts.append(
                f'<text x="{middle:.2f}" y="7.6" font-size="2.8" text-anchor="middle">{escape(phase.label)}</text>'
            )
        y = 11.6 if named else 9.7
        parts.append(f'<text x="{middle:.2f}" y="{y}" font-size="3.4" text-anchor="middle">{phase.minutes:g}</text>')
    if end > minutes:
        parts.append(
            f'<path d="M{minutes * scale:.2f} 3.6V{_BAR_HEIGHT}" stroke="#000" stroke-width=".8" '
            'stroke-dasharray="1.5 1"/>'
            f'<text x="{minutes * scale:.2f}" y="3.1" font-size="2.6" text-anchor="middle">{minutes:g}</text>'
        )
    return svg(width, _BAR_HEIGHT, "".join(parts))


def _clear_of(bell: float, x: float, wide: float) -> tuple[float, float]:
    """Middle and width of the part of a bar that can be written on: the larger one beside the line of the bell."""
    if not x < bell < x + wide:
        return x + wide / 2, wide
    before, after = bell - x, x + wide - bell
    return (x + before / 2, before) if before >= after else (bell + after / 2, after)


def svg(width: float, height: float, body: str) -> str:
    size = f'width="{width:g}mm" height="{height:g}mm" viewBox="0 0 {width:g} {height:g}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} font-family="Atkinson Hyperlegible">{body}</svg>'
