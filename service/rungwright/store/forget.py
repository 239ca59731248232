"""Forgetting: what is forgotten is gone from the database, not hidden; `Store.settle` afterwards clears the journal.

Backups and exported files are elsewhere, and are not touched.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import timedelta

from sqlalchemy import ColumnElement, delete, select, update
from sqlalchemy.orm import Session

from rungwright.store.callers import LOCAL, Caller
from rungwright.store.sections import Sections
from rungwright.store.tables import (
    AnswerRow,
    CupboardRow,
    DecisionRow,
    KeyRow,
    LadderRow,
    LessonRow,
    LogRow,
    NeedRow,
    OwnLinesRow,
    PastLadderRow,
    PastRunRow,
    RepeatRow,
    RungPlaceRow,
    RunRow,
    SectionRow,
    SignInRow,
    WorkspaceRow,
)
from rungwright.store.types import now


def forget_section(session: Session, caller: Caller, id: str) -> Counter[str]:
    """A section with its needs, runs, lessons, own lines, answers and decisions; entries by kind. Raises NotThere."""
    Sections(session, caller).find(id)
    return _forget_sections(session, [id])


def forget_workspace(session: Session, workspace: str) -> Counter[str]:
    """Everything of a workspace, its keys and its log too. That of the one person stays, empty."""
    gone = _forget_sections(session, session.scalars(select(SectionRow.id).where(SectionRow.workspace_id == workspace)))
    gone += _forget_answers(session, AnswerRow.workspace_id == workspace)
    gone += _forget_ladders(session, LadderRow.workspace_id == workspace)
    keys = select(KeyRow.id).where(KeyRow.workspace_id == workspace)
    session.execute(delete(SignInRow).where(SignInRow.key_id.in_(keys)))
    for table in (RepeatRow, LogRow, CupboardRow, KeyRow):
        gone[table.__tablename__] += session.execute(delete(table).where(table.workspace_id == workspace)).rowcount
    if workspace != LOCAL:
        session.execute(delete(WorkspaceRow).where(WorkspaceRow.id == workspace))
    return gone


def forget_old(session: Session, days: int) -> Counter[str]:
    """What is older than so many days: runs, lessons, answers, the log, sections and ladders archived since then.

    Of a ladder in use, what stood there before goes too, but for what was published.
    """
    since = now() - timedelta(days=days)
    archived = select(SectionRow.id).where(SectionRow.archived, SectionRow.updated_at < since)
    gone = _forget_sections(session, session.scalars(archived))
    gone += _forget_runs(session, RunRow.taught_on < since.date())
    gone += _forget_answers(session, AnswerRow.created_at < since)
    gone += _forget_ladders(session, LadderRow.archived & (LadderRow.updated_at < since))
    drafts = PastLadderRow.published.is_(None) & (PastLadderRow.replaced_at < since)
    gone["past_ladders"] += session.execute(delete(PastLadderRow).where(drafts)).rowcount
    gone["lessons"] += session.execute(delete(LessonRow).where(LessonRow.taught_on < since.date())).rowcount
    gone["log"] += session.execute(delete(LogRow).where(LogRow.at < since)).rowcount
    return gone


def _forget_sections(session: Session, ids: Iterable[str]) -> Counter[str]:
    ids = list(ids)
    gone = _forget_runs(session, RunRow.section_id.in_(ids))
    gone += _forget_answers(session, AnswerRow.section_id.in_(ids))
    gone["lessons"] += session.execute(delete(LessonRow).where(LessonRow.section_id.in_(ids))).rowcount
    gone["own_lines"] += session.execute(delete(OwnLinesRow).where(OwnLinesRow.section_id.in_(ids))).rowcount
    session.execute(delete(NeedRow).where(NeedRow.section_id.in_(ids)))
    session.execute(delete(RungPlaceRow).where(RungPlaceRow.section_id.in_(ids)))
    session.execute(update(SectionRow).where(SectionRow.follows_id.in_(ids)).values(follows_id=None))
    session.execute(delete(LogRow).where(LogRow.entry_id.in_(ids)))
    session.execute(delete(RepeatRow).where(RepeatRow.made_id.in_(ids)))
    gone["sections"] += session.execute(delete(SectionRow).where(SectionRow.id.in_(ids))).rowcount
    return gone


def _forget_runs(session: Session, which: ColumnElement[bool]) -> Counter[str]:
    ids = session.scalars(select(RunRow.id).where(which)).all()
    session.execute(delete(PastRunRow).where(PastRunRow.run_id.in_(ids)))
    return Counter(runs=session.execute(delete(RunRow).where(RunRow.id.in_(ids))).rowcount)


def _forget_answers(session: Session, which: ColumnElement[bool]) -> Counter[str]:
    places = session.scalars(select(AnswerRow.place).where(which)).all()
    decisions = session.execute(delete(DecisionRow).where(DecisionRow.place.in_(places))).rowcount
    answers = session.execute(delete(AnswerRow).where(AnswerRow.place.in_(places))).rowcount
    return Counter(answers=answers, decisions=decisions)


def _forget_ladders(session: Session, which: ColumnElement[bool]) -> Counter[str]:
    ids = session.scalars(select(LadderRow.id).where(which)).all()
    session.execute(delete(RungPlaceRow).where(RungPlaceRow.ladder_id.in_(ids)))
    past = session.execute(delete(PastLadderRow).where(PastLadderRow.ladder_id.in_(ids))).rowcount
    session.execute(delete(LogRow).where(LogRow.entry_id.in_(ids)))
    session.execute(delete(RepeatRow).where(RepeatRow.made_id.in_(ids)))
    ladders = session.execute(delete(LadderRow).where(LadderRow.id.in_(ids))).rowcount
    return Counter(ladders=ladders, past_ladders=past)
