"""Where a command finds a ladder: in a file, or kept in the store and named by its id."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from rungwright.cli.terminal import BadInput, opened, opened_store

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from rungwright.api.kept_views import LadderSections
    from rungwright.domain.ladder import Ladder
    from rungwright.store import Caller
    from rungwright.store.tables import LadderRow


@dataclass(frozen=True)
class Kept:
    """A kept ladder as it is named on the command line: its id or, for a version that was published, ID:2."""

    id: str
    published: int | None


def named(text: str) -> Kept | None:
    """None where the text is no id; then it names a file."""
    found = re.fullmatch(r"([0-9a-f]{22})(?::([1-9][0-9]{0,5}))?", text)
    return Kept(found[1], found[2] and int(found[2])) if found else None


def row_of(session: Session, id: str) -> tuple[Caller, LadderRow]:
    """A ladder, and who runs a command on it. Raises NotThere."""
    from rungwright.store import Ladders
    from rungwright.store.keys import caller_of_ladder

    caller = caller_of_ladder(session, id)
    return caller, Ladders(session, caller).find(id)


def ladder_data(text: str) -> Any:
    """The data of a ladder; that of a file is not looked at yet. Raises BadInput."""
    from rungwright.cli.reading import read_data

    kept = named(text)
    return _document(kept).model_dump(mode="json") if kept else read_data(text)


def _document(kept: Kept) -> Ladder:
    """Raises BadInput."""
    from rungwright.store import Ladders

    with _opened(kept) as (session, caller):
        return Ladders(session, caller).document(kept.id, kept.published)


def before_and_now(text: str) -> tuple[Ladder, Ladder]:
    """A kept ladder as it was published before, and as it is now. Raises BadInput."""
    from rungwright.api.ladder_keeping import other_of

    kept = must_be_kept(text, "give the second ladder too")
    with _opened(kept) as (session, caller):
        first, now = other_of(session, caller, kept.id, other=None, published=kept.published)
        return first, now


def standing_on(text: str) -> LadderSections:
    """The sections that are kept, on a kept ladder. Raises BadInput."""
    from rungwright.api.ladder_keeping import standing

    kept = must_be_kept(text, "give the sections in a file")
    with opened() as (_, rules), told_in_lines(text), _opened(kept) as (session, caller):
        return standing(session, caller, kept.id, rules)


def labels(text: str) -> dict[str, list[str]]:
    """Rung -> labels of the sections that were put on it, for a kept ladder as it is now. Raises BadInput."""
    from rungwright.api.ladder_keeping import labels_on

    kept = named(text)
    if kept is None or kept.published is not None:
        return {}
    with _opened(kept) as (session, caller):
        return labels_on(session, caller, kept.id)


def state_of(text: str) -> list[str]:
    """A line for a kept ladder as it is now. Raises BadInput."""
    kept = named(text)
    if kept is None or kept.published is not None:
        return []
    with _opened(kept) as (session, _):
        return ["", state(row_of(session, kept.id)[1])]


def must_be_kept(text: str, otherwise: str) -> Kept:
    """Raises BadInput."""
    kept = named(text)
    if kept is None:
        raise BadInput(f"{text}: is no id of a ladder that is kept, as `ladder list` shows them; {otherwise}")
    return kept


@contextmanager
def _opened(kept: Kept) -> Iterator[tuple[Session, Caller]]:
    """Raises BadInput."""
    with opened_store() as store, store.reading() as session:
        yield session, row_of(session, kept.id)[0]


@contextmanager
def told_in_lines(where: str) -> Iterator[None]:
    """Raises BadInput for what cannot be, in lines."""
    from rungwright.api.problems import ProblemError
    from rungwright.cli.reading import problem_lines
    from rungwright.store import Stale

    try:
        yield
    except ProblemError as error:
        raise BadInput(*(problem_lines(where, error.errors) or [f"{where}: {error.detail}"])) from None
    except Stale:
        raise BadInput(f"{where}: it was changed meanwhile; look at it again with `ladder show`") from None


def state(row: LadderRow) -> str:
    return f"Kept as state {row.version}."
