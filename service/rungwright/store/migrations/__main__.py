"""After a change of `tables`: `python -m rungwright.store.migrations "what is new"` writes the next migration."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from alembic import command

from rungwright.store.database import Store
from rungwright.store.upgrade import config_for, known_forms, prepare


def write_migration(what: str) -> None:
    """Compare a new database with the models, and write what they lack as the next migration. Look it through."""
    with tempfile.TemporaryDirectory() as folder:
        store = Store(f"sqlite:///{Path(folder) / 'new.sqlite3'}")
        prepare(store)
        with store.engine.begin() as connection:
            number = len(known_forms(connection)) + 1
            command.revision(config_for(connection), what, autogenerate=True, rev_id=f"{number:04d}")
        store.close()


if __name__ == "__main__":
    write_migration(" ".join(sys.argv[1:]))
