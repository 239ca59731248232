"""What the repositories share: pages, entries of the caller's workspace alone, and the log."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, Generic, TypeVar

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from rungwright.store.callers import Caller
from rungwright.store.errors import NotThere, Stale
from rungwright.store.ids import new_id
from rungwright.store.tables import LogRow, WorkspaceRow
from rungwright.store.types import now

R = TypeVar("R")


@dataclass(frozen=True)
class Slice(Generic[R]):
    """`next` is what to give as `after` for the page that follows; None on the last one."""

    items: Sequence[R]
    next: str | None


def log_lines(session: Session, workspace: str, last: int) -> Sequence[LogRow]:
    """The last lines of a workspace's log, oldest first."""
    query = select(LogRow).where(LogRow.workspace_id == workspace).order_by(LogRow.id.desc()).limit(last)
    return session.scalars(query).all()[::-1]


class Entries(Generic[R]):
    """Rows of one table, those of the caller's workspace only: the one place where a workspace is chosen."""

    table: ClassVar[type]
    what: ClassVar[str]
    order: ClassVar[str] = "id"

    def __init__(self, session: Session, caller: Caller):
        self.session, self.caller = session, caller

    def of_workspace(self) -> Select[tuple[R]]:
        return select(self.table).where(self.table.workspace_id == self.caller.workspace)

    def find(self, id: str, *, to_change: bool = False) -> R:
        """Raises NotThere."""
        # PostgreSQL takes no NUL, not even to look for it.
        if "\0" in id:
            raise NotThere(self.what, id)
        if to_change:
            self.in_turn()
        query = self.of_workspace().where(self.table.id == id)
        row = self.session.scalars(query.with_for_update() if to_change else query).one_or_none()
        if row is None:
            raise NotThere(self.what, id)
        return row

    def find_version(self, id: str, versions: Collection[int] | None) -> R:
        """The row, held for a change. `versions` None takes any. Raises NotThere, Stale."""
        row = self.find(id, to_change=True)
        if versions is not None and row.version not in versions:
            raise Stale(self.what, id)
        return row

    def page(self, query: Select[tuple[R]], after: str | None, limit: int) -> Slice[R]:
        """In the order of coming: rows that are added meanwhile come last and move nothing."""
        place = getattr(self.table, self.order)
        if after is not None:
            query = query.where(place > after)
        rows = self.session.scalars(query.order_by(place).limit(limit + 1)).all()
        return Slice(rows[:limit], getattr(rows[limit - 1], self.order) if len(rows) > limit else None)

    def in_turn(self) -> None:
        """From here to the end of the transaction nobody else writes in this workspace.

        So rows come to be seen in the order of their ids, and a cursor passes over none whose writer was slow; nor do
        two writers wait for each other. SQLite has one writer at a time anyway.
        """
        turns = self.session.info.setdefault("in turn", set())
        if self.caller.workspace not in turns:
            # Not the strongest lock: rows that name the workspace may still be added, as lines of the log are.
            query = select(WorkspaceRow.id).where(WorkspaceRow.id == self.caller.workspace)
            self.session.execute(query.with_for_update(key_share=True))
            turns.add(self.caller.workspace)

    def next_id(self) -> str:
        """Of a row that comes last in its list."""
        self.in_turn()
        return new_id(after=self.session.scalar(select(func.max(getattr(self.table, self.order)))))

    def made(self, **columns: Any) -> R:
        """A new row."""
        moment, id = now(), self.next_id()
        row = self.table(id=id, workspace_id=self.caller.workspace, created_at=moment, updated_at=moment, **columns)
        self.session.add(row)
        self.session.flush()
        self.log("made", row.id)
        return row

    def changed(self, row: R) -> R:
        """To be called after a change: the version rises."""
        row.updated_at = now()
        self.session.flush()
        self.log("changed", row.id)
        return row

    def log(self, did: str, id: str) -> None:
        self.session.add(
            LogRow(
                id=new_id(),
                workspace_id=self.caller.workspace,
                caller=self.caller.key,
                did=did,
                what=self.what,
                entry_id=id,
                at=now(),
            )
        )
