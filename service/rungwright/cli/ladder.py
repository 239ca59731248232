"""`rungwright ladder`: draft, check, show, place, compare, merge and print ladders, in files or kept."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from rungwright.cli.kept_ladder import COMMANDS
from rungwright.cli.ladder_source import before_and_now, labels, ladder_data, standing_on, state_of
from rungwright.cli.terminal import NOT_SOUND, BadInput, opened, say

if TYPE_CHECKING:
    from pydantic import BaseModel

    from rungwright.domain.ladder import Ladder
    from rungwright.domain.ladder_request import LadderCheckRequest
    from rungwright.rulebase import CompiledRules

ladder = typer.Typer(
    name="ladder", help="Draft, check and share one set of rungs.", no_args_is_help=True, rich_markup_mode=None
)

File = Annotated[
    str,
    typer.Argument(help="A ladder's file, - for standard input, or the id of one that is kept; ID:2 as published."),
]
Json = Annotated[bool, typer.Option("--json", help="Print the whole answer as JSON.")]
To = Annotated[Path | None, typer.Option("--to", help="Write the ladder to this file, to keep and share.")]


@ladder.command()
def draft(
    file: Annotated[str | None, typer.Argument(help="A request in JSON or YAML; - reads standard input.")] = None,
    challenge: Annotated[str | None, typer.Option(help="Which challenge.")] = None,
    grades: Annotated[str | None, typer.Option(help="Lowest and highest grade, such as K-12 or 3-5.")] = None,
    rungs: Annotated[int | None, typer.Option(help="Exactly so many rungs.")] = None,
    to: To = None,
    json: Json = False,
) -> None:
    """Draft a ladder over grades, or from a request around a section's version."""
    from rungwright.api.ladders import drafted
    from rungwright.cli.ladder_text import answer_told
    from rungwright.domain.ladder_request import LadderDraftRequest

    data = _data(file) if file else {}
    if isinstance(data, dict):
        given = {"challenge": challenge, "grades": _span(grades), "rungs": rungs}
        data = {**data, **{k: v for k, v in given.items() if v is not None}}
        if not file:
            data.setdefault("challenge", "shelter")
            if "grades" not in data:
                raise BadInput("give --grades, such as --grades K-12, or a request file")
    answer = _answer(LadderDraftRequest, data, _where(file), drafted)
    _finish(answer, answer.ladder, to, json, answer_told)


@ladder.command()
def check(
    file: File,
    edits: Annotated[str | None, typer.Option(help="A file with a list of edits to make first, in order.")] = None,
    to: To = None,
    json: Json = False,
) -> None:
    """Check a ladder, after edits if there are any; tells what is to be mended."""
    from rungwright.api.ladders import checked
    from rungwright.cli.ladder_text import problems_told
    from rungwright.domain.ladder_request import LadderCheckRequest

    data = {"ladder": ladder_data(file), "edits": _data(edits) if edits else []}
    answer = _answer(LadderCheckRequest, data, _where(file), checked, {"/ladder": file, "/edits": edits or "edits"})
    _finish(answer, answer.ladder, to, json, problems_told)
    if not answer.report.sound:
        raise typer.Exit(NOT_SOUND)


@ladder.command()
def show(file: File, to: To = None, json: Json = False) -> None:
    """Show the rungs as steps, each with what it newly asks and why."""
    from rungwright.api.ladders import checked
    from rungwright.cli.ladder_text import answer_told
    from rungwright.domain.ladder_request import LadderCheckRequest

    answer = _answer(LadderCheckRequest, {"ladder": ladder_data(file)}, _where(file), checked, {"/ladder": file})
    _finish(answer, answer.ladder, to, json, answer_told)
    if not json and (now := state_of(file)):
        say(now)


@ladder.command()
def place(
    file: File,
    sections: Annotated[
        str | None,
        typer.Argument(help="A list of sections with what they ran on which rung; those of a kept ladder are kept."),
    ] = None,
    json: Json = False,
) -> None:
    """Place sections on rungs, pool results by rung, add up the kit of all."""
    from rungwright.api.ladders import placed
    from rungwright.cli.ladder_text import placement_told, standing_told
    from rungwright.domain.ladder_request import LadderPlaceRequest

    if sections is None:
        return _finish(standing_on(file), None, None, json, standing_told)
    told = _data(sections)
    data = {"ladder": ladder_data(file), **(told if isinstance(told, dict) else {"sections": told})}
    answer = _answer(LadderPlaceRequest, data, _where(file), placed, {"/ladder": file, "/sections": sections})
    _finish(answer, None, None, json, placement_told)


@ladder.command()
def compare(
    first: File,
    second: Annotated[str | None, typer.Argument(help="As FIRST; left out, FIRST as published before.")] = None,
    json: Json = False,
) -> None:
    """Tell what differs between two ladders of one challenge."""
    from rungwright.api.ladders import compared
    from rungwright.cli.ladder_text import comparison_told
    from rungwright.domain.ladder_request import LadderCompareRequest

    if second is None:
        data = dict(zip(("first", "second"), before_and_now(first), strict=True))
    else:
        data = {"first": ladder_data(first), "second": ladder_data(second)}
    answer = _answer(LadderCompareRequest, data, "", compared, {"/first": first, "/second": second or first})
    _finish(answer, None, None, json, comparison_told)


@ladder.command()
def merge(base: File, first: File, second: File, to: To = None, json: Json = False) -> None:
    """Put two edits of one ladder together; BASE is what both started from."""
    from rungwright.api.ladders import merged
    from rungwright.cli.ladder_text import merge_told
    from rungwright.domain.ladder_request import LadderMergeRequest

    data = {"base": ladder_data(base), "first": ladder_data(first), "second": ladder_data(second)}
    places = {"/base": base, "/first": first, "/second": second}
    answer = _answer(LadderMergeRequest, data, "", merged, places)
    _finish(answer, answer.ladder, to, json, merge_told)
    if answer.conflicts:
        raise typer.Exit(NOT_SOUND)


@ladder.command("print")
def print_(
    file: File,
    to: Annotated[Path, typer.Option("--to", help="Folder for the PDFs.")] = Path("."),
    paper: Annotated[str, typer.Option(help="letter or a4.")] = "letter",
    large: Annotated[bool, typer.Option("--large", help="The hand-out in large print.")] = False,
    language: Annotated[
        str, typer.Option(help="en or es: the language of the wall chart, which students read.")
    ] = "en",
) -> None:
    """Print a chart for the wall and a hand-out for teachers."""
    from rungwright.api.ladders import checked
    from rungwright.cli.printing import written
    from rungwright.domain.ladder_request import LadderCheckRequest
    from rungwright.recommend.problem import unknown
    from rungwright.sheets import LadderSheet, NotPrintable, PaperName, ladder_printed

    if paper not in set(PaperName):
        raise BadInput(f"--paper: {unknown('', 'paper', paper, [p.value for p in PaperName]).detail}")
    data, sections = {"ladder": ladder_data(file), "units": "both"}, labels(file)

    def work(request: LadderCheckRequest, rules: CompiledRules) -> dict[str, bytes]:
        answer, files = checked(request, rules), {}
        for name in LadderSheet:
            look = {"language": language} if name == LadderSheet.WALL_CHART else {"large": large, "sections": sections}
            files[f"{name.value}.pdf"] = ladder_printed(
                name, answer.ladder, answer.report, rules.base, paper=PaperName(paper), **look
            )
        return files

    try:
        made = _answer(LadderCheckRequest, data, _where(file), work, {"/ladder": file})
    except NotPrintable as error:
        raise BadInput(f"{'--language' if error.field == 'language' else _where(file)}: {error}") from None
    for name, content in made.items():
        typer.echo(written(to, name, content))


for name, command in COMMANDS.items():
    ladder.command(name)(command)


def _span(grades: str | None) -> list[str] | None:
    if grades is None:
        return None
    parts = [part.strip() for part in grades.split("-")]
    if len(parts) == 1:
        parts *= 2
    if len(parts) != 2 or not all(parts):
        raise BadInput(f"--grades {grades!r}: give the lowest and the highest grade, such as K-12 or 3-5")
    return parts


def _data(file: str) -> Any:
    from rungwright.cli.reading import read_data

    return read_data(file)


def _where(file: str | None) -> str:
    from rungwright.cli.reading import name_of

    return name_of(file) if file else "the options"


def _answer(model: type[BaseModel], data: Any, where: str, work: Callable, files: dict[str, str] | None = None) -> Any:
    """Raises BadInput with a line for each field that is wrong, under the name of the file that it stands in."""
    from rungwright.api.fields import validate
    from rungwright.cli.reading import name_of
    from rungwright.recommend import FieldProblem, RequestProblem

    def lines(problems: Sequence[FieldProblem]) -> list[str]:
        told = []
        for p in problems:
            at, name = p.pointer, where
            for start, file in (files or {}).items():
                if at == start or at.startswith(start + "/"):
                    at, name = at.removeprefix(start), name_of(file)
            told.append(": ".join(part for part in (name, at, p.detail) if part))
        return told

    request = validate(model, data)
    if isinstance(request, list):
        raise BadInput(*lines(request))
    with opened() as (_, rules):
        try:
            return work(request, rules)
        except RequestProblem as error:
            raise BadInput(*lines(error.problems)) from None


def _finish(answer: Any, document: Ladder | None, to: Path | None, as_json: bool, told: Callable) -> None:
    if to and document:
        _write(to, document)
    if as_json:
        typer.echo(answer.model_dump_json(by_alias=True, indent=2))
    else:
        say(told(answer))


def _write(path: Path, document: Ladder) -> None:
    """The whole file or none of it."""
    from rungwright.ladders.share import written

    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "w", encoding="utf-8") as stream:
            stream.write(written(document))
        os.chmod(name, 0o644)
        os.replace(name, path)
    except OSError as error:
        raise BadInput(f"{path}: cannot be written: {error.strerror or error}") from None
