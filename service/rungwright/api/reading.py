"""JSON read strictly: UTF-8, no NaN or Infinity, no key twice, no number beyond what every reader holds."""

from __future__ import annotations

import json
import math
from typing import Any, NoReturn

MAX_DIGITS = 18
"""Digits of a whole number; longer ones lose digits in most readers."""


class NotJson(ValueError):
    """The text is not JSON that can be taken. The message never repeats a value of it."""


def read_json(raw: bytes) -> Any:
    """Raises NotJson."""
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise NotJson("the text is not UTF-8") from None
    if not text.strip():
        raise NotJson("the body is empty")
    try:
        value = json.loads(
            text,
            object_pairs_hook=_no_key_twice,
            parse_constant=_no_constant,
            parse_float=_finite,
            parse_int=_short,
        )
        if "\\u" in text:
            # An escaped half of a character passes json.loads and breaks whoever writes it out again.
            json.dumps(value, ensure_ascii=False).encode()
    except json.JSONDecodeError as error:
        raise NotJson(f"{_plain(error.msg)} at line {error.lineno}, column {error.colno}") from None
    except RecursionError:
        raise NotJson("it is nested too deep") from None
    except UnicodeEncodeError:
        raise NotJson("it holds half a character (a lone surrogate)") from None
    return value


def _plain(message: str) -> str:
    return message[:1].lower() + message[1:].removesuffix(" at")


def _no_key_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    out = dict(pairs)
    if len(out) < len(pairs):
        seen: set[str] = set()
        twice = next(k for k, _ in pairs if k in seen or seen.add(k))
        raise NotJson(f"the key {twice[:60]!r} stands twice in one object")
    return out


def _no_constant(name: str) -> NoReturn:
    raise NotJson("NaN and Infinity are not JSON numbers")


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise NotJson("a number is too large")
    return value


def _short(text: str) -> int:
    if len(text.lstrip("-")) > MAX_DIGITS:
        raise NotJson(f"a whole number has more than {MAX_DIGITS} digits")
    return int(text)
