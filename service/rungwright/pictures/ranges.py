"""Dots with ranges: one row for each thing compared, several kinds of dots in a row."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from rungwright.pictures.svg import INK, Drawing

LEFT, RIGHT, ROW, TOP = 150.0, 24.0, 46.0, 40.0
WIDTH = 720.0
SHAPES = ("full", "square", "ring", "cross")
"""Kinds are told apart by shape, not by colour."""


@dataclass(frozen=True)
class Row:
    """`values` kind -> (value, low, high), all on one scale from 0 to 1."""

    label: str
    values: Mapping[str, tuple[float, float, float]]


def dots_with_ranges(rows: Sequence[Row], *, title: str, says: str, scale: str) -> str:
    """SVG of the rows; at most four kinds, the same in every row. `scale` names what 0 to 1 is."""
    kinds = list(rows[0].values)
    height = TOP + ROW * len(rows) + 40
    drawing = Drawing(WIDTH, height, title=title, says=says)
    across = WIDTH - LEFT - RIGHT
    x = 8.0
    for i, kind in enumerate(kinds):
        _mark(drawing, SHAPES[i], x + 6, 14)
        drawing.text(x + 18, 19, kind, size=13)
        x += 44 + 6.6 * len(kind)
    for tenth in range(0, 11, 2):
        x = LEFT + across * tenth / 10
        drawing.line(x, TOP - 6, x, height - 36, opacity=0.2)
        drawing.text(x, height - 20, f"{tenth / 10:g}", anchor="middle", size=12)
    drawing.text(LEFT + across / 2, height - 4, scale, anchor="middle", size=12)
    for r, row in enumerate(rows):
        drawing.text(LEFT - 12, TOP + ROW * r + ROW / 2 + 2, row.label, anchor="end", size=13)
        for k, kind in enumerate(kinds):
            value, low, high = row.values[kind]
            y = TOP + ROW * r + 8 + k * (ROW - 14) / len(kinds)
            drawing.line(LEFT + across * low, y, LEFT + across * high, y, width=2, opacity=0.45)
            _mark(drawing, SHAPES[k], LEFT + across * value, y)
    return str(drawing)


def _mark(drawing: Drawing, shape: str, x: float, y: float) -> None:
    if shape == "square":
        drawing.add("rect", x=x - 4, y=y - 4, width=8, height=8, fill=INK)
    elif shape == "cross":
        drawing.add("path", d=f"M {x - 4:g} {y - 4:g} l 8 8 m 0 -8 l -8 8", stroke=INK, stroke_width=2, fill="none")
    else:
        drawing.dot(x, y, 4.5, filled=shape == "full")
