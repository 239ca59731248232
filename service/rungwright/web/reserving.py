"""What a plan has reserved in its section's cupboard, told in words; taught it takes it, dropped it gives it back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from rungwright.domain.keeping import LessonState
from rungwright.domain.section import Stock
from rungwright.recommend.wording import listed
from rungwright.rulebase import RuleBase
from rungwright.store import Caller, Cupboards, Lessons
from rungwright.web.saying import number


@dataclass(frozen=True)
class Reserved:
    words: str
    cupboard_id: str
    waits: bool
    """whether it is planned still, and so may be dropped"""


def reserved(session: Session, caller: Caller, section: str | None, plan: str, base: RuleBase) -> Reserved | None:
    """None where nothing was ever reserved for this plan."""
    row = Lessons(session, caller).of_plan(section, plan) if section else None
    if row is None:
        return None
    cupboard = Cupboards(session, caller).find(row.cupboard_id).label
    waits = row.state == LessonState.PLANNED
    if waits:
        said = amounts(row.materials, base)
        words = f"Reserved from {cupboard}: {said}." if said else f"Nothing of its kit is free in {cupboard}."
    elif row.state == LessonState.TAUGHT:
        said = amounts(row.taken, base)
        words = f"Taken from {cupboard}: {said}. " if said else f"Nothing was used up of {cupboard}. "
        words += "What is used again is back there."
    else:
        words = f"This plan was dropped or replaced: what it had reserved is free again in {cupboard}."
    return Reserved(words, row.cupboard_id, waits)


def taught(session: Session, caller: Caller, section: str, plan: str, day: date, base: RuleBase) -> None:
    """Results are there: what is not used again leaves the cupboard, once. Raises NotAllowed."""
    lessons = Lessons(session, caller)
    row = lessons.of_plan(section, plan)
    if row is not None and row.state != LessonState.TAUGHT:
        lessons.settle(row, LessonState.TAUGHT, day, base.materials)


def dropped(session: Session, caller: Caller, section: str | None, plan: str, base: RuleBase) -> None:
    """Give back what is reserved; said twice, or after it was taught, it changes nothing. Raises NotAllowed."""
    lessons = Lessons(session, caller)
    row = lessons.of_plan(section, plan) if section else None
    if row is not None and row.state == LessonState.PLANNED:
        lessons.settle(row, LessonState.DROPPED, row.taught_on, base.materials)


def amounts(stocks: Sequence[Stock], base: RuleBase) -> str:
    """`108 craft sticks and 1.8 rolls of masking tape`, in catalogue units."""
    return listed([_amount(stock, base) for stock in stocks if number(stock.quantity) != "0"])


def _amount(stock: Stock, base: RuleBase) -> str:
    said, material = number(stock.quantity), base.materials.get(stock.material)
    if material is None:
        return f"{said} of {stock.material.replace('_', ' ')}"
    return f"{said} {material.one if said == '1' else material.many}"
