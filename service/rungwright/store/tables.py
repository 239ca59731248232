"""The tables. Every row but a workspace belongs to one workspace; counts only, no student's name or record."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, MetaData, String, Text, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, declared_attr, mapped_column

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_request import Met
from rungwright.domain.own_lines import Edits
from rungwright.domain.run import Run
from rungwright.domain.section import Section, Stock
from rungwright.domain.strict import Setting
from rungwright.store.types import Held, Moment

Settings = dict[str, Setting]

ID = String(60)


class Base(DeclarativeBase):
    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(column_0_label)s",
            "uq": "uq_%(table_name)s_%(column_0_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )


class WorkspaceRow(Base):
    """A school or a person."""

    __tablename__ = "workspaces"

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    label: Mapped[str] = mapped_column(String(80))
    created_at: Mapped[datetime] = mapped_column(Moment)


class KeyRow(Base):
    """A key of one person or tool. Only its digest is here."""

    __tablename__ = "keys"

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    workspace_id: Mapped[str] = mapped_column(ForeignKey("workspaces.id"), index=True)
    label: Mapped[str] = mapped_column(String(80))
    role: Mapped[str] = mapped_column(String(20))
    digest: Mapped[str] = mapped_column(String(64), unique=True)
    created_at: Mapped[datetime] = mapped_column(Moment)
    expires_at: Mapped[datetime | None] = mapped_column(Moment)
    revoked_at: Mapped[datetime | None] = mapped_column(Moment)


class Edited:
    """What can be edited: a version that rises with each change."""

    id: Mapped[str] = mapped_column(ID, primary_key=True, sort_order=-2)
    workspace_id: Mapped[str] = mapped_column(ForeignKey("workspaces.id"), index=True, sort_order=-1)
    version: Mapped[int] = mapped_column(sort_order=-1)
    created_at: Mapped[datetime] = mapped_column(Moment)
    updated_at: Mapped[datetime] = mapped_column(Moment)

    @declared_attr.directive
    def __mapper_args__(cls) -> dict[str, Any]:
        # A write over a version that is no longer there fails, whatever the isolation of the database.
        return {"version_id_col": cls.version}


class CupboardRow(Edited, Base):
    __tablename__ = "cupboards"

    label: Mapped[str] = mapped_column(String(80))
    materials: Mapped[list[Stock]] = mapped_column(Held(list[Stock]))
    archived: Mapped[bool]


class SectionRow(Edited, Base):
    """`body` has no needs: they stand in a table of their own, which only the owner's requests read."""

    __tablename__ = "sections"

    owner_id: Mapped[str | None] = mapped_column(ForeignKey("keys.id"))
    body: Mapped[Section] = mapped_column(Held(Section))
    cupboard_id: Mapped[str | None] = mapped_column(ForeignKey("cupboards.id"))
    follows_id: Mapped[str | None] = mapped_column(ForeignKey("sections.id"))
    """the same students a year before"""
    roster_class: Mapped[str | None] = mapped_column(String(64))
    """digest of the class it was read from, so that a second import finds it"""
    archived: Mapped[bool]

    __table_args__ = (UniqueConstraint("workspace_id", "roster_class"),)


class NeedRow(Base):
    __tablename__ = "needs"

    section_id: Mapped[str] = mapped_column(ForeignKey("sections.id"), primary_key=True)
    support: Mapped[str] = mapped_column(String(60), primary_key=True)
    students: Mapped[int]


class LessonRow(Edited, Base):
    __tablename__ = "lessons"

    section_id: Mapped[str] = mapped_column(ForeignKey("sections.id"), index=True)
    cupboard_id: Mapped[str] = mapped_column(ForeignKey("cupboards.id"), index=True)
    recommendation_id: Mapped[str | None] = mapped_column(ID)
    taught_on: Mapped[date]
    state: Mapped[str] = mapped_column(String(20))
    materials: Mapped[list[Stock]] = mapped_column(Held(list[Stock]))
    taken: Mapped[list[Stock]] = mapped_column(Held(list[Stock]))
    """what was subtracted from the cupboard when it was taught"""


class RunRow(Edited, Base):
    __tablename__ = "runs"

    section_id: Mapped[str] = mapped_column(ForeignKey("sections.id"), index=True)
    body: Mapped[Run] = mapped_column(Held(Run))
    settings: Mapped[Settings] = mapped_column(Held(Settings))
    """every setting of that day: those that were not told, as they were worked out then"""
    taught_on: Mapped[date]
    withdrawn: Mapped[bool]


class PastRunRow(Base):
    """A run as it was before a correction."""

    __tablename__ = "past_runs"

    run_id: Mapped[str] = mapped_column(ForeignKey("runs.id"), primary_key=True)
    version: Mapped[int] = mapped_column(primary_key=True)
    workspace_id: Mapped[str] = mapped_column(ForeignKey("workspaces.id"))
    body: Mapped[Run] = mapped_column(Held(Run))
    settings: Mapped[Settings] = mapped_column(Held(Settings))
    withdrawn: Mapped[bool]
    replaced_at: Mapped[datetime] = mapped_column(Moment)


class AnswerRow(Base):
    """A kept answer: it never changes. `id` is the hash of the request, `place` the order of the list."""

    __tablename__ = "answers"

    place: Mapped[str] = mapped_column(ID, primary_key=True)
    workspace_id: Mapped[str] = mapped_column(ForeignKey("workspaces.id"))
    id: Mapped[str] = mapped_column(ID)
    reader: Mapped[str] = mapped_column(ID)
    """who may read it: everyone of the workspace, or, where it was worked out with needs, who asked"""
    section_id: Mapped[str | None] = mapped_column(ForeignKey("sections.id"), index=True)
    request: Mapped[RecommendationRequest] = mapped_column(Held(RecommendationRequest), deferred=True)
    answer: Mapped[str] = mapped_column(Text)
    explanation: Mapped[str] = mapped_column(Text)
    created_at: Mapped[datetime] = mapped_column(Moment)

    __table_args__ = (UniqueConstraint("workspace_id", "id", "reader"),)


class DecisionRow(Base):
    """What was decided about one proposal. Rows are only ever added."""

    __tablename__ = "decisions"

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    workspace_id: Mapped[str] = mapped_column(ForeignKey("workspaces.id"), index=True)
    place: Mapped[str] = mapped_column(ForeignKey("answers.place"), index=True)
    proposal: Mapped[str] = mapped_column(ID)
    lever: Mapped[str] = mapped_column(ID)
    rule: Mapped[str] = mapped_column(String(200))
    choice: Mapped[str] = mapped_column(String(20))
    value: Mapped[Setting | None] = mapped_column(Held(Setting))
    reason: Mapped[str | None] = mapped_column(String(60))
    note: Mapped[str | None] = mapped_column(String(500))
    decided_at: Mapped[datetime] = mapped_column(Moment)


class LadderRow(Edited, Base):
    """A shared ladder as it is now, a draft or the version that was published last."""

    __tablename__ = "ladders"

    body: Mapped[Ladder] = mapped_column(Held(Ladder))
    archived: Mapped[bool]


class PastLadderRow(Base):
    """A ladder as it stood before a change. Rows are only ever added; the ones published are kept for good."""

    __tablename__ = "past_ladders"

    ladder_id: Mapped[str] = mapped_column(ForeignKey("ladders.id"), primary_key=True)
    version: Mapped[int] = mapped_column(primary_key=True)
    workspace_id: Mapped[str] = mapped_column(ForeignKey("workspaces.id"))
    body: Mapped[Ladder] = mapped_column(Held(Ladder))
    published: Mapped[int | None]
    """which published version it is, if it is one"""
    replaced_at: Mapped[datetime] = mapped_column(Moment)


class RungPlaceRow(Base):
    """Where a section stands on a ladder."""

    __tablename__ = "rung_places"

    ladder_id: Mapped[str] = mapped_column(ForeignKey("ladders.id"), primary_key=True)
    section_id: Mapped[str] = mapped_column(ForeignKey("sections.id"), primary_key=True, index=True)
    workspace_id: Mapped[str] = mapped_column(ForeignKey("workspaces.id"))
    now_on: Mapped[str | None] = mapped_column(ID)
    week: Mapped[date | None]
    met: Mapped[Met | None] = mapped_column(Held(Met))


class OwnLinesRow(Edited, Base):
    """A teacher's own lines on one sheet in one language, for every answer about this section and challenge."""

    __tablename__ = "own_lines"

    section_id: Mapped[str] = mapped_column(ForeignKey("sections.id"), index=True)
    challenge: Mapped[str] = mapped_column(ID)
    sheet: Mapped[str] = mapped_column(String(20))
    language: Mapped[str] = mapped_column(String(8))
    edits: Mapped[Edits] = mapped_column(Held(Edits))

    __table_args__ = (UniqueConstraint("section_id", "challenge", "sheet", "language"),)


class SignInRow(Base):
    """Somebody signed in to the pages. Only a digest of what their browser shows is here."""

    __tablename__ = "sign_ins"

    digest: Mapped[str] = mapped_column(String(64), primary_key=True)
    key_id: Mapped[str] = mapped_column(ForeignKey("keys.id"), index=True)
    until: Mapped[datetime] = mapped_column(Moment)


class RepeatRow(Base):
    """What a create with an Idempotency-Key has made, so that the same call again makes nothing more."""

    __tablename__ = "repeats"

    workspace_id: Mapped[str] = mapped_column(ForeignKey("workspaces.id"), primary_key=True)
    caller: Mapped[str] = mapped_column(ID, primary_key=True)
    repeat_key: Mapped[str] = mapped_column(String(200), primary_key=True)
    digest: Mapped[str] = mapped_column(String(64))
    made_id: Mapped[str] = mapped_column(ID)
    created_at: Mapped[datetime] = mapped_column(Moment)


class LogRow(Base):
    """Who did what when: ids and words of our own, nothing of what was sent."""

    __tablename__ = "log"

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    workspace_id: Mapped[str] = mapped_column(ForeignKey("workspaces.id"), index=True)
    caller: Mapped[str | None] = mapped_column(ID)
    did: Mapped[str] = mapped_column(String(40))
    what: Mapped[str] = mapped_column(String(40))
    entry_id: Mapped[str] = mapped_column(ID)
    at: Mapped[datetime] = mapped_column(Moment)
