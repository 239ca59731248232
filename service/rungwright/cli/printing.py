"""`rungwright print`."""

from __future__ import annotations

import os
from datetime import date, datetime
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any

import typer

from rungwright.cli.reading import problem_lines, request_from
from rungwright.cli.recommend import request_data
from rungwright.cli.terminal import BadInput, opened
from rungwright.domain.recommendation import Recommendation
from rungwright.recommend import RequestProblem
from rungwright.recommend import recommend as recommend_for
from rungwright.rulebase import CompiledRules
from rungwright.sheets import (
    Lesson,
    NotNeeded,
    NotPrintable,
    PaperName,
    SheetName,
    Wanted,
    calendar,
    kit_csv,
    printed,
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
    needed_by: str | None,
    starts: list[str],
) -> None:
    wanted = Wanted(
        paper=PaperName(paper),
        large=large,
        languages=tuple(part.strip() for part in language.split(",")),
        story=story,
        needed_by=_day(needed_by) if needed_by else None,
    )
    times = [_time(text) for text in starts]
    if what == CALENDAR and not times:
        raise BadInput("--start: tell when each lesson starts, for example --start 2026-12-01T09:15")
    with opened() as (_, rules):
        answer, units, where = answered(file, demo_name, rules)
        try:
            files = _files(Lesson(answer, rules.base, units, wanted), what, times)
        except NotPrintable as error:
            place = where if error.field in ("challenge", "section") else f"--{error.field}"
            raise BadInput(f"{place}: {error}") from None
    # Everything is made before anything is written.
    for name, content in files.items():
        typer.echo(_written(to, name, content))


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


def _written(folder: Path, name: str, content: bytes) -> Path:
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
