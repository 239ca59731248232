"""Who asks: one key of one workspace, or the one person of a computer without keys.

Everybody of a workspace sees its sections, cupboards, runs and kept answers, but for needs: those are seen by the
owner of the section alone. A planner asks and reads. A teacher also writes, in sections of their own. A coach writes in
every section of the workspace, and edits its ladders.
"""

from __future__ import annotations

from dataclasses import dataclass

from rungwright.domain.keeping import Role
from rungwright.store.errors import NotAllowed

LOCAL = "local"
"""The workspace of the one person."""


@dataclass(frozen=True)
class Caller:
    """`key` None is the one person of this computer."""

    workspace: str
    key: str | None
    role: Role

    def owns(self, owner: str | None) -> bool:
        return owner == self.key

    def may_write_in(self, owner: str | None) -> bool:
        if self.role == Role.TEACHER:
            return owner is None or self.owns(owner)
        return self.role == Role.COACH

    def must_write(self) -> None:
        """Raises NotAllowed."""
        if self.role == Role.PLANNER:
            raise NotAllowed("A planner's key asks and reads; ask for a teacher's or a coach's key to change things.")

    def must_write_in(self, owner: str | None) -> None:
        """Raises NotAllowed."""
        self.must_write()
        if not self.may_write_in(owner):
            raise NotAllowed("This section belongs to another teacher; its owner or a coach can change it.")

    def must_coach(self) -> None:
        """Raises NotAllowed."""
        if self.role != Role.COACH:
            raise NotAllowed("Ladders are shared by the school: a coach edits them, everybody reads them.")


ONE_PERSON = Caller(LOCAL, None, Role.COACH)
