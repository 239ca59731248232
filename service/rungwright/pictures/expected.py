"""A dot a group: how many groups are expected to meet every criterion, and how sure that is."""

from __future__ import annotations

from math import ceil

from rungwright.pictures.svg import Drawing

A_ROW = 12
STEP, RADIUS = 34.0, 12.0


def groups_expected(*, groups: int, low: int, high: int, sentence: str) -> str:
    """SVG with one dot for each group: full up to `low`, half full up to `high`, a ring beyond.

    Parameters: `groups` 1..60; `low` <= `high`, the central 80 % of counts; `sentence` says the same in words. Raises
    ValueError where the counts are not in order.
    """
    if not 0 <= low <= high <= groups or groups < 1:
        raise ValueError(f"{low} to {high} of {groups} groups are no counts in order")
    across, rows = min(groups, A_ROW), ceil(groups / A_ROW)
    key = [
        (kind, words)
        for kind, words, count in (
            ("full", "expected to meet every criterion", low),
            ("half", "could go either way", high - low),
            ("ring", "not expected to", groups - high),
        )
        if count
    ]
    width = max(across * STEP, 280.0)
    says = f"{sentence} {_in_words(groups, low, high)}"
    drawing = Drawing(
        width, rows * STEP + 24 * len(key) + 8, title="Groups expected to meet every criterion", says=says
    )
    for i in range(groups):
        row, column = divmod(i, A_ROW)
        _mark(drawing, "full" if i < low else "half" if i < high else "ring", column * STEP + STEP / 2, row * STEP + 17)
    for i, (kind, words) in enumerate(key):
        y = rows * STEP + 24 * i + 18
        _mark(drawing, kind, 12, y - 4, radius=6)
        drawing.text(26, y, words, size=13)
    return str(drawing)


def _mark(drawing: Drawing, kind: str, x: float, y: float, radius: float = RADIUS) -> None:
    if kind == "half":
        drawing.half_dot(x, y, radius)
    else:
        drawing.dot(x, y, radius, filled=kind == "full")


def _in_words(groups: int, low: int, high: int) -> str:
    noun = "group" if groups == 1 else "groups"
    if low == high:
        return f"{low} of {groups} {noun} is most likely."
    return f"Anywhere from {low} to {high} of {groups} {noun} would be no surprise."
