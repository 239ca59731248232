"""Cupboards: what is in them, what planned lessons have reserved, what may still be used."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select

from rungwright.domain.keeping import CupboardDraft, LessonState
from rungwright.domain.material import Material
from rungwright.domain.section import Stock
from rungwright.measure.kit import KEPT_BACK
from rungwright.store.entries import Entries, Slice
from rungwright.store.tables import CupboardRow, LessonRow, SectionRow


@dataclass(frozen=True)
class Held:
    """One material of a cupboard, in its catalogue unit. `free` is what is left after keeping back and reserving."""

    material: str
    quantity: float
    kept_back: float
    reserved: float
    free: float


class Cupboards(Entries[CupboardRow]):
    table, what = CupboardRow, "cupboard"

    def list(self, *, after: str | None, limit: int, archived: bool = False) -> Slice[CupboardRow]:
        return self.page(self.of_workspace().where(CupboardRow.archived == archived), after, limit)

    def add(self, draft: CupboardDraft) -> CupboardRow:
        self.caller.must_write()
        return self.made(label=draft.label, materials=draft.materials, archived=draft.archived)

    def change(self, id: str, versions: Collection[int] | None, draft: CupboardDraft) -> CupboardRow:
        """Raises NotThere, NotAllowed, Stale."""
        self.caller.must_write()
        row = self.find_version(id, versions)
        row.label, row.materials, row.archived = draft.label, draft.materials, draft.archived
        return self.changed(row)

    def held(self, row: CupboardRow, catalogue: Mapping[str, Material], *, but: Collection[str] = ()) -> list[Held]:
        """What is in a cupboard, and what of it is free. `but`: lessons whose own reservation is not counted."""
        reserved = self._reserved(row.id, catalogue, but)
        found = []
        for stock in sorted(row.materials, key=lambda stock: stock.material):
            kept_back, taken = stock.quantity * KEPT_BACK, reserved.get(stock.material, 0.0)
            free = max(stock.quantity - kept_back - taken, 0.0)
            found.append(Held(stock.material, stock.quantity, *(round(x, 6) for x in (kept_back, taken, free))))
        return found

    def for_section(
        self, row: CupboardRow, catalogue: Mapping[str, Material], *, but: Collection[str] = ()
    ) -> list[Stock]:
        """The materials of a section that draws from it: the flow keeps a tenth back, and `free` must be left."""
        return [
            Stock(material=h.material, quantity=round(h.free / (1 - KEPT_BACK), 6))
            for h in self.held(row, catalogue, but=but)
        ]

    def take(self, id: str, amounts: Sequence[Stock], sign: int) -> list[Stock]:
        """Subtract (sign -1) or give back (sign 1); never below nothing. The amounts that were really moved."""
        row = self.find(id, to_change=True)
        there = {stock.material: stock.quantity for stock in row.materials}
        moved = []
        for amount in amounts:
            before = there.get(amount.material, 0.0)
            after = max(round(before + sign * amount.quantity, 6), 0.0)
            if after != before:
                moved.append(Stock(material=amount.material, quantity=round(abs(after - before), 6)))
                there[amount.material] = after
        if moved:
            row.materials = [Stock(material=name, quantity=held) for name, held in there.items()]
            self.changed(row)
        return moved

    def _reserved(self, id: str, catalogue: Mapping[str, Material], but: Collection[str]) -> dict[str, float]:
        """What is used up adds up over all planned lessons; what is used again is needed on the busiest day only.

        A section that was put away reserves nothing until it comes back.
        """
        lessons = self.session.scalars(
            select(LessonRow)
            .join(SectionRow, SectionRow.id == LessonRow.section_id)
            .where(LessonRow.workspace_id == self.caller.workspace, LessonRow.cupboard_id == id)
            .where(LessonRow.state == LessonState.PLANNED, LessonRow.id.not_in(list(but)))
            .where(SectionRow.archived.is_(False))
            .order_by(LessonRow.id)
        )
        by_day: dict[str, dict[object, float]] = defaultdict(lambda: defaultdict(float))
        for lesson in lessons:
            for stock in lesson.materials:
                again = stock.material in catalogue and catalogue[stock.material].reused
                by_day[stock.material][lesson.taught_on if again else None] += stock.quantity
        return {material: max(days.values()) for material, days in by_day.items()}
