"""Sections from a roster. Read again, it changes only what the roster has changed."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from enum import StrEnum

from sqlalchemy.orm import Session

from rungwright.domain.grades import grade_code
from rungwright.domain.keeping import Role, SectionDraft
from rungwright.domain.section import Section
from rungwright.store.callers import Caller
from rungwright.store.errors import NotAllowed
from rungwright.store.oneroster import CLASSES, Roster, RosterClass, Skipped
from rungwright.store.sections import Sections
from rungwright.store.tables import SectionRow


class Fate(StrEnum):
    MADE = "made"
    CHANGED = "changed"
    UNCHANGED = "unchanged"


@dataclass(frozen=True)
class Usual:
    """What a roster does not know: to be looked at in each section afterwards. `grade` is for classes without one."""

    group_size: int = 3
    minutes: int = 45
    grade: str | None = None


@dataclass(frozen=True)
class Placed:
    """One class of the roster. `section_id` is None for one that a dry run would make."""

    line: int
    label: str
    grades: list[str]
    students: int
    fate: Fate
    section_id: str | None


@dataclass
class Report:
    placed: list[Placed] = field(default_factory=list)
    skipped: list[Skipped] = field(default_factory=list)


def take_in(session: Session, caller: Caller, roster: Roster, usual: Usual, *, dry_run: bool) -> Report:
    """Make or change a section for each class. Raises NotAllowed.

    A teacher owns what is made. What a coach reads in for a school is nobody's until a teacher changes it.
    """
    caller.must_write()
    sections, report = Sections(session, caller), Report(skipped=list(roster.skipped))
    for found in roster.classes:
        grades = list(found.grades) or ([grade_code(usual.grade)] if usual.grade is not None else [])
        if not grades:
            report.skipped.append(Skipped(CLASSES, found.line, "it has no grade; say one for classes without"))
            continue
        try:
            report.placed.append(_place(sections, found, grades, usual, dry_run=dry_run))
        except NotAllowed as error:
            report.skipped.append(Skipped(CLASSES, found.line, str(error)))
    return report


def _place(sections: Sections, found: RosterClass, grades: list[str], usual: Usual, *, dry_run: bool) -> Placed:
    row = sections.of_roster(_digest(sections.caller, found.id))
    if row is None:
        fate, id = Fate.MADE, None if dry_run else _make(sections, found, grades, usual).id
    else:
        sections.caller.must_write_in(row.owner_id)
        id = row.id
        told = {"students": found.students, "grades": grades}
        same = all(getattr(row.body, name) == value for name, value in told.items())
        fate = Fate.UNCHANGED if same else Fate.CHANGED
        if not same and not dry_run:
            row.body = Section.model_validate({**row.body.model_dump(), **told})
            sections.changed(row)
    return Placed(found.line, found.title, grades, found.students, fate, id)


def _make(sections: Sections, found: RosterClass, grades: list[str], usual: Usual) -> SectionRow:
    section = Section(
        label=found.title,
        grades=grades,
        students=found.students,
        group_size=usual.group_size,
        sessions=[{"minutes": usual.minutes}],
    )
    owner = sections.caller.key if sections.caller.role == Role.TEACHER else None
    return sections.place(SectionDraft(section=section), owner=owner, roster_class=_digest(sections.caller, found.id))


def _digest(caller: Caller, id: str) -> str:
    """The school's id of a class is not kept; its digest finds the class again, in this workspace only."""
    return hashlib.sha256(f"{caller.workspace}\n{id}".encode()).hexdigest()
