"""Ladders of a workspace: the draft there is, every version that stood there before, and where sections stand."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Sequence

from sqlalchemy import func, select

from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_keeping import RungPlaceDraft
from rungwright.store.entries import Entries, Slice
from rungwright.store.errors import NotThere, Stale
from rungwright.store.sections import Sections
from rungwright.store.tables import LadderRow, PastLadderRow, RungPlaceRow, SectionRow
from rungwright.store.types import now


class PublishedStays(ValueError):
    """A published version never changes, and none takes the number of another."""


def place_version(row: RungPlaceRow | None) -> int:
    """A number for where a section stands, another wherever else it stands; 0 where it stands nowhere."""
    if row is None:
        return 0
    told = json.dumps([row.now_on, row.week and row.week.isoformat(), row.met and row.met.model_dump(mode="json")])
    return int(hashlib.sha256(told.encode()).hexdigest()[:6], 16)


class Ladders(Entries[LadderRow]):
    table, what = LadderRow, "ladder"

    def list(self, *, after: str | None, limit: int, archived: bool = False) -> Slice[LadderRow]:
        return self.page(self.of_workspace().where(LadderRow.archived == archived), after, limit)

    def add(self, ladder: Ladder) -> LadderRow:
        """Raises NotAllowed."""
        self.caller.must_coach()
        return self.made(body=ladder, archived=False)

    def change(
        self, id: str, versions: Collection[int] | None, ladder: Ladder, *, archived: bool | None = None
    ) -> LadderRow:
        """What stood there stays in the history. Raises NotThere, NotAllowed, Stale, PublishedStays."""
        self.caller.must_coach()
        row = self.find_version(id, versions)
        _keeps_what_is_published(row.body, ladder)
        self.session.add(
            PastLadderRow(
                ladder_id=row.id,
                version=row.version,
                workspace_id=row.workspace_id,
                body=row.body,
                published=row.body.published and row.body.published.version,
                replaced_at=now(),
            )
        )
        row.body = ladder
        row.archived = row.archived if archived is None else archived
        return self.changed(row)

    def history(
        self, id: str, *, published: bool = False, before: int | None = None, limit: int = 200
    ) -> Sequence[PastLadderRow]:
        """What stood there before, newest first; of each published version the last. Raises NotThere."""
        self.find(id)
        past = self._past(id)
        if before is not None:
            past = past.where(PastLadderRow.version < before)
        if published:
            last = select(func.max(PastLadderRow.version)).where(
                PastLadderRow.ladder_id == id, PastLadderRow.published.is_not(None)
            )
            past = past.where(PastLadderRow.version.in_(last.group_by(PastLadderRow.published)))
        return self.session.scalars(past.order_by(PastLadderRow.version.desc()).limit(limit)).all()

    def at_version(self, id: str, version: int) -> Ladder:
        """The document as it stood at one version. Raises NotThere."""
        row = self.find(id)
        if row.version == version:
            return row.body
        past = self.session.scalars(self._past(id).where(PastLadderRow.version == version)).one_or_none()
        if past is None:
            raise NotThere("version", str(version))
        return past.body

    def at_published(self, id: str, number: int) -> Ladder:
        """Raises NotThere."""
        row = self.find(id)
        if row.body.published and row.body.published.version == number:
            return row.body
        past = self._past(id).where(PastLadderRow.published == number).order_by(PastLadderRow.version.desc())
        found = self.session.scalars(past.limit(1)).one_or_none()
        if found is None:
            raise NotThere("published version", str(number))
        return found.body

    def document(self, id: str, published: int | None) -> Ladder:
        """A published version, or what there is now. Raises NotThere."""
        return self.find(id).body if published is None else self.at_published(id, published)

    def places(self, id: str) -> dict[str, RungPlaceRow]:
        """By section. Raises NotThere."""
        self.find(id)
        query = select(RungPlaceRow).where(RungPlaceRow.ladder_id == id)
        query = query.where(RungPlaceRow.workspace_id == self.caller.workspace).order_by(RungPlaceRow.section_id)
        return {row.section_id: row for row in self.session.scalars(query)}

    def place(self, id: str, section: str) -> RungPlaceRow | None:
        """Raises NotThere."""
        self.find(id)
        Sections(self.session, self.caller).find(section)
        return self.session.get(RungPlaceRow, (id, section))

    def put(self, id: str, draft: RungPlaceDraft, versions: Collection[int] | None = None) -> SectionRow:
        """Put a section on a rung, or, with nothing told, off the ladder.

        `versions`: a `place_version` of where it may stand before; None takes any. Raises NotThere, NotAllowed, Stale.
        """
        self.caller.must_coach()
        # The row of the ladder is held, so that two who put the same section down at once make one entry.
        self.find(id, to_change=True)
        section = Sections(self.session, self.caller).find(draft.section_id)
        row = self.session.get(RungPlaceRow, (id, draft.section_id))
        if versions is not None and place_version(row) not in versions:
            raise Stale("place on the ladder", id)
        if draft.now_on is None and draft.week is None and draft.met is None:
            if row is not None:
                self.session.delete(row)
                self.log("taken off", id)
            return section
        if row is None:
            row = RungPlaceRow(ladder_id=id, section_id=draft.section_id, workspace_id=self.caller.workspace)
            self.session.add(row)
        row.now_on, row.week, row.met = draft.now_on, draft.week, draft.met
        self.session.flush()
        self.log("placed on", id)
        return section

    def _past(self, id: str):
        return select(PastLadderRow).where(
            PastLadderRow.ladder_id == id, PastLadderRow.workspace_id == self.caller.workspace
        )


def _keeps_what_is_published(before: Ladder, after: Ladder) -> None:
    """Raises PublishedStays."""
    if after == before:
        return
    if before.published and after.published:
        raise PublishedStays(f"version {before.version} is published and never changes; `revise` opens the next draft")
    if after.version != before.version + (after.published is not None):
        raise PublishedStays(f"this is an edit of version {after.version}, and version {before.version} was the last")
