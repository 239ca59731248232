"""Bringing a database to the form that this program needs, and back."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, inspect, text

from rungwright.store.callers import LOCAL
from rungwright.store.database import Store, told
from rungwright.store.errors import WrongVersion
from rungwright.store.tables import WorkspaceRow
from rungwright.store.types import now

_FOLDER = Path(__file__).with_name("migrations")
_LOCK = 7_026_114_025
"""Any number of our own: of several servers that start at once, one upgrades and the others wait."""


def prepare(store: Store) -> None:
    """Bring the database up to date, and make the workspace of the one person.

    Raises WrongVersion for a database of a newer program, StoreUnavailable for one that cannot be used. Either all of
    an upgrade is done or nothing.
    """
    with told(), store.engine.begin() as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:n)"), {"n": _LOCK})
        _check(connection)
        command.upgrade(config_for(connection), "head")
    with store.writing() as session:
        if session.get(WorkspaceRow, LOCAL) is None:
            session.add(WorkspaceRow(id=LOCAL, label="This computer", created_at=now()))


def state(store: Store) -> str:
    """The form of a database in words. Raises WrongVersion, StoreUnavailable."""
    with told(), store.engine.connect() as connection:
        _check(connection)
        here = MigrationContext.configure(connection).get_current_revision()
        newest = ScriptDirectory.from_config(config_for(connection)).get_current_head()
    if here is None:
        return "empty; `rungwright serve` makes its tables"
    return (
        f"up to date (form {here})" if here == newest else f"of form {here}; `rungwright serve` brings it to {newest}"
    )


def migrate(store: Store, revision: str) -> None:
    """To one revision, up or down; `base` takes every table away."""
    with told(), store.engine.begin() as connection:
        config = config_for(connection)
        here = MigrationContext.configure(connection).get_current_revision()
        order = [s.revision for s in reversed(list(ScriptDirectory.from_config(config).walk_revisions()))]
        target = -1 if revision == "base" else len(order) - 1 if revision == "head" else order.index(revision)
        current = -1 if here is None else order.index(here)
        (command.upgrade if target >= current else command.downgrade)(config, revision)


def differences(store: Store) -> list[str]:
    """What the tables of the database lack or have too much against the models; empty where they agree."""
    from alembic.autogenerate import compare_metadata

    from rungwright.store.tables import Base

    with told(), store.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        return [str(d) for d in compare_metadata(context, Base.metadata)]


def _check(connection: Connection) -> None:
    here = MigrationContext.configure(connection).get_current_revision()
    if here is not None and here not in known_forms(connection):
        raise WrongVersion(
            f"The data was last used by a newer rungwright (its form is {here}). Install that version, or give "
            "another folder by RUNGWRIGHT_DATA. Nothing was changed."
        )
    if here is None and set(inspect(connection).get_table_names()) - {"alembic_version"}:
        raise WrongVersion("The database holds tables that are not Rungwright's. Give it an empty one.")


def known_forms(connection: Connection) -> set[str]:
    """The forms that this program can bring up to date."""
    return {s.revision for s in ScriptDirectory.from_config(config_for(connection)).walk_revisions()}


def config_for(connection: Connection) -> Config:
    config = Config()
    config.set_main_option("script_location", str(_FOLDER).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    return config
