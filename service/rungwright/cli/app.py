"""The commands. Each imports what it needs when it runs, so that starting is quick and help is quicker."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from rungwright.cli.keys import keys
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
app.add_typer(rules)
app.add_typer(keys)


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
