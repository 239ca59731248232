"""A create that is sent twice with the same Idempotency-Key makes one entry."""

from __future__ import annotations

import hashlib
from datetime import timedelta

from sqlalchemy import delete
from sqlalchemy.orm import Session

from rungwright.store.callers import LOCAL, Caller
from rungwright.store.tables import RepeatRow
from rungwright.store.types import now

KEPT_H = 24
"""Hours after which a key may be used for something else."""


class OtherRequest(ValueError):
    """The key was used for another request."""


def made_before(session: Session, caller: Caller, key: str, request: bytes) -> str | None:
    """Id of what the same call has made. Raises OtherRequest."""
    session.execute(delete(RepeatRow).where(RepeatRow.created_at < now() - timedelta(hours=KEPT_H)))
    row = session.get(RepeatRow, (caller.workspace, caller.key or LOCAL, key))
    if row is None:
        return None
    if row.digest != _digest(request):
        raise OtherRequest("This Idempotency-Key was used for another request within the last day; take a new one.")
    return row.made_id


def remember(session: Session, caller: Caller, key: str, request: bytes, made_id: str) -> None:
    """Raises IntegrityError where the same call is being answered at the same time."""
    session.add(
        RepeatRow(
            workspace_id=caller.workspace,
            caller=caller.key or LOCAL,
            repeat_key=key,
            digest=_digest(request),
            made_id=made_id,
            created_at=now(),
        )
    )
    session.flush()


def _digest(request: bytes) -> str:
    return hashlib.sha256(request).hexdigest()
