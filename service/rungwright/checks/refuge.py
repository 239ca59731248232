"""One refuge as columns, for the checks of a section: the levers that they look at, and nothing of a rule base."""

from __future__ import annotations

from functools import cache

from rungwright.domain.lever import Lever
from rungwright.domain.strict import Setting
from rungwright.measure.columns import Columns, columns

NUMBERS = ("rigid_pieces", "sheets", "joiner_length_cm", "load_mass_g", "load_positions", "figure_count")
WORDS = {
    "load_place": ("builder", "marked", "drawn", "tester"),
    "load_item": ("bag", "can", "bottle"),
    "room_each": ("lying", "own_50mm", "own_70mm", "own_100mm"),
}
"""The settings of the built-in levers of these names; a test holds them equal."""


@cache
def _levers() -> dict[str, Lever]:
    common = {"kind": "challenge", "meaning": "of one check", "monotone": False, "touches": []}
    numbers = {
        name: Lever(id=name, label=name, type="number", settings=[0, 1], quantity="minutes", **common)
        for name in NUMBERS
    }
    words = {
        name: Lever(id=name, label=name, type="word", settings=list(said), words={w: w for w in said}, **common)
        for name, said in WORDS.items()
    }
    return {**numbers, **words}


def refuge_columns(**settings: Setting) -> Columns:
    """One version with these settings, all of NUMBERS and WORDS."""
    return columns(_levers(), [settings])
