"""Ids in order of time, so that pages of a list stay right while entries are added."""

from __future__ import annotations

import re
import secrets
import time

SHAPE = re.compile("[0-9a-f]{22}")


def new_id(after: str | None = None) -> str:
    """22 hexadecimal digits: 12 of the milliseconds since 1970, 10 at random.

    `after`: an id that it has to come after, even where both are of one millisecond or the clock was set back.
    """
    moment = time.time_ns() // 1_000_000
    if after is not None and SHAPE.fullmatch(after):
        moment = max(moment, int(after[:12], 16) + 1)
    return f"{moment:012x}{secrets.token_hex(5)}"
