"""Lessons: planned they reserve materials of the cupboard, taught they take what is used up."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date

from rungwright.domain.keeping import LessonDraft, LessonState
from rungwright.domain.material import Material
from rungwright.domain.section import Section, Stock
from rungwright.measure.kit import stock_of
from rungwright.store.cupboards import Cupboards, Held
from rungwright.store.entries import Entries, Slice
from rungwright.store.sections import Sections
from rungwright.store.tables import LessonRow


class NoCupboard(ValueError):
    """The section draws from no cupboard, so that nothing can be reserved."""


class Lessons(Entries[LessonRow]):
    table, what = LessonRow, "lesson"

    def list(self, *, section: str | None, after: str | None, limit: int) -> Slice[LessonRow]:
        query = self.of_workspace()
        if section is not None:
            query = query.where(LessonRow.section_id == section)
        return self.page(query, after, limit)

    def add(self, draft: LessonDraft, materials: Sequence[Stock], catalogue: Mapping[str, Material]) -> LessonRow:
        """Raises NotThere, NotAllowed, NoCupboard."""
        section = Sections(self.session, self.caller).find(draft.section_id)
        self.caller.must_write_in(section.owner_id)
        if section.cupboard_id is None:
            raise NoCupboard("This section draws from no cupboard; give it one first.")
        return self.made(
            section_id=section.id,
            cupboard_id=section.cupboard_id,
            recommendation_id=draft.recommendation_id,
            taught_on=draft.on,
            state=draft.state.value,
            materials=list(materials),
            taken=self._take(section.cupboard_id, draft.state, materials, catalogue),
        )

    def change(
        self,
        id: str,
        versions: Collection[int] | None,
        draft: LessonDraft,
        materials: Sequence[Stock],
        catalogue: Mapping[str, Material],
    ) -> LessonRow:
        """What a taught lesson took goes back first, so that a correction is exact. It stays with its section.

        Raises NotThere, NotAllowed, Stale.
        """
        row = self.find_version(id, versions)
        self.caller.must_write_in(Sections(self.session, self.caller).find(row.section_id).owner_id)
        Cupboards(self.session, self.caller).take(row.cupboard_id, row.taken, 1)
        taken = self._take(row.cupboard_id, draft.state, materials, catalogue)
        row.taught_on, row.state = draft.on, draft.state.value
        row.recommendation_id, row.materials, row.taken = draft.recommendation_id, list(materials), taken
        return self.changed(row)

    def of_plan(self, section: str, plan: str) -> LessonRow | None:
        """The last lesson that was to be taught by a kept answer."""
        query = self.of_workspace().where(LessonRow.section_id == section, LessonRow.recommendation_id == plan)
        return self.session.scalars(query.order_by(LessonRow.id.desc()).limit(1)).one_or_none()

    def waiting(self, section: str, day: date) -> Sequence[LessonRow]:
        """Planned lessons of kept answers up to a day, oldest first: a new plan of that day takes their place.

        What was planned for a later day, and what was planned by amounts of its own, is another lesson.
        """
        query = self.of_workspace().where(LessonRow.section_id == section, LessonRow.state == LessonState.PLANNED)
        query = query.where(LessonRow.recommendation_id.is_not(None), LessonRow.taught_on <= day)
        return self.session.scalars(query.order_by(LessonRow.id)).all()

    def plan(
        self,
        section_id: str,
        plan: str,
        day: date,
        lines: Sequence[tuple[str | None, float]],
        catalogue: Mapping[str, Material],
    ) -> LessonRow | None:
        """Reserve the kit of a kept answer, in the place of the plan that was waiting. The same plan again is one.

        `lines` as in `drawn`. None where there is no cupboard, or the section is another teacher's. Raises NotThere.
        """
        section = Sections(self.session, self.caller).find(section_id)
        if section.cupboard_id is None or not self.caller.may_write_in(section.owner_id):
            return None
        # The cupboard is held from here on, so that two who plan at once do not both find the same things free.
        cupboard = Cupboards(self.session, self.caller).find(section.cupboard_id, to_change=True)
        before = self.waiting(section_id, day)
        held = Cupboards(self.session, self.caller).held(cupboard, catalogue, but=[row.id for row in before])
        materials = drawn(lines, section.body, held, catalogue)
        same = None
        for row in before:
            told = (row.recommendation_id, row.cupboard_id, row.materials)
            if same is None and told == (plan, cupboard.id, materials):
                same = row
            else:
                self.settle(row, LessonState.DROPPED, row.taught_on, catalogue)
        draft = LessonDraft(section_id=section_id, on=day, recommendation_id=plan)
        return same or self.add(draft, materials, catalogue)

    def settle(self, row: LessonRow, state: LessonState, day: date, catalogue: Mapping[str, Material]) -> LessonRow:
        """Say that a lesson was taught, or was dropped. Raises NotAllowed."""
        draft = LessonDraft(
            section_id=row.section_id,
            on=day,
            recommendation_id=row.recommendation_id,
            materials=row.materials,
            state=state,
        )
        return self.change(row.id, None, draft, row.materials, catalogue)

    def _take(
        self, cupboard: str, state: LessonState, materials: Sequence[Stock], catalogue: Mapping[str, Material]
    ) -> list[Stock]:
        """What a lesson subtracts from the cupboard in this state: taught, what is not used again."""
        if state != LessonState.TAUGHT:
            return []
        used_up = [s for s in materials if s.material not in catalogue or not catalogue[s.material].reused]
        return Cupboards(self.session, self.caller).take(cupboard, used_up, -1)


def drawn(
    lines: Sequence[tuple[str | None, float]],
    section: Section,
    held: Sequence[Held],
    catalogue: Mapping[str, Material],
) -> list[Stock]:
    """What the kit of a kept answer takes from a cupboard, in catalogue units.

    `lines`: material and what the class needs of it, in its kit measure. Of each line the material that the answer
    names first, then others of its role that the section may use, most first. What the cupboard lacks is not reserved:
    it has to be brought.
    """
    free = {h.material: h.free for h in held if h.material in catalogue}
    allowed = stock_of(section, catalogue).allowed
    taken: dict[str, float] = {}
    for material, left in lines:
        if material not in catalogue:
            continue
        role = catalogue[material].role
        others = [m for m in free if m in allowed and catalogue[m].role == role and m != material]
        for name in [material, *sorted(others, key=lambda m: (-free[m] * catalogue[m].holds, m))]:
            used = min(left / catalogue[name].holds, free.get(name, 0.0))
            if used > 0:
                free[name] -= used
                left -= used * catalogue[name].holds
                taken[name] = taken.get(name, 0.0) + used
    return [Stock(material=name, quantity=round(amount, 6)) for name, amount in sorted(taken.items())]
