"""Classes and their sizes from a roster in the OneRoster CSV format: counts and grades, never a person.

Only `classes.csv` and `enrollments.csv` are opened. Ids of users are counted and dropped; nothing of them is returned.

Source: 1EdTech, OneRoster 1.1 and 1.2, CSV tables (names of files and columns, values of `status` and `role`, grades
as CEDS codes, UTF-8, quoting as in RFC 4180). Common practice, no source: files also have a byte order mark, grades
such as `K`, `3` and `K-5`, and columns in another order.
"""

from __future__ import annotations

import csv
import io
import stat
import zipfile
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import IO

from rungwright.domain.grades import GRADE_CODES, grade_code, grade_number

CLASSES, ENROLLMENTS = "classes.csv", "enrollments.csv"
_COLUMNS = {
    CLASSES: ("sourcedId", "status", "title", "grades"),
    ENROLLMENTS: ("classSourcedId", "userSourcedId", "role", "status"),
}
MOST_BYTES = 64 * 1024 * 1024
"""Of one of the two files, read: a district of 100,000 enrollments has some 20 MB."""
MOST_FILES = 200
MOST_TOLD = 200
"""Rows told one by one; the rest are counted."""
_MOST_FIELD = 10_000


class BadRoster(ValueError):
    """It cannot be read as a roster; says which file, and the line where there is one."""


@dataclass(frozen=True)
class RosterClass:
    """`id` is the school's own for the class; `grades` empty where the roster says none."""

    id: str
    line: int
    title: str
    grades: tuple[str, ...]
    students: int


@dataclass(frozen=True)
class Skipped:
    file: str
    line: int
    why: str


@dataclass
class Roster:
    classes: list[RosterClass] = field(default_factory=list)
    rows: Counter[str] = field(default_factory=Counter)
    """rows read, by file"""
    skipped: list[Skipped] = field(default_factory=list)
    passed_over: Counter[str] = field(default_factory=Counter)
    """rows that are as they should be but not of students in class, by reason"""

    def skip(self, file: str, line: int, why: str) -> None:
        if len(self.skipped) < MOST_TOLD:
            self.skipped.append(Skipped(file, line, why))
        else:
            self.passed_over[f"{file}: more rows that cannot be used"] += 1


def read_roster(where: Path | bytes) -> Roster:
    """A folder, a zip file, or the bytes of one. Raises BadRoster, OSError."""
    roster = Roster()
    with _opened(where) as files:
        students = _students(files[ENROLLMENTS], roster)
        seen: set[str] = set()
        for row, line in _rows(CLASSES, files[CLASSES], roster):
            if row["sourcedId"] in seen:
                roster.skip(CLASSES, line, "this sourcedId stands twice; the first one counts")
                continue
            seen.add(row["sourcedId"])
            _class(row, line, students, roster)
    return roster


def _class(row: dict[str, str], line: int, students: dict[str, set[str]], roster: Roster) -> None:
    if not row["sourcedId"] or not row["title"]:
        roster.skip(CLASSES, line, "a class needs a sourcedId and a title")
        return
    count = len(students.get(row["sourcedId"], ()))
    if not 1 <= count <= 60:
        why = "no students are enrolled" if not count else f"{count} students are enrolled; a section has 60 at most"
        roster.skip(CLASSES, line, why)
        return
    try:
        grades = _grades(row["grades"])
    except ValueError as error:
        roster.skip(CLASSES, line, str(error))
        return
    roster.classes.append(RosterClass(row["sourcedId"], line, row["title"][:80], grades, count))


def _students(stream: IO[bytes], roster: Roster) -> dict[str, set[str]]:
    """class -> users enrolled as students; they are counted and go no further."""
    found: dict[str, set[str]] = defaultdict(set)
    for row, line in _rows(ENROLLMENTS, stream, roster):
        if row["role"] != "student":
            roster.passed_over[f"{ENROLLMENTS}: not a student"] += 1
        elif not row["classSourcedId"] or not row["userSourcedId"]:
            roster.skip(ENROLLMENTS, line, "an enrollment needs a class and a user")
        else:
            found[row["classSourcedId"]].add(row["userSourcedId"])
    return found


def _rows(name: str, stream: IO[bytes], roster: Roster) -> Iterator[tuple[dict[str, str], int]]:
    """Rows in use, with their lines. Raises BadRoster."""
    text = io.TextIOWrapper(_Limited(stream, name), encoding="utf-8-sig", newline="")
    csv.field_size_limit(_MOST_FIELD)
    reader = csv.reader(text, strict=True)
    try:
        header = next(reader, [])
        for column in _COLUMNS[name]:
            if header.count(column) != 1:
                raise BadRoster(f"{name}: line 1: the column {column!r} is missing or stands twice")
        places = {column: header.index(column) for column in _COLUMNS[name]}
        line = reader.line_num + 1
        for values in reader:
            here, line = line, reader.line_num + 1
            if not values:
                continue
            roster.rows[name] += 1
            if len(values) != len(header):
                roster.skip(name, here, f"it has {len(values)} fields, the header {len(header)}")
                continue
            row = {column: values[at].strip() for column, at in places.items()}
            if row["status"] == "tobedeleted":
                roster.passed_over[f"{name}: to be deleted"] += 1
            elif row["status"] not in ("", "active"):
                roster.skip(name, here, "its status is neither blank, active nor tobedeleted")
            else:
                yield row, here
    except UnicodeDecodeError:
        raise BadRoster(f"{name}: it is not UTF-8") from None
    except csv.Error as error:
        raise BadRoster(f"{name}: line {reader.line_num}: {error}") from None


def _grades(text: str) -> tuple[str, ...]:
    """`03`, `03,04`, `K`, `K-5`; blank is none. Raises ValueError."""
    found: set[str] = set()
    for part in text.replace(";", ",").split(","):
        ends = [grade_number(_grade(end)) for end in part.split("-")] if part.strip() else []
        if len(ends) > 2 or ends != sorted(ends):
            raise ValueError(f"the grades {text[:40]!r} cannot be read")
        if ends:
            found.update(GRADE_CODES[ends[0] : ends[-1] + 1])
    return tuple(sorted(found, key=grade_number))


def _grade(text: str) -> str:
    try:
        return grade_code(text)
    except ValueError:
        raise ValueError(f"the grade {text.strip()[:20]!r} is not one of KG and 01 to 12") from None


@contextmanager
def _opened(where: Path | bytes) -> Iterator[dict[str, IO[bytes]]]:
    """The two files. Raises BadRoster."""
    if isinstance(where, Path) and where.is_dir():
        paths = {name: where / name for name in _COLUMNS}
        for name, path in paths.items():
            if not path.is_file() or path.is_symlink():
                raise BadRoster(f"there is no file {name} in this folder")
        with paths[CLASSES].open("rb") as classes, paths[ENROLLMENTS].open("rb") as enrollments:
            yield {CLASSES: classes, ENROLLMENTS: enrollments}
        return
    try:
        with zipfile.ZipFile(where if isinstance(where, Path) else io.BytesIO(where)) as archive:
            members = _members(archive.infolist())
            with archive.open(members[CLASSES]) as classes, archive.open(members[ENROLLMENTS]) as enrollments:
                yield {CLASSES: classes, ENROLLMENTS: enrollments}
    except (zipfile.BadZipFile, zipfile.LargeZipFile, NotImplementedError, EOFError) as error:
        raise BadRoster(f"this is not a zip file that can be read: {error}") from None


def _members(entries: Sequence[zipfile.ZipInfo]) -> dict[str, zipfile.ZipInfo]:
    """The two files of an archive, at its top or in its one folder. Nothing is ever unpacked to the disk.

    Raises BadRoster for an archive with a name that would leave its folder, a link, a secret, or too much.
    """
    if len(entries) > MOST_FILES:
        raise BadRoster(f"the archive has {len(entries)} files; a roster has {MOST_FILES} at most")
    found: dict[str, zipfile.ZipInfo] = {}
    for entry in entries:
        path = PurePosixPath(entry.filename)
        if path.is_absolute() or ".." in path.parts or "\\" in entry.filename or ":" in entry.filename:
            raise BadRoster(f"the archive holds the name {entry.filename[:60]!r}, which leads out of its folder")
        if path.name not in _COLUMNS or len(path.parts) > 2:
            continue
        if path.name in found:
            raise BadRoster(f"{path.name}: stands twice in the archive")
        if stat.S_ISLNK(entry.external_attr >> 16):
            raise BadRoster(f"{path.name}: is a link, not a file")
        if entry.flag_bits & 1:
            raise BadRoster(f"{path.name}: is locked with a password")
        if entry.file_size > MOST_BYTES:
            raise BadRoster(f"{path.name}: has {entry.file_size // 1024**2} MiB; {MOST_BYTES // 1024**2} are read")
        found[path.name] = entry
    for name in _COLUMNS:
        if name not in found:
            raise BadRoster(f"there is no file {name} in the archive")
    return found


class _Limited(io.RawIOBase):
    """Stops at `MOST_BYTES`, whatever the archive says of itself."""

    def __init__(self, stream: IO[bytes], name: str):
        self._stream, self._name, self._left = stream, name, MOST_BYTES

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: memoryview) -> int:
        part = self._stream.read(min(len(buffer), 1 << 16))
        self._left -= len(part)
        if self._left < 0:
            raise BadRoster(f"{self._name}: it is larger than {MOST_BYTES // 1024**2} MiB")
        buffer[: len(part)] = part
        return len(part)
