"""Kestrel Ridge School, an invented school to try everything on. It goes with one click and does not come back."""

from __future__ import annotations

from datetime import date, timedelta

from sqlalchemy.orm import Session

from rungwright.api.demo import school_demo
from rungwright.api.runs import settings_of_day
from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.keeping import CupboardDraft, RunDraft, SectionDraft
from rungwright.domain.section import Stock
from rungwright.rulebase import CompiledRules
from rungwright.store import ONE_PERSON, Caller, Cupboards, Runs, Sections, Store
from rungwright.store.keys import any_key
from rungwright.store.tables import CupboardRow, SectionRow

MARK = "demo:"
"""Begins `roster_class` of a section that was made here."""
CUPBOARD = "Kestrel Ridge cupboard (demo)"

_LAST_RUN_BACK = timedelta(days=14)
"""How long ago, at the first start, the newest run of the school was."""


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
    school = _school()
    shared = _shared_materials(school)
    later = date.today() - _LAST_RUN_BACK - max(run.on for told in school for run in told.runs)
    cupboard = None
    for number, told in enumerate(school):
        row = sections.of_roster(f"{MARK}{number}")
        if row is not None:
            set_archived(sections, row, archived=False)
            continue
        section, from_shared = told.section, told.section.materials == shared
        if from_shared:
            if cupboard is None:
                cupboard = Cupboards(session, caller).add(CupboardDraft(label=CUPBOARD, materials=shared)).id
            section = section.model_copy(update={"materials": None})
        draft = SectionDraft(section=section, cupboard_id=cupboard if from_shared else None)
        row = sections.add(draft, roster_class=f"{MARK}{number}")
        for run in told.runs:
            taught = run.model_copy(update={"on": run.on + later})
            runs.add(row.id, RunDraft(run=taught), settings_of_day(section, taught, rules))
    cupboards = Cupboards(session, caller)
    for away in cupboards.list(after=None, limit=200, archived=True).items:
        if away.label == CUPBOARD:
            _set_away(cupboards, away, archived=False)


def remove(session: Session, caller: Caller) -> None:
    """Put the demo school away, its cupboard too. Raises NotAllowed."""
    sections, cupboards = Sections(session, caller), Cupboards(session, caller)
    for number in range(len(_school())):
        row = sections.of_roster(f"{MARK}{number}")
        if row is not None and not row.archived:
            set_archived(sections, row, archived=True)
    for row in cupboards.list(after=None, limit=200).items:
        if row.label == CUPBOARD:
            _set_away(cupboards, row, archived=True)


def _set_away(cupboards: Cupboards, row: CupboardRow, *, archived: bool) -> None:
    cupboards.change(row.id, None, CupboardDraft(label=row.label, materials=row.materials, archived=archived))


def set_archived(sections: Sections, row: SectionRow, *, archived: bool) -> None:
    """Put a section away, or bring it back; everything of it is kept. Raises NotThere, NotAllowed."""
    draft = SectionDraft(section=sections.whole(row), cupboard_id=row.cupboard_id, archived=archived)
    sections.change(row.id, None, draft)


def _school() -> list[RecommendationRequest]:
    return [RecommendationRequest.model_validate(request) for request in school_demo()]


def _shared_materials(school: list[RecommendationRequest]) -> list[Stock]:
    """What more than one section names alike is one cupboard."""
    named = [told.section.materials for told in school]
    return max(named, key=named.count)
