"""Who is signed in to the pages: kept, so that a restart of the service signs nobody out.

A browser shows a random text; only its digest is kept. A key that is revoked or has run out ends its sign-ins at once.
"""

from __future__ import annotations

import hashlib
import secrets
from datetime import timedelta

from sqlalchemy import delete
from sqlalchemy.orm import Session

from rungwright.store.callers import Caller
from rungwright.store.keys import caller_of_key
from rungwright.store.tables import SignInRow
from rungwright.store.types import now


def sign_in(session: Session, caller: Caller, *, seconds: int) -> str:
    """The text for the browser of a caller with a key, good for so long. Sign-ins that are over go."""
    session.execute(delete(SignInRow).where(SignInRow.until <= now()))
    text = secrets.token_urlsafe(32)
    session.add(SignInRow(digest=_digest(text), key_id=caller.key, until=now() + timedelta(seconds=seconds)))
    session.flush()
    return text


def signed_in(session: Session, text: str) -> Caller | None:
    """Who shows this text; None for one that is unknown, over, signed out or of a key that is no longer good."""
    row = session.get(SignInRow, _digest(text))
    return caller_of_key(session, row.key_id) if row is not None and row.until > now() else None


def sign_out(session: Session, text: str) -> None:
    session.execute(delete(SignInRow).where(SignInRow.digest == _digest(text)))


def _digest(text: str) -> str:
    """256 random bits need no slow hash: nobody can try them all."""
    return hashlib.sha256(text.encode()).hexdigest()
