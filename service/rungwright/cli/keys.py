"""`rungwright keys`: who may ask a service that others can reach."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from rungwright.cli.terminal import BadInput, opened_store, say

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

keys = typer.Typer(
    name="keys",
    help="Keys of teachers, coaches and planning tools. From the first key on, every caller needs one.",
    no_args_is_help=True,
)


class Role(StrEnum):
    TEACHER = "teacher"
    COACH = "coach"
    PLANNER = "planner"


Days = Annotated[int | None, typer.Option(min=1, max=3660, help="Days until it ends; without, it stays good.")]
KeyId = Annotated[str, typer.Argument(help="Id of the key, as `keys list` shows it.")]


@keys.command()
def add(
    label: Annotated[str, typer.Argument(help="Whose or what it is for, for example: Room 12.")],
    role: Annotated[
        Role,
        typer.Option(help="teacher: own sections; coach: every section; planner: asks and reads. Needs stay hidden."),
    ] = Role.TEACHER,
    workspace: Annotated[str, typer.Option(help="School or person it belongs to, by name or id.")] = "local",
    new_workspace: Annotated[bool, typer.Option("--new-workspace", help="Make that workspace.")] = False,
    days: Days = None,
) -> None:
    """Make a key. It is shown once: write it down."""
    from rungwright.domain import keeping
    from rungwright.store import keys as kept

    if not 1 <= len(label.strip()) <= 80:
        raise BadInput("the label has 1 to 80 characters")
    with opened_store() as store, store.writing() as session:
        place = workspace_id(session, workspace, new=new_workspace)
        row, key = kept.add_key(session, label=label.strip(), role=keeping.Role(role.value), workspace=place, days=days)
    say([f"Key {row.id} for {row.label} ({row.role}). It is shown this once:", "", key])


@keys.command("list")
def list_() -> None:
    """List keys, without what nobody may see again."""
    from rungwright.store import keys as kept

    with opened_store() as store, store.reading() as session:
        names = {row.id: row.label for row in kept.workspaces(session)}
        rows = kept.keys(session)
    if not rows:
        say(["There are no keys: only this computer is answered, as one person."])
    for row in rows:
        state = _state(row.revoked_at, row.expires_at)
        say([f"{row.id}  {row.role:<8} {state:<18} {row.label} ({names[row.workspace_id]})"])


@keys.command()
def renew(id: KeyId, days: Days = None) -> None:
    """Give the same person another key; what they own stays theirs, and the old key ends."""
    from rungwright.store import keys as kept

    with opened_store() as store, store.writing() as session:
        row, key = kept.renew_key(session, id, days=days)
    say([f"Key {row.id} for {row.label} ({row.role}). It is shown this once:", "", key])


@keys.command()
def revoke(id: KeyId) -> None:
    """End a key at once."""
    from rungwright.store import keys as kept

    with opened_store() as store, store.writing() as session:
        row = kept.revoke_key(session, id)
    say([f"Key {row.id} for {row.label} is good no more."])


def workspace_id(session: Session, name: str, *, new: bool = False) -> str:
    """Id of a workspace. Raises BadInput."""
    from rungwright.store import keys as kept

    rows = kept.workspaces(session)
    found = [row.id for row in rows if name in (row.id, row.label)]
    if new and found:
        raise BadInput(f"there is a workspace {name!r} already; leave --new-workspace out")
    if new:
        return kept.add_workspace(session, name).id
    if not found:
        raise BadInput(
            f"there is no workspace {name!r}; there is {', '.join(row.label for row in rows)}. "
            "--new-workspace makes one"
        )
    if len(found) > 1:
        raise BadInput(f"several workspaces are called {name!r}; give the id: {', '.join(found)}")
    return found[0]


def _state(revoked: datetime | None, expires: datetime | None) -> str:
    from rungwright.store.types import now

    if revoked is not None:
        return f"ended {revoked:%Y-%m-%d}"
    if expires is None:
        return "good"
    return f"{'good until' if expires > now() else 'ended'} {expires:%Y-%m-%d}"
