"""One database, SQLite or PostgreSQL, with one transaction for each piece of work."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DatabaseError, DBAPIError, InterfaceError, OperationalError, TimeoutError
from sqlalchemy.orm import Session
from sqlalchemy.orm.exc import StaleDataError

from rungwright.store.errors import StoreUnavailable, WrongVersion

WAIT_S = 5
"""How long a write waits for another one before it gives up."""


class Store:
    """Gives sessions. Nothing is connected before the first one."""

    def __init__(self, url: str | URL):
        self.engine = open_engine(url)
        sqlite = self.engine.dialect.name == "sqlite"
        self._to_read = {"reading": True} if sqlite else {"isolation_level": "REPEATABLE READ"}

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Everything that is read in here is as it was at one moment. Raises StoreUnavailable."""
        with self._session(self._to_read) as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Everything in here is written, or nothing, where an exception leaves it. Raises StoreUnavailable."""
        with self._session({}) as session:
            yield session

    @contextmanager
    def _session(self, options: dict[str, Any]) -> Iterator[Session]:
        engine = self.engine.execution_options(**options)
        with told(), Session(engine, expire_on_commit=False) as session, session.begin():
            yield session

    def settle(self) -> None:
        """SQLite's file then holds everything by itself, and its journal nothing old. Raises StoreUnavailable."""
        if self.engine.dialect.name == "sqlite":
            with told(), self.engine.connect() as connection:
                raw = connection.connection.driver_connection
                raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()

    def close(self) -> None:
        self.engine.dispose()


def open_engine(url: str | URL) -> Engine:
    """Raises WrongVersion for an address that is not one of a database."""
    try:
        address = make_url(url)
        sqlite = address.get_backend_name() == "sqlite"
        if not sqlite and address.get_backend_name() != "postgresql":
            raise WrongVersion("The address of the database must begin with postgresql:// or sqlite://.")
        if not sqlite:
            address = address.set(drivername="postgresql+psycopg")
            waits = {"connect_timeout": WAIT_S, "options": f"-c lock_timeout={WAIT_S}s -c statement_timeout=60s"}
            return create_engine(
                address,
                connect_args=waits,
                pool_pre_ping=True,
                pool_size=20,
                pool_timeout=WAIT_S,
                hide_parameters=True,
            )
        engine = create_engine(
            address, connect_args={"timeout": WAIT_S}, pool_size=20, pool_timeout=WAIT_S, hide_parameters=True
        )
    except ArgumentError:
        raise WrongVersion(
            "The address of the database cannot be read; write it like postgresql://user@host/name."
        ) from None
    except ModuleNotFoundError:
        raise WrongVersion(
            'For PostgreSQL, install rungwright with its extra: pip install "rungwright[postgresql]".'
        ) from None
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(connection: Any, _: Any) -> None:
    connection.isolation_level = None  # the driver's own way of beginning loses updates: see _begin_sqlite
    for pragma in ("foreign_keys=ON", "journal_mode=WAL", "synchronous=FULL", "secure_delete=ON"):
        connection.execute(f"PRAGMA {pragma}").close()


def _begin_sqlite(connection: Connection) -> None:
    # A plain BEGIN takes the lock for writing only at the first write: what was read before may be old by then.
    reading = connection.get_execution_options().get("reading")
    connection.exec_driver_sql("BEGIN" if reading else "BEGIN IMMEDIATE")


@contextmanager
def told() -> Iterator[None]:
    """A database that cannot be used, told in plain words. Raises StoreUnavailable."""
    try:
        yield
    except (OperationalError, InterfaceError, TimeoutError) as error:
        raise StoreUnavailable(_plain(error)) from error
    except StaleDataError as error:
        raise StoreUnavailable("Somebody else changed the same thing just now. Try again.") from error
    except DBAPIError as error:
        # SQLite tells of a damaged file by the bare class.
        if not error.connection_invalidated and type(error) is not DatabaseError:
            raise
        raise StoreUnavailable(_plain(error)) from error


_TOLD = (
    ("disk is full", "The disk that holds the data is full. Make room; nothing of this was written."),
    ("no space left", "The disk that holds the data is full. Make room; nothing of this was written."),
    ("disk i/o error", "The data cannot be read or written just now; look at the disk. Nothing of this was written."),
    ("lock timeout", "The data is in use by another program. Try again in a moment; nothing of this was written."),
    ("locked", "The data is in use by another program. Try again in a moment; nothing of this was written."),
    ("readonly", "The data may only be read here: look at the rights of its file. Nothing of this was written."),
    ("unable to open", "The file of the data cannot be opened: look at its folder and its rights."),
    ("not a database", "The file of the data is not a database. Take it from a backup."),
    ("malformed", "The file of the data is damaged. Take it from a backup."),
)


def _plain(error: Exception) -> str:
    text = str(getattr(error, "orig", error)).lower()
    for sign, words in _TOLD:
        if sign in text:
            return words
    return "The database does not answer just now. Try again in a moment; nothing of this was written."
