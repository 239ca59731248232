"""Bodies: taken in up to a limit, of a type that is read here, as strict JSON."""

from __future__ import annotations

from typing import Any

from fastapi import Request

from rungwright.api.problems import ProblemError, ProblemType
from rungwright.api.reading import NotJson, read_json

ONE_LIMIT = 1024 * 1024
BATCH_LIMIT = 8 * 1024 * 1024
"""Bytes of a body, for one request and for a batch."""

JSON = "application/json"
NDJSON = "application/x-ndjson"


def media_type(request: Request, *allowed: str) -> str:
    """The type of the body. Raises ProblemError 415 for one that is not read here."""
    said = request.headers.get("content-type", "")
    name, _, parameters = said.partition(";")
    name = name.strip().lower()
    charset = parameters.strip().lower().removeprefix("charset=").strip('"')
    encoding = request.headers.get("content-encoding", "identity").strip().lower()
    if name not in allowed:
        detail = f"Send {' or '.join(allowed)}" + (f", not {name[:80]}." if name else "; no type was given.")
    elif charset not in ("", "utf-8", "utf8"):
        detail = "Send JSON as UTF-8."
    elif encoding not in ("identity", ""):
        detail = "Send the body as it is; compressed bodies are not read."
    else:
        return name
    raise ProblemError(ProblemType.UNSUPPORTED_MEDIA_TYPE, detail, (), {"Accept": ", ".join(allowed)})


async def read_body(request: Request, limit: int) -> bytes:
    """The whole body. Raises ProblemError 413 as soon as it is known to be larger than `limit` bytes."""
    declared = request.headers.get("content-length", "")
    if declared.isascii() and declared.isdigit() and int(declared[:20]) > limit:
        raise _too_large(limit)
    parts, size = [], 0
    async for part in request.stream():
        size += len(part)
        if size > limit:
            raise _too_large(limit)
        parts.append(part)
    return b"".join(parts)


def _too_large(limit: int) -> ProblemError:
    return ProblemError(
        ProblemType.TOO_LARGE, f"The body may have {limit // (1024 * 1024)} MiB at most.", (), {"Connection": "close"}
    )


def parsed(raw: bytes) -> Any:
    """Raises ProblemError 400."""
    try:
        return read_json(raw)
    except NotJson as error:
        text = str(error)
        raise ProblemError(ProblemType.MALFORMED_JSON, text[:1].upper() + text[1:] + ".") from None
