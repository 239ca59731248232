"""Kestrel Ridge School, an invented school to try everything on. It goes with one click and does not come back."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from sqlalchemy.orm import Session

from rungwright.api.runs import settings_of_day
from rungwright.domain.keeping import CupboardDraft, RunDraft, SectionDraft
from rungwright.domain.run import Run
from rungwright.domain.section import Section
from rungwright.rulebase import CompiledRules
from rungwright.store import ONE_PERSON, Caller, Cupboards, Runs, Sections, Store
from rungwright.store.keys import any_key
from rungwright.store.tables import SectionRow

MARK = "demo:"
"""Begins `roster_class` of a section that was made here."""
CUPBOARD = "Kestrel Ridge cupboard (demo)"

_CUPBOARD = {
    "craft_stick": 2600, "jumbo_stick": 200, "straw_paper": 300, "pipe_cleaner": 200, "copy_paper": 1200,
    "card_stock": 150, "index_card": 200, "masking_tape": 24, "foil": 10, "string": 4, "clothes_peg": 120,
    "modelling_clay": 6, "newspaper": 60,
}  # fmt: skip
_THIN = {"craft_stick": 40, "copy_paper": 45, "masking_tape": 2, "newspaper": 10}

# label, grades, students, group size, minutes of each lesson, adults, supports, own materials, runs by criteria met
_SECTIONS: list[dict[str, Any]] = [
    {"label": "Kestrel K", "grades": ["KG"], "students": 14, "size": 2, "lessons": [35, 35], "adults": 2},
    {
        "label": "Kestrel 1A", "grades": ["01"], "students": 19, "size": 2, "lessons": [40, 40],
        "supports": {"fine_motor": 4},
    },
    {"label": "Kestrel 2-3", "grades": ["02", "03"], "students": 23, "size": 3, "lessons": [45, 45]},
    {
        "label": "Kestrel 4B", "grades": ["04"], "students": 28, "size": 3, "lessons": [60],
        "supports": {"new_to_language": 6},
        "runs": [{"load_positions": 1, "met": {"wind": 8, "dry": 8, "load": 9, "entry": 9, "room": 9}}],
    },
    {
        "label": "Kestrel 5A", "grades": ["05"], "students": 27, "size": 3, "lessons": [45, 45],
        "runs": [{"met": {"wind": 8, "dry": 6, "load": 4, "entry": 9, "room": 8}}],
    },
    {
        "label": "Kestrel 6C", "grades": ["06"], "students": 31, "size": 4, "lessons": [50, 50], "own": _THIN,
        "runs": [
            {"met": {"wind": 6, "dry": 3, "load": 4, "entry": 8, "room": 7}},
            {"met": {"wind": 7, "dry": 3, "load": 4, "entry": 8, "room": 8}},
        ],
    },
    {
        "label": "Kestrel 8B", "grades": ["08"], "students": 24, "size": 4, "lessons": [50, 50],
        "runs": [{"met": {"wind": 6, "dry": 6, "load": 6, "entry": 6, "room": 6}}],
    },
    {
        "label": "Kestrel small class 3-5", "grades": ["03", "04", "05"], "students": 7, "size": 2,
        "lessons": [40, 40], "adults": 2, "supports": {"fine_motor": 3},
        "runs": [{"met": {"wind": 3, "dry": 2, "load": 1, "entry": 3, "room": 3}}],
    },
    {"label": "Kestrel 10 elective", "grades": ["10"], "students": 16, "size": 4, "lessons": [90]},
]  # fmt: skip


def is_demo(row: SectionRow) -> bool:
    return (row.roster_class or "").startswith(MARK)


def first_start(store: Store, rules: CompiledRules) -> None:
    """Put the demo school where nothing has been kept yet and one person works alone."""
    with store.writing() as session:
        sections = Sections(session, ONE_PERSON)
        kept = [sections.list(after=None, limit=1, archived=archived).items for archived in (False, True)]
        if not any(kept) and not any_key(session):
            add(session, ONE_PERSON, rules)


def add(session: Session, caller: Caller, rules: CompiledRules) -> None:
    """The demo school; sections of it that were put away come back. Raises NotAllowed."""
    sections, runs = Sections(session, caller), Runs(session, caller)
    there = [sections.of_roster(f"{MARK}{number}") for number in range(len(_SECTIONS))]
    cupboard = None
    for number, (told, row) in enumerate(zip(_SECTIONS, there, strict=True)):
        if row is not None:
            _set_archived(sections, row, archived=False)
            continue
        if cupboard is None and "own" not in told:
            cupboard = Cupboards(session, caller).add(CupboardDraft(label=CUPBOARD, materials=_stock(_CUPBOARD))).id
        section = _section(told)
        draft = SectionDraft(section=section, cupboard_id=None if "own" in told else cupboard)
        row = sections.add(draft, roster_class=f"{MARK}{number}")
        for back, run in enumerate(reversed(told.get("runs", []))):
            taught = _run(run, section, date.today() - timedelta(days=14 + 21 * back))
            runs.add(row.id, RunDraft(run=taught), settings_of_day(section, taught, rules))


def remove(session: Session, caller: Caller) -> None:
    """Put the demo school away, its cupboard too. Raises NotAllowed."""
    sections, cupboards = Sections(session, caller), Cupboards(session, caller)
    for number in range(len(_SECTIONS)):
        row = sections.of_roster(f"{MARK}{number}")
        if row is not None and not row.archived:
            _set_archived(sections, row, archived=True)
    for row in cupboards.list(after=None, limit=200).items:
        if row.label == CUPBOARD:
            cupboards.change(row.id, None, CupboardDraft(label=row.label, materials=row.materials, archived=True))


def _set_archived(sections: Sections, row: SectionRow, *, archived: bool) -> None:
    draft = SectionDraft(section=sections.whole(row), cupboard_id=row.cupboard_id, archived=archived)
    sections.change(row.id, None, draft)


def _section(told: dict[str, Any]) -> Section:
    return Section(
        label=told["label"],
        grades=told["grades"],
        students=told["students"],
        group_size=told["size"],
        sessions=[{"minutes": minutes} for minutes in told["lessons"]],
        adults=told.get("adults", 1),
        materials=_stock(told["own"]) if "own" in told else None,
        supports=told.get("supports"),
    )


def _stock(amounts: dict[str, float]) -> list[dict[str, Any]]:
    return [{"material": name, "quantity": float(amount)} for name, amount in amounts.items()]


def _run(told: dict[str, Any], section: Section, on: date) -> Run:
    settings = {name: value for name, value in told.items() if name != "met"}
    groups = section.groups
    results = [{"criterion": name, "end": {"met": min(met, groups), "of": groups}} for name, met in told["met"].items()]
    return Run(
        challenge="shelter", settings=settings or None, on=on.isoformat(), groups=groups, results=results, grid=None
    )
