"""Workspaces and their keys. A key is shown once, when it is made; only its digest is kept."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Sequence
from datetime import datetime, timedelta

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from rungwright.domain.keeping import Role
from rungwright.store.callers import LOCAL, ONE_PERSON, Caller
from rungwright.store.errors import NotThere
from rungwright.store.ids import new_id
from rungwright.store.tables import AnswerRow, KeyRow, LadderRow, SectionRow, WorkspaceRow
from rungwright.store.types import now

PREFIX = "rungwright_"
"""So that a key that has strayed into a file is found and known for what it is."""


def any_key(session: Session) -> bool:
    """Whether callers have to show a key: from the first one on, also when all have been revoked."""
    return session.scalar(select(KeyRow.id).limit(1)) is not None


def caller_with(session: Session, key: str) -> Caller | None:
    """The caller that a key stands for; None for one that is unknown, revoked or past its day."""
    return _caller(session.scalars(select(KeyRow).where(KeyRow.digest == _digest(key))).one_or_none())


def caller_of_key(session: Session, id: str) -> Caller | None:
    """The caller of a key by its id, as a signed-in page knows it; None as in `caller_with`."""
    return _caller(session.get(KeyRow, id))


def add_key(
    session: Session, *, label: str, role: Role, workspace: str = LOCAL, days: int | None = None
) -> tuple[KeyRow, str]:
    """A new key and its text, which nothing shows again. Raises NotThere for the workspace.

    The first key of the workspace of this computer takes over what its one person owned.
    """
    if session.get(WorkspaceRow, workspace) is None:
        raise NotThere("workspace", workspace)
    first = session.scalar(select(KeyRow.id).where(KeyRow.workspace_id == workspace).limit(1)) is None
    key = _new_text()
    row = KeyRow(
        id=new_id(),
        workspace_id=workspace,
        label=label,
        role=role.value,
        digest=_digest(key),
        created_at=now(),
        expires_at=_in(days),
        revoked_at=None,
    )
    session.add(row)
    session.flush()
    if first:
        mine = SectionRow.workspace_id == workspace, SectionRow.owner_id.is_(None)
        session.execute(update(SectionRow).where(*mine).values(owner_id=row.id))
        read = AnswerRow.workspace_id == workspace, AnswerRow.reader == LOCAL
        session.execute(update(AnswerRow).where(*read).values(reader=row.id))
    return row, key


def renew_key(session: Session, id: str, *, days: int | None = None) -> tuple[KeyRow, str]:
    """Another text for the same person, who keeps their sections; the old text ends. Raises NotThere."""
    row, key = find_key(session, id), _new_text()
    row.digest, row.expires_at, row.revoked_at = _digest(key), _in(days), None
    session.flush()
    return row, key


def revoke_key(session: Session, id: str) -> KeyRow:
    """Raises NotThere."""
    row = find_key(session, id)
    row.revoked_at = row.revoked_at or now()
    session.flush()
    return row


def keys(session: Session) -> Sequence[KeyRow]:
    return session.scalars(select(KeyRow).order_by(KeyRow.id)).all()


def workspaces(session: Session) -> Sequence[WorkspaceRow]:
    return session.scalars(select(WorkspaceRow).order_by(WorkspaceRow.created_at)).all()


def add_workspace(session: Session, label: str) -> WorkspaceRow:
    row = WorkspaceRow(id=new_id(), label=label, created_at=now())
    session.add(row)
    session.flush()
    return row


def caller_for(session: Session, workspace: str) -> Caller:
    """Who runs a command on this computer: the owner of nothing, but a coach of the workspace. Raises NotThere."""
    if session.get(WorkspaceRow, workspace) is None:
        raise NotThere("workspace", workspace)
    return Caller(workspace, ONE_PERSON.key, ONE_PERSON.role)


def _caller(row: KeyRow | None) -> Caller | None:
    if row is None or row.revoked_at is not None or (row.expires_at is not None and row.expires_at <= now()):
        return None
    return Caller(row.workspace_id, row.id, Role(row.role))


def caller_of_section(session: Session, id: str) -> Caller:
    """As `caller_for`, of the workspace that a section is in. Raises NotThere."""
    row = session.get(SectionRow, id)
    if row is None:
        raise NotThere("section", id)
    return caller_for(session, row.workspace_id)


def caller_of_ladder(session: Session, id: str) -> Caller:
    """As `caller_for`, of the workspace that a ladder is in. Raises NotThere."""
    row = session.get(LadderRow, id)
    if row is None:
        raise NotThere("ladder", id)
    return caller_for(session, row.workspace_id)


def find_key(session: Session, id: str) -> KeyRow:
    """Raises NotThere."""
    row = session.get(KeyRow, id)
    if row is None:
        raise NotThere("key", id)
    return row


def _new_text() -> str:
    return PREFIX + secrets.token_urlsafe(32)


def _digest(key: str) -> str:
    """256 random bits need no slow hash: nobody can try them all."""
    return hashlib.sha256(key.encode()).hexdigest()


def _in(days: int | None) -> datetime | None:
    return None if days is None else now() + timedelta(days=days)
