"""`rungwright print`."""

from __future__ import annotations

import os
from datetime import date, datetime
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any

import typer

from rungwright.api.fields import validate
from rungwright.cli.reading import name_of, problem_lines, read_data, request_from
from rungwright.cli.recommend import request_data
from rungwright.cli.terminal import BadInput, opened, say
from rungwright.domain.recommendation import Recommendation
from rungwright.recommend import RequestProblem
from rungwright.recommend import recommend as recommend_for
from rungwright.recommend.problem import FieldProblem, unknown
from rungwright.rulebase import CompiledRules
from rungwright.sheets import (
    Edits,
    Lesson,
    NotNeeded,
    NotPrintable,
    PaperName,
    SheetName,
    Wanted,
    calendar,
    kit_csv,
    lines_of,
    printed,
    sheets_of,
    waiting,
)

NEEDED = ("timetable", "kit", "brief")
CALENDAR, ALL = "calendar", "all"


def run(
    what: str,
    file: str | None,
    demo_name: str | None,
    to: Path,
    *,
    paper: str,
    large: bool,
    language: str,
    story: int,
    edits: str | None,
    lines: bool,
    needed_by: str | None,
    starts: list[str],
) -> None:
    wanted = Wanted(
        paper=PaperName(paper),
        large=large,
        languages=tuple(part.strip() for part in language.split(",")),
        story=story,
        needed_by=_day(needed_by) if needed_by else None,
        edits=_edits(edits) if edits else {},
    )
    times = [_time(text) for text in starts]
    if what == CALENDAR and not times:
        raise BadInput("--start: tell when each lesson starts, for example --start 2026-12-01T09:15")
    with opened() as (_, rules):
        answer, units, where = answered(file, demo_name, rules)
        try:
            lesson = Lesson(answer, rules.base, units, wanted)
            if lines:
                say(_shown(lesson, what))
                return
            files = _files(lesson, what, times)
        except NotPrintable as error:
            place = where if error.field in ("challenge", "section") else f"--{error.field}"
            raise BadInput(f"{place}: {error}") from None
        _told_waiting(lesson)
    # Everything is made before anything is written.
    for name, content in files.items():
        typer.echo(written(to, name, content))


def answered(file: str | None, demo_name: str | None, rules: CompiledRules) -> tuple[Recommendation, Any, str]:
    """The answer with all that sheets need, its units, and where the request stands. Raises BadInput."""
    data, where = request_data(file, demo_name)
    if isinstance(data, dict) and isinstance(data.get("include", []), list):
        include = data.get("include", [])
        data = {**data, "include": include + [part for part in NEEDED if part not in include]}
    request = request_from(data, where)
    try:
        return recommend_for(request, rules), request.units.value, where
    except RequestProblem as error:
        raise BadInput(*problem_lines(where, error.problems)) from None


def _shown(lesson: Lesson, what: str) -> list[str]:
    """Each line that may be edited, under its sheet and language. Raises NotPrintable."""
    shown = []
    for name in SheetName if what == ALL else [SheetName(what)] if what != CALENDAR else []:
        for sheet in sheets_of(lesson, name):
            shown.append(f"{sheet.name} {sheet.language}")
            shown += [f"  {line.id}: {line.text}" + (" (stays)" if line.fixed else "") for line in lines_of(sheet)]
    return shown


def _edits(file: str) -> dict[tuple[str, str], Edits]:
    """Edits by sheet and language. Raises BadInput."""
    data = read_data(file)
    sheets = [name.value for name in SheetName]
    found = {}
    if not isinstance(data, dict):
        raise BadInput(f"{name_of(file)}: sheets map to languages, and languages to changes")
    for sheet, languages in data.items():
        if sheet not in sheets or not isinstance(languages, dict):
            raise BadInput(*problem_lines(name_of(file), [unknown(f"/{sheet}", "sheet", sheet, sheets)]))
        for language, changes in languages.items():
            made = validate(Edits, changes)
            if isinstance(made, list):
                places = [FieldProblem(f"/{sheet}/{language}{p.pointer}", p.detail) for p in made]
                raise BadInput(*problem_lines(name_of(file), places))
            found[sheet, language] = made
    return found


def _told_waiting(lesson: Lesson) -> None:
    """Changes of lines that are not on the sheet now are kept in the file, and told."""
    for (name, language), edits in lesson.wanted.edits.items():
        for sheet in sheets_of(lesson, SheetName(name)):
            if sheet.language == language and (ids := waiting(sheet, edits)):
                typer.echo(f"Not on the {name} now, so not changed: {', '.join(ids)}.", err=True)


def _files(lesson: Lesson, what: str, times: list[datetime]) -> dict[str, bytes]:
    """Names and contents. Raises NotPrintable."""
    files: dict[str, bytes] = {}
    if what not in (ALL, CALENDAR):
        files[f"{what}.pdf"] = printed(lesson, SheetName(what))
    if what == ALL:
        for name in SheetName:
            try:
                files[f"{name}.pdf"] = printed(lesson, name)
            except NotNeeded as error:
                typer.echo(f"No {name}: {error}.", err=True)
    if what in (ALL, SheetName.KIT):
        files["kit.csv"] = kit_csv(lesson).encode()
    if times and what in (ALL, CALENDAR):
        files["lesson.ics"] = calendar(lesson.answer, times)
    return files


def written(folder: Path, name: str, content: bytes) -> Path:
    """Write a file whole or not at all. Raises BadInput."""
    path = folder / name
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with NamedTemporaryFile(dir=folder, prefix=f".{name}.", delete=False) as part:
            part.write(content)
        os.chmod(part.name, 0o666 & ~_umask())
        os.replace(part.name, path)
    except OSError as error:
        raise BadInput(f"{path}: cannot be written: {error.strerror or error}") from None
    return path


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(f"--needed-by: {text!r} is not a day; write it as 2026-12-01") from None


def _time(text: str) -> datetime:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        raise BadInput(f"--start: {text!r} is not a time; write it as 2026-12-01T09:15") from None
