"""Sections of a workspace. Needs are read and written for the owner alone."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from sqlalchemy import delete, select

from rungwright.domain.grades import GRADE_CODES
from rungwright.domain.keeping import Role, RolloverDraft, SectionDraft
from rungwright.domain.section import Section, Support
from rungwright.store.cupboards import Cupboards
from rungwright.store.entries import Entries, Slice
from rungwright.store.tables import NeedRow, SectionRow


class LastGrade(ValueError):
    """A section of grade 12 goes no further."""


class Sections(Entries[SectionRow]):
    table, what = SectionRow, "section"

    def list(self, *, after: str | None, limit: int, archived: bool = False) -> Slice[SectionRow]:
        return self.page(self.of_workspace().where(SectionRow.archived == archived), after, limit)

    def add(self, draft: SectionDraft, *, roster_class: str | None = None) -> SectionRow:
        """The caller becomes its owner. Raises NotAllowed; NotThere for the cupboard."""
        row = self.place(draft, owner=self.caller.key, roster_class=roster_class)
        self._set_needs(row, draft.section)
        return row

    def place(
        self, draft: SectionDraft, *, owner: str | None, follows: str | None = None, roster_class: str | None = None
    ) -> SectionRow:
        """A section without needs, for somebody. Raises NotAllowed; NotThere for the cupboard."""
        self.caller.must_write()
        return self.made(
            owner_id=owner,
            body=_without_needs(draft.section),
            cupboard_id=self._cupboard(draft),
            follows_id=follows,
            roster_class=roster_class,
            archived=draft.archived,
        )

    def change(self, id: str, versions: Collection[int] | None, draft: SectionDraft) -> SectionRow:
        """Needs are set by the owner's change and left alone by another's. Raises NotThere, NotAllowed, Stale."""
        row = self.find_version(id, versions)
        self.caller.must_write_in(row.owner_id)
        # One that is nobody's, as after a roster was read for a school, is now this teacher's.
        taken = row.owner_id is None and self.caller.role == Role.TEACHER
        owner = self.caller.key if taken else row.owner_id
        if self.caller.owns(owner):
            self._set_needs(row, draft.section)
        cupboard = self._cupboard(draft)
        row.owner_id, row.body = owner, _without_needs(draft.section)
        row.cupboard_id, row.archived = cupboard, draft.archived
        return self.changed(row)

    def whole(self, row: SectionRow) -> Section:
        """The section as this caller may see it: with its needs for the owner, else without."""
        return self.wholes([row])[0]

    def wholes(self, rows: Sequence[SectionRow]) -> list[Section]:
        """As `whole`, for a page of them."""
        mine = [row.id for row in rows if self.caller.owns(row.owner_id)]
        needs: dict[str, dict[Support, int]] = {}
        query = select(NeedRow).where(NeedRow.section_id.in_(mine)).order_by(NeedRow.support)
        for need in self.session.scalars(query):
            needs.setdefault(need.section_id, {})[Support(need.support)] = need.students
        return [row.body.model_copy(update={"supports": needs.get(row.id)}) for row in rows]

    def roll_over(self, id: str, draft: RolloverDraft, versions: Collection[int] | None = None) -> SectionRow:
        """The section of a new year; the old one is archived.

        Needs and results of single groups do not go along: needs are looked at anew, and groups are made anew. Where
        most students are new, the new section follows none: earlier runs do not teach about it.
        Raises NotThere, NotAllowed, Stale, LastGrade.
        """
        old = self.find_version(id, versions)
        self.caller.must_write_in(old.owner_id)
        if draft.grade_up and old.body.grade_high + 1 >= len(GRADE_CODES):
            raise LastGrade(f"Grade {GRADE_CODES[-1]} is the last one; archive the section instead.")
        data = old.body.model_dump()
        if draft.grade_up:
            data["grades"] = [GRADE_CODES[GRADE_CODES.index(grade) + 1] for grade in old.body.grades]
        data["label"] = draft.label or old.body.label
        data["students"] = draft.students or old.body.students
        section = Section.model_validate(data)
        old.archived = True
        self.changed(old)
        new = SectionDraft(section=section, cupboard_id=old.cupboard_id)
        return self.place(new, owner=old.owner_id, follows=None if draft.most_are_new else old.id)

    def years(self, row: SectionRow) -> list[str]:
        """Ids of the section and of those it follows, newest first."""
        ids = [row.id]
        while row.follows_id is not None and row.follows_id not in ids:
            row = self.find(row.follows_id)
            ids.append(row.id)
        return ids

    def of_roster(self, roster_class: str) -> SectionRow | None:
        """Held for a change."""
        self.in_turn()
        query = self.of_workspace().where(SectionRow.roster_class == roster_class)
        return self.session.scalars(query.with_for_update()).one_or_none()

    def _cupboard(self, draft: SectionDraft) -> str | None:
        if draft.cupboard_id is not None:
            Cupboards(self.session, self.caller).find(draft.cupboard_id)
        return draft.cupboard_id

    def _set_needs(self, row: SectionRow, section: Section) -> None:
        self.session.execute(delete(NeedRow).where(NeedRow.section_id == row.id))
        for support, students in sorted((section.supports or {}).items()):
            if students:
                self.session.add(NeedRow(section_id=row.id, support=support.value, students=students))


def _without_needs(section: Section) -> Section:
    return section.model_copy(update={"supports": None})
