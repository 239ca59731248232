"""Column types that mean the same on SQLite and PostgreSQL."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from pydantic import TypeAdapter
from sqlalchemy import DateTime, Text
from sqlalchemy.types import TypeDecorator


class Moment(TypeDecorator[datetime]):
    """A time in UTC. SQLite keeps no zone: what comes back is marked, and a time without a zone is refused."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Any) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment needs a time zone")
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Any) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class Held(TypeDecorator[Any]):
    """A value of the domain, held as its JSON text and checked again when it is read."""

    impl = Text
    cache_ok = True

    def __init__(self, of: Any):
        super().__init__()
        self.of = of
        self._adapter = TypeAdapter(of)

    def process_bind_param(self, value: Any, dialect: Any) -> str | None:
        return None if value is None else self._adapter.dump_json(value, by_alias=True).decode()

    def process_result_value(self, value: str | None, dialect: Any) -> Any:
        return None if value is None else self._adapter.validate_json(value)

    def plain(self, value: Any) -> Any:
        """The value as JSON data."""
        return self._adapter.dump_python(value, mode="json", by_alias=True)

    def from_plain(self, data: Any) -> Any:
        """The value of JSON data. Raises ValidationError."""
        return self._adapter.validate_json(json.dumps(data))


def now() -> datetime:
    return datetime.now(UTC)
