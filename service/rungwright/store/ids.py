"""Ids in order of time, so that pages of a list stay right while entries are added."""

from __future__ import annotations

import secrets
import time


def new_id() -> str:
    """22 hexadecimal digits: 12 of the milliseconds since 1970, 10 at random."""
    return f"{time.time_ns() // 1_000_000:012x}{secrets.token_hex(5)}"
