"""`rungwright simulate`."""

from __future__ import annotations

import sys
from pathlib import Path

import typer

from rungwright.cli.terminal import BadInput, opened, say, wrapped
from rungwright.recommend.problem import unknown
from rungwright.simulate.bounds import bounds
from rungwright.simulate.play import BAND, Sizes, play, scores
from rungwright.simulate.report import HONEST, plot, table
from rungwright.simulate.worlds import WORLDS


def run(names: list[str], sizes: Sizes, *, seed: int, learn: bool, with_bounds: bool, to: Path | None) -> None:
    for name in names:
        if name not in WORLDS:
            raise BadInput(unknown("", "world", name, WORLDS).detail)
    worlds = [WORLDS[name] for name in names] or list(WORLDS.values())
    played_each = sizes.lessons * (1 + len(bounds(BAND)) * with_bounds)
    with (
        opened() as (_, rules),
        typer.progressbar(length=played_each * len(worlds), label="Lessons", file=sys.stderr) as bar,
    ):
        played = play(
            worlds,
            sizes,
            rules,
            seed=seed,
            learn_every=3 if learn else None,
            with_bounds=with_bounds,
            tick=lambda: bar.update(1),
        )
    found = scores(played)
    if to:
        try:
            to.write_text(plot(found) + "\n", encoding="utf-8")
        except OSError as error:
            raise BadInput(f"{to}: cannot be written: {error.strerror or error}") from None
    lines = [*table(found), ""]
    lines += [wrapped(f"{world.name}: {world.says}", 2, "-") for world in worlds]
    say([*lines, "", wrapped(HONEST)])
