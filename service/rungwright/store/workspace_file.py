"""A workspace as one JSON file, to take it elsewhere: read again, it is the same to the last digit.

Needs are never in it, nor what would tell of them: answers that were worked out with needs and access settings of
runs stay behind. Keys and the log do too.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from datetime import date, datetime
from typing import Any

from pydantic import TypeAdapter, ValidationError
from sqlalchemy import Column, Date, Table, func, insert, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.keeping import Choice, LessonState
from rungwright.domain.recommendation import Explanation, Recommendation
from rungwright.domain.section import Section
from rungwright.store.answers import EVERYONE
from rungwright.store.callers import Caller
from rungwright.store.errors import StoreError
from rungwright.store.tables import Base, WorkspaceRow
from rungwright.store.types import Held, Moment

FORMAT, VERSION = "rungwright workspace", 2
"""Version 1 had no ladders and no own lines; it is still read."""

# Tables in the order of their references, and of each the columns that name an entry of the file.
_PARTS: dict[str, dict[str, str]] = {
    "cupboards": {},
    "sections": {"cupboard_id": "cupboards", "follows_id": "sections"},
    "runs": {"section_id": "sections"},
    "past_runs": {"run_id": "runs"},
    "lessons": {"section_id": "sections", "cupboard_id": "cupboards"},
    "answers": {"section_id": "sections"},
    "decisions": {"place": "answers"},
    "ladders": {},
    "past_ladders": {"ladder_id": "ladders"},
    "rung_places": {"ladder_id": "ladders", "section_id": "sections"},
    "own_lines": {"section_id": "sections"},
}
_SINCE_2 = ("ladders", "past_ladders", "rung_places", "own_lines")
_LEFT_OUT = {"workspace_id", "owner_id", "reader"}
_KEYS = {name: "id" for name in _PARTS} | {
    "answers": "place",
    "past_runs": "run_id",
    "past_ladders": "ladder_id",
    "rung_places": "ladder_id",
}
_CHECKED: dict[tuple[str, str], Callable[[str], Any]] = {
    ("lessons", "state"): LessonState,
    ("decisions", "choice"): Choice,
    ("answers", "answer"): lambda text: Recommendation.model_validate_json(text, by_alias=True),
    ("answers", "explanation"): Explanation.model_validate_json,
}
"""What must be more than a text."""


class BadFile(StoreError):
    """The file cannot be read in. Nothing of it was."""


def export(session: Session, caller: Caller, *, hidden: Collection[str]) -> dict[str, Any]:
    """`hidden`: access levers, whose settings would tell of needs."""
    workspace = session.get(WorkspaceRow, caller.workspace)
    data: dict[str, Any] = {"format": FORMAT, "version": VERSION, "label": workspace.label}
    for name in _PARTS:
        table = Base.metadata.tables[name]
        query = select(table).where(table.c.workspace_id == caller.workspace)
        if name == "answers":
            query = query.where(table.c.reader == EVERYONE)
        if name == "decisions":
            open_places = [answer["place"] for answer in data["answers"]]
            query = query.where(table.c.place.in_(open_places))
        rows = session.execute(query.order_by(*table.primary_key)).mappings()
        data[name] = [_without(hidden, {c.name: _said(c, row[c.name]) for c in _columns(table)}) for row in rows]
    told = {answer["id"] for answer in data["answers"]}
    for lesson in data["lessons"]:
        # The id of an answer that stays behind is a digest of needs, among others.
        lesson["recommendation_id"] = lesson["recommendation_id"] if lesson["recommendation_id"] in told else None
    return data


def read_in(session: Session, caller: Caller, data: Any, *, owner: str | None = None) -> dict[str, int]:
    """Add what is in a file to the caller's workspace; entries by part. Raises BadFile, and then nothing was added.

    `owner`: the key that the sections belong to from now on.
    """
    data = _check_shape(data)
    rows = {name: [dict(_row(name, i, row)) for i, row in enumerate(data[name])] for name in _PARTS}
    _check_references(rows)
    for name, found in rows.items():
        table = Base.metadata.tables[name]
        key = table.c[_KEYS[name]]
        if there := session.scalar(select(func.min(key)).where(key.in_([row[key.name] for row in found]))):
            raise BadFile(f"/{name}: {there} is here already; forget it first")
        for row in found:
            row["workspace_id"] = caller.workspace
            row |= {"owner_id": owner} if name == "sections" else {}
            row |= {"reader": EVERYONE} if name == "answers" else {}
        try:
            if found:
                session.execute(insert(table), found)
        except IntegrityError:
            raise BadFile(f"/{name}: two entries are the same, or one does not fit the others") from None
    return {name: len(found) for name, found in rows.items()}


def _columns(table: Table) -> list[Column]:
    return [column for column in table.columns if column.name not in _LEFT_OUT]


def _said(column: Column, value: Any) -> Any:
    if isinstance(column.type, Held):
        return None if value is None else column.type.plain(value)
    return value.isoformat() if isinstance(value, date | datetime) else value


def _without(hidden: Collection[str], row: dict[str, Any]) -> dict[str, Any]:
    """Settings stand in `settings` of a run and in those of its body."""
    for part in (row, row.get("body")):
        if isinstance(part, dict) and isinstance(part.get("settings"), dict):
            part["settings"] = {k: v for k, v in part["settings"].items() if k not in hidden}
    return row


def _check_shape(data: Any) -> dict[str, Any]:
    """The file in the form of today."""
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise BadFile("this is not a workspace that Rungwright has exported")
    if data.get("version") not in (1, VERSION):
        raise BadFile(f"/version: {data.get('version')!r} cannot be read; this program reads 1 and {VERSION}")
    if data["version"] == 1:
        if more := sorted(set(_SINCE_2) & set(data)):
            raise BadFile(f"/{more[0]}: is not known in version 1")
        data = {**data, **{name: [] for name in _SINCE_2}}
    for name in _PARTS:
        if not isinstance(data.get(name), list):
            raise BadFile(f"/{name}: must be a list")
    if more := sorted(set(data) - {*_PARTS, "format", "version", "label"}):
        raise BadFile(f"/{more[0]}: is not known here")
    return data


def _row(name: str, i: int, row: Any) -> Iterator[tuple[str, Any]]:
    columns = _columns(Base.metadata.tables[name])
    if not isinstance(row, dict) or set(row) != {c.name for c in columns}:
        raise BadFile(f"/{name}/{i}: has other fields than it should")
    for column in columns:
        value = row[column.name]
        try:
            if value is not None or not column.nullable:
                value = _read(column, value)
                _CHECKED.get((name, column.name), str)(value)
            yield column.name, value
        except (ValidationError, ValueError) as error:
            first = error.errors()[0] if isinstance(error, ValidationError) else {"loc": (), "msg": str(error)}
            at = "/".join(map(str, (name, i, column.name, *first["loc"])))
            raise BadFile(f"/{at}: {first['msg']}") from None


def _read(column: Column, value: Any) -> Any:
    if isinstance(column.type, Held):
        found = column.type.from_plain(value)
        section = found.section if isinstance(found, RecommendationRequest) else found
        if isinstance(section, Section) and section.supports:
            raise ValueError("supports never stand in such a file")
        return found
    if isinstance(column.type, Moment):
        found = datetime.fromisoformat(_strict(str, value))
        if found.tzinfo is None:
            raise ValueError("must have a time zone")
        return found
    if isinstance(column.type, Date):
        return date.fromisoformat(_strict(str, value))
    checked = _strict(column.type.python_type, value)
    if isinstance(checked, str) and "\0" in checked:
        raise ValueError("must not hold the character NUL")
    length = getattr(column.type, "length", None)
    if length and len(checked) > length:
        raise ValueError(f"must have at most {length} characters")
    return checked


def _strict(kind: type, value: Any) -> Any:
    return TypeAdapter(kind).validate_python(value, strict=True)


def _check_references(rows: dict[str, list[dict[str, Any]]]) -> None:
    """What an entry names is in the file itself: never an entry of somebody else's workspace."""
    known = {name: {row[_KEYS[name]] for row in found} for name, found in rows.items()}
    for name, references in _PARTS.items():
        for i, row in enumerate(rows[name]):
            for column, other in references.items():
                if row[column] is not None and row[column] not in known[other]:
                    raise BadFile(f"/{name}/{i}/{column}: there is no {row[column]!r} in {other}")
