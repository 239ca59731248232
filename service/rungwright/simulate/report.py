"""What a simulation found, as a table and as a plot."""

from __future__ import annotations

from collections.abc import Mapping

from rungwright.pictures import Row, dots_with_ranges
from rungwright.simulate.play import Score
from rungwright.simulate.worlds import WORLDS

TEACHERS = {
    "recommended": "as recommended",
    "never_change": "never change",
    "same_change": "always the same change",
    "rule_of_thumb": "last result, rule of thumb",
}

BOUNDS = {
    "same_change_hindsight": "one change, by hindsight",
    "knows_results": "knows the results and every effect",
    "knows_past": "knows the truth of all lessons before",
    "knows_all": "knows the truth of the lesson to come",
}
"""Those that know what no teacher can."""

HONEST = (
    "The model judges itself: classes, lessons and truth are invented with the same kind of model that recommends. "
    "Where real classes differ from every world here, it will do worse."
)

Scores = Mapping[tuple[str, str], Score]


def table(scores: Scores) -> list[str]:
    """Markdown: a row for each world and teacher."""
    lines = [
        "| world | pitched | lessons | in the band | 95 % range | below half | range holds |",
        "|---|---|---|---|---|---|---|",
    ]
    for (world, teacher), s in scores.items():
        low, high = s.in_band_sure
        held = "" if s.covered is None else f"{s.covered:.2f}"
        lines.append(
            f"| {world} | {(TEACHERS | BOUNDS)[teacher]} | {s.lessons} | {s.in_band:.2f} | {low:.2f} to {high:.2f} "
            f"| {s.below_half:.2f} | {held} |"
        )
    return lines


def plot(scores: Scores) -> str:
    """SVG: the share of lessons that truly landed in the band, by world and teacher."""
    worlds = list(dict.fromkeys(world for world, _ in scores))
    rows = [
        Row(
            world.replace("_", " "),
            {TEACHERS[t]: (scores[world, t].in_band, *scores[world, t].in_band_sure) for t in TEACHERS},
        )
        for world in worlds
    ]
    says = " ".join(
        f"{WORLDS[world].says.capitalize()}: "
        + ", ".join(f"{TEACHERS[t]} {scores[world, t].in_band:.2f}" for t in TEACHERS)
        + "."
        for world in worlds
    )
    return dots_with_ranges(
        rows,
        title="Lessons that truly landed in the band, in invented schools",
        says=f"{says} {HONEST}",
        scale="share of lessons that truly landed in the band, with its 95 % range",
    )
