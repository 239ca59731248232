"""The commands. Each imports what it needs when it runs, so that starting is quick and help is quicker."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from rungwright.cli.check import calibrate, check
from rungwright.cli.data import COMMANDS
from rungwright.cli.keys import keys
from rungwright.cli.ladder import ladder
from rungwright.cli.rules import rules
from rungwright.cli.terminal import Commands

app = typer.Typer(
    name="rungwright",
    cls=Commands,
    help="Pitch a hands-on engineering challenge for each class section.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.add_typer(ladder)
app.add_typer(rules)
app.add_typer(keys)
app.add_typer(check)
app.add_typer(calibrate)
for name, command in COMMANDS.items():
    app.command(name)(command)


# The words of a request, said again: importing the models would cost every command half a second.
class Direction(StrEnum):
    EASIER = "easier"
    FIT = "fit"
    HARDER = "harder"


class Units(StrEnum):
    METRIC = "metric"
    US = "us"
    BOTH = "both"


def _version(wanted: bool) -> None:
    if wanted:
        from rungwright import __version__

        typer.echo(f"rungwright {__version__}")
        raise typer.Exit


@app.callback()
def options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    pass


@app.command()
def recommend(
    file: Annotated[str | None, typer.Argument(help="A request in JSON or YAML; - reads standard input.")] = None,
    demo: Annotated[str | None, typer.Option(help="Use a request that comes with the program: grade_4_harder.")] = None,
    direction: Annotated[Direction | None, typer.Option(help="Ask for this instead of what the request asks.")] = None,
    units: Annotated[Units | None, typer.Option(help="Say quantities so.")] = None,
    weights: Annotated[Path | None, typer.Option(help="Use these learnt weights, made by `learn`.")] = None,
    json: Annotated[bool, typer.Option("--json", help="Print the whole answer as JSON.")] = False,
    why: Annotated[bool, typer.Option("--why", help="Show the proof of each reason and what each rule said.")] = False,
) -> None:
    """Recommend changes for one section, with reasons."""
    from rungwright.cli.recommend import run

    run(
        file,
        demo,
        direction=direction and str(direction),
        units=units and str(units),
        weights=weights,
        as_json=json,
        why=why,
    )


class What(StrEnum):
    BRIEF = "brief"
    RECORD = "record"
    FIGURES = "figures"
    STATIONS = "stations"
    CALLS = "calls"
    QUESTIONS = "questions"
    DISCUSSION = "discussion"
    LETTER = "letter"
    TEACHER = "teacher"
    KIT = "kit"
    CALENDAR = "calendar"
    ALL = "all"


class Paper(StrEnum):
    LETTER = "letter"
    A4 = "a4"


@app.command("print")
def print_(
    what: Annotated[What, typer.Argument(help="The sheet; all prints every one that the lesson needs.")],
    file: Annotated[str | None, typer.Argument(help="A request in JSON or YAML; - reads standard input.")] = None,
    to: Annotated[Path, typer.Option(help="Folder to write to; it is made if it is not there.")] = Path("."),
    demo: Annotated[str | None, typer.Option(help="Use a request that comes with the program: grade_4_harder.")] = None,
    paper: Annotated[Paper, typer.Option(help="Size of the paper.")] = Paper.LETTER,
    large: Annotated[bool, typer.Option("--large", help="Large print, from 18 points.")] = False,
    language: Annotated[
        str, typer.Option(help="en or es; en,es puts both side by side. The teacher's own pages are in English.")
    ] = "en",
    story: Annotated[
        int, typer.Option(help="Which of the challenge's stories is told; 2 where the first may hurt.")
    ] = 1,
    edits: Annotated[
        str | None,
        typer.Option(help="Your own lines, JSON or YAML: by sheet and language, reword, remove and add."),
    ] = None,
    lines: Annotated[
        bool, typer.Option("--lines", help="Show the lines of the sheet with their ids, and write nothing.")
    ] = False,
    needed_by: Annotated[str | None, typer.Option(help="Day for the letter to families: 2026-12-01.")] = None,
    start: Annotated[
        list[str] | None,
        typer.Option(help="Start of a lesson for the calendar: 2026-12-01T09:15; once for each lesson."),
    ] = None,
) -> None:
    """Print the lesson: PDFs at true scale, the kit as a table, the lessons as calendar events."""
    from rungwright.cli.printing import run

    run(
        str(what),
        file,
        demo,
        to,
        paper=str(paper),
        large=large,
        language=language,
        story=story,
        edits=edits,
        lines=lines,
        needed_by=needed_by,
        starts=start or [],
    )


@app.command()
def late(
    minutes_left: Annotated[float, typer.Option(help="Minutes until tidying up has to begin.")],
    file: Annotated[str | None, typer.Argument(help="A request in JSON or YAML; - reads standard input.")] = None,
    untested: Annotated[int | None, typer.Option(help="Groups that are still untested; all if not told.")] = None,
    demo: Annotated[str | None, typer.Option(help="Use a request that comes with the program: grade_4_harder.")] = None,
) -> None:
    """Tell what the untested groups can still do alike when the lesson runs late."""
    from rungwright.cli.late import run

    run(file, demo, minutes_left=minutes_left, untested=untested)


@app.command()
def batch(
    file: Annotated[str, typer.Argument(help="Requests as a JSON list or NDJSON; - reads standard input.")],
) -> None:
    """Recommend for many sections: one line of NDJSON for each request, in order."""
    from rungwright.cli.batch import run

    run(file)


@app.command()
def learn(
    files: Annotated[
        list[str], typer.Argument(help="Sections with their runs in JSON or YAML; - reads standard input.")
    ],
    to: Annotated[Path | None, typer.Option(help="Write the learnt weights to this file.")] = None,
) -> None:
    """Learn from your own runs how much each lever moves a challenge. The starting guesses stay as they are."""
    from rungwright.cli.learn import run

    run(files, to)


@app.command()
def simulate(
    world: Annotated[
        list[str] | None, typer.Option(help="A world to teach in, for example as_assumed; all if left out.")
    ] = None,
    schools: Annotated[int, typer.Option(min=1, max=100, help="Invented schools in each world.")] = 1,
    classes: Annotated[int, typer.Option(min=2, max=500, help="Classes of each school.")] = 12,
    weeks: Annotated[int, typer.Option(min=1, max=40, help="Weeks, with one challenge in each.")] = 6,
    seed: Annotated[int, typer.Option(min=0, help="The same seed plays the same lessons.")] = 1,
    learn: Annotated[bool, typer.Option(help="Learn from the school's own runs every third week.")] = True,
    bounds: Annotated[
        bool, typer.Option(help="Play those too that know what no teacher can: how much could be reached at all.")
    ] = False,
    to: Annotated[Path | None, typer.Option(help="Write a plot (SVG) to this file.")] = None,
) -> None:
    """Play invented classes with a known truth, and count how many lessons land where they were meant to."""
    from rungwright.cli.simulate import run
    from rungwright.simulate.play import Sizes

    run(world or [], Sizes(schools, classes, weeks), seed=seed, learn=learn, with_bounds=bounds, to=to)


@app.command()
def serve(
    host: Annotated[
        str, typer.Option(help="Address to listen on; any other than this computer's own needs keys.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=0, max=65535, help="Port; 0 takes a free one.")] = 8000,
) -> None:
    """Serve the pages and the HTTP interface, and keep sections, cupboards, runs and answers."""
    from rungwright.cli.serve import run

    run(host, port)


@app.command()
def doctor() -> None:
    """Tell what is installed, which engine runs and why, and whether the rule base is sound."""
    from rungwright.cli.doctor import run

    run()


@app.command()
def contract(
    to: Annotated[Path | None, typer.Option(help="Write to this file instead of the screen.")] = None,
) -> None:
    """Print the OpenAPI contract."""
    from rungwright.api.app import create_app
    from rungwright.api.contract import text
    from rungwright.cli.terminal import opened

    with opened() as (settings, prepared):
        written = text(create_app(settings, prepared))
    if to:
        to.write_text(written, encoding="utf-8")
    else:
        typer.echo(written, nl=False)
