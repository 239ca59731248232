"""Marks of one group at one criterion, as they are tapped or chosen: yes, no, with help, or k of n spots that held."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from rungwright.domain.recommendation import Recommendation
from rungwright.rulebase import RuleBase
from rungwright.web.saying import capital

POSITIONS = "load_positions"
NOT_TESTED = "not_tested"
SAID = {"yes": "yes", "no": "no", "with_help": "with help", NOT_TESTED: "not tested"}


@dataclass(frozen=True)
class TappedCriterion:
    """`marks`: what may be said of a group, and its words. `spots` above 1: how many held is told, k of n."""

    id: str
    label: str
    spots: int
    marks: list[tuple[str, str]]


def tapped(plan: Recommendation, base: RuleBase) -> list[TappedCriterion]:
    """The criteria of a lesson, with the marks that its record sheet has too."""
    layout = base.layouts.get(plan.challenge.id)
    asked = []
    for name in plan.after.expected.criteria:
        told = layout.criteria[name].levers if layout and name in layout.criteria else ()
        spots = int(plan.after.settings.get(POSITIONS, 1)) if POSITIONS in told else 1
        asked.append(TappedCriterion(name, capital(base.names[name]), spots, _marks(spots)))
    return asked


def plain(names: Iterable[str], base: RuleBase) -> list[TappedCriterion]:
    """Criteria with yes and no alone: how many spots held is told apart."""
    return [TappedCriterion(name, capital(base.names.get(name, name)), 1, _marks(1)) for name in names]


def _marks(spots: int) -> list[tuple[str, str]]:
    if spots == 1:
        return list(SAID.items())
    held = [(f"held.{k}", f"{k} of {spots}") for k in range(spots, -1, -1)]
    return [*held, ("with_help", SAID["with_help"]), (NOT_TESTED, SAID[NOT_TESTED])]


def mark_of(said: str, spots: int) -> str:
    """The mark of a run: every spot must hold."""
    k = _held(said, spots)
    return said if k is None else "yes" if k == spots else "no"


def positions_held(rows: Iterable[Mapping[str, str]], spots: int) -> dict[str, object] | None:
    """Groups by how many spots held, by the end; None where it was told of none. `rows`: `first` and `end` a group."""
    last = [row["end"] if row["end"] != NOT_TESTED else row["first"] for row in rows]
    held = [k for said in last if (k := _held(said, spots)) is not None]
    return {"of": spots, "counts": [held.count(k) for k in range(spots + 1)]} if held else None


def _held(said: str, spots: int) -> int | None:
    return next((k for k in range(spots + 1) if said == f"held.{k}"), None)
