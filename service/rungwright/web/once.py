"""A form that is sent twice, by a second press or by a reload, makes one entry."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from urllib.parse import urlencode

from sqlalchemy.orm import Session
from starlette.datastructures import FormData

from rungwright.api.keeping import found_or_made
from rungwright.store import Caller
from rungwright.store.repeats import OtherRequest, made_before, remember
from rungwright.web.desk import Desk

FIELD = "once"


def new_once() -> str:
    """For the hidden field of a form that makes something."""
    return secrets.token_hex(12)


def made_once(desk: Desk, caller: Caller, form: FormData, work: Callable[[Session], str]) -> str:
    """Id of what `work` makes, or has made of the same form before; a form that was changed since makes another."""
    key, said = f"page {form.get(FIELD, '')}"[:60], urlencode(form.multi_items()).encode()

    def done() -> str:
        with desk.store.writing() as session:
            try:
                made = made_before(session, caller, key, said) if FIELD in form else None
                repeats = FIELD in form
            except OtherRequest:
                made, repeats = None, False
            if made is None:
                made = work(session)
                if repeats:
                    remember(session, caller, key, said, made)
            return made

    return found_or_made(done)
