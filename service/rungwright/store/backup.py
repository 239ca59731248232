"""A backup: everything in the database as one JSON file, needs and digests of keys included.

It is read back into the form that it was made from and then brought up to date, so that an old backup stays good; and
it may go from SQLite to PostgreSQL or back.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from alembic import command
from alembic.migration import MigrationContext
from sqlalchemy import Connection, Date, DateTime, MetaData, Table, insert, select
from sqlalchemy.exc import IntegrityError

from rungwright.store.database import Store, told
from rungwright.store.errors import StoreError, WrongVersion
from rungwright.store.upgrade import config_for, known_forms

FORMAT = "rungwright backup"


class NotEmpty(StoreError):
    """There is something in the database that would be lost."""


def backup(store: Store) -> dict[str, Any]:
    """All rows at one moment. Raises StoreUnavailable."""
    with store.reading() as session:
        connection = session.connection()
        form = MigrationContext.configure(connection).get_current_revision()
        if form is None:
            raise WrongVersion("There is nothing to back up: no database has been made here yet.")
        return {
            "format": FORMAT,
            "form": form,
            "tables": {
                table.name: [_said(row) for row in connection.execute(select(table).order_by(*table.primary_key))]
                for table in _tables(connection)
            },
        }


def restore(store: Store, data: Any, *, replace: bool = False) -> dict[str, int]:
    """Put a backup in the place of what there is; either all of it or nothing. Rows by table.

    Raises NotEmpty without `replace` where there is something, WrongVersion for what is no backup or a newer one.
    """
    if not isinstance(data, dict) or data.get("format") != FORMAT or not isinstance(data.get("tables"), dict):
        raise WrongVersion("This is not a backup of Rungwright.")
    with told(), store.engine.begin() as connection:
        if data.get("form") not in known_forms(connection):
            raise WrongVersion(f"This backup was made by a newer rungwright (its form is {data.get('form')!r}).")
        if not replace and _filled(connection):
            raise NotEmpty(
                "There are sections, ladders or keys in the database already; --replace puts the backup in their place."
            )
        config = config_for(connection)
        command.downgrade(config, "base")
        command.upgrade(config, data["form"])
        tables = _tables(connection)
        if {table.name for table in tables} != set(data["tables"]):
            raise WrongVersion("This backup is not whole: its tables are not those of its form.")
        for table in tables:
            rows = [_read(table, row) for row in data["tables"][table.name]]
            try:
                if rows:
                    connection.execute(insert(table), rows)
            except IntegrityError as error:
                raise WrongVersion(f"This backup is not whole: rows of {table.name} do not fit the others.") from error
        command.upgrade(config, "head")
    return {name: len(rows) for name, rows in data["tables"].items()}


def _tables(connection: Connection) -> list[Table]:
    """As they are in the database, whatever the models of this program say, in the order of their references."""
    metadata = MetaData()
    metadata.reflect(connection)
    return [table for table in metadata.sorted_tables if table.name != "alembic_version"]


def _filled(connection: Connection) -> bool:
    return any(
        connection.execute(select(table).limit(1)).first()
        for table in _tables(connection)
        if table.name in ("sections", "cupboards", "keys", "answers", "ladders")
    )


def _said(row: Any) -> dict[str, Any]:
    return {name: _plain(value) for name, value in row._mapping.items()}


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return (value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)).isoformat()
    return value.isoformat() if isinstance(value, date) else value


def _read(table: Table, row: dict[str, Any]) -> dict[str, Any]:
    """Raises WrongVersion."""
    if not isinstance(row, dict) or set(row) != set(table.columns.keys()):
        raise WrongVersion(f"This backup is not whole: a row of {table.name} has other columns.")
    return {name: _value(table.columns[name].type, value) for name, value in row.items()}


def _value(kind: Any, value: Any) -> Any:
    if value is None:
        return None
    if isinstance(kind, DateTime):
        return datetime.fromisoformat(value)
    return date.fromisoformat(value) if isinstance(kind, Date) else value
