"""Whether the cupboard holds the kit of every group, and which materials make it up.

Materials of one role add up, and what is cut (covers, tape) is counted by its measure. What cutting wastes is then left
out: at most a tenth for what the catalogue has, a bag of 2000 cm2 for covers of 900, 450 or 225; that is what the
tenth kept back is for as well. Whole lots by material are counted in `recommend.supplies`.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.challenge import Challenge, KitLine
from rungwright.domain.material import Material
from rungwright.domain.section import Section
from rungwright.measure.columns import Columns
from rungwright.measure.verdicts import CLEAR, NOT_FEASIBLE, UNCERTAIN, Statement

Array = NDArray[np.float64]

KEPT_BACK = 0.1  # part of each material that stays in the cupboard for spills and repairs: agreed here
REPAIR_KIT = {"joiner_tape": 20.0, "sheet": 1.0}  # by role, for each group: see the lever repair_kit
FIGURES_A_CARD = 2  # an index card gives two figures of 75 x 30 mm with their fold base
SETS_WITH_RAIN = 2  # a wet card is not used again
UNITS = {"piece": "", "sheet": " sheets", "cm": " cm", "cm2": " cm²", "g": " g"}


@dataclass(frozen=True)
class KitCheck:
    """Kit of n versions, in kit measures (pieces, sheets, cm, cm2, g); mappings go by role."""

    groups: int
    need: Mapping[str, Array]
    """for the whole class, (n,), repair kits included"""
    there: Mapping[str, float] | None
    """what may be used of the cupboard, a tenth kept back; None if the cupboard was not told; infinite for what a usual
    cupboard holds where others of its roles are ruled out"""
    verdict: NDArray[np.int64]
    """(n,), codes of `verdicts`: uncertain where the cupboard was not told, not feasible where a line is short"""

    @property
    def short(self) -> dict[str, Array]:
        """Amount lacking for the class, (n,); 0 where nothing lacks or the cupboard was not told."""
        return {role: np.maximum(need - self._there(role), 0.0) for role, need in self.need.items()}

    @property
    def left_over(self) -> dict[str, Array]:
        """Amount to spare for the class, (n,); infinite if the cupboard was not told."""
        return {role: np.maximum(self._there(role) - need, 0.0) for role, need in self.need.items()}

    @property
    def lines_short(self) -> NDArray[np.int64]:
        """Kit lines that are short, (n,)."""
        return np.sum([short > 0 for short in self.short.values()], axis=0)

    @property
    def each(self) -> dict[str, float | None]:
        """What the cupboard holds for each group; None if it was not told."""
        there = {role: self._there(role) / self.groups for role in self.need}
        return {role: amount if np.isfinite(amount) else None for role, amount in there.items()}

    def _there(self, role: str) -> float:
        return np.inf if self.there is None else self.there[role]


@dataclass(frozen=True)
class KitUse:
    """One line of the kit of one version."""

    lever: str | None
    """None for the card of the figures, which no lever counts"""
    role: str
    material: str | None
    """what there is most of in this role; None if there is nothing"""
    label: str
    measure: str
    per_group: float
    """for building; a repair kit comes on top"""
    for_class: float
    """repair kits included"""
    there: float | None
    """in this role, after keeping back; None if the cupboard was not told"""
    short: float
    also: tuple[str, ...]
    """materials of the cupboard that make up the rest, in order of use"""
    instead: tuple[str, ...]
    """other materials with this role, those of the cupboard first; where a line is short, what to collect"""


@dataclass(frozen=True)
class Stock:
    """What a section may draw on."""

    catalogue: Mapping[str, Material]
    allowed: Mapping[str, Material]
    """in order of id, what is not excluded by id, allergen or tool; a material that needs a tool is out where tools
    were told and that tool is not among them"""
    held: Mapping[str, float] | None
    """material -> what may be used of it, in its kit measure, a tenth kept back; None if the cupboard was not told"""

    def there(self, roles: Collection[str]) -> dict[str, float] | None:
        """role -> what may be used in it; see `KitCheck.there`."""
        if self.held is not None:
            return {r: float(sum(n for m, n in self.held.items() if self.catalogue[m].role == r)) for r in roles}
        # A usual cupboard has enough of everything, but not of a role whose materials are all ruled out.
        usual = {m.role for m in self.allowed.values()}
        return None if usual >= set(roles) else {r: np.inf if r in usual else 0.0 for r in roles}


def stock_of(section: Section, catalogue: Mapping[str, Material], *, banned: Collection[str] = ()) -> Stock:
    """`banned`: materials and tools that a limit rules out, besides the section's own exclusions."""
    out = {*(section.exclusions or ()), *banned}
    allowed = {
        name: m
        for name, m in sorted(catalogue.items())
        if not out & {name, m.tool, *m.allergens} and (not m.tool or section.tools is None or m.tool in section.tools)
    }
    if section.materials is None:
        return Stock(catalogue, allowed, None)
    held: dict[str, float] = {}
    for entry in section.materials:
        if entry.material in allowed:
            usable = entry.quantity * allowed[entry.material].holds * (1 - KEPT_BACK)
            held[entry.material] = round(held.get(entry.material, 0.0) + usable, 6)
    # In order of name, so that the order of the list changes no sum.
    return Stock(catalogue, allowed, dict(sorted(held.items())))


def kit_check(challenge: Challenge, section: Section, stock: Stock, cols: Columns) -> KitCheck:
    """Whether each version's kit is in the cupboard."""
    repair = np.where(cols.is_one_of("repair_kit", True), 1.0, 0.0)
    need = {
        line.role: section.groups * (cols[line.lever] + repair * REPAIR_KIT.get(line.role, 0.0))
        for line in challenge.kit
    }
    there = stock.there(need)
    check = KitCheck(section.groups, need, there, np.full(cols.n, UNCERTAIN))
    if there is not None:
        check.verdict[:] = np.where(check.lines_short > 0, NOT_FEASIBLE, UNCERTAIN if stock.held is None else CLEAR)
    return check


def kit_statement(challenge: Challenge, catalogue: Mapping[str, Material], check: KitCheck, i: int) -> Statement:
    """Version `i` in one sentence, with the amounts lacking by role (in kit measures)."""
    short = {role: float(np.ceil(lack[i])) for role, lack in check.short.items()}
    groups = "the one group" if check.groups == 1 else f"all {check.groups} groups"
    if check.there is None:
        text = f"The cupboard was not told, so a usual one is taken to hold the kit of {groups}."
    elif not any(short.values()):
        text = f"The cupboard holds the kit of {groups}, with a tenth kept back."
    else:
        lacking = [_amount(line, catalogue, short[line.role]) for line in challenge.kit if short[line.role]]
        listed = " and ".join((", ".join(lacking[:-1]), lacking[-1])) if len(lacking) > 1 else lacking[0]
        text = f"For {groups} the cupboard is short of {listed}, with a tenth kept back."
    return Statement(text, {"groups": check.groups, **{f"short_{role}": lack for role, lack in short.items()}})


def kit_mend(challenge: Challenge, check: KitCheck, cols: Columns, i: int) -> list[str]:
    """What would help version `i`: what to collect is in `kit_lines`; here only the lines that are short give way."""
    lacking = {line.lever for line in challenge.kit if check.short[line.role][i] > 0}
    lines = {line.lever for line in challenge.kit}
    return [
        m.text
        for m in challenge.mend
        if m.check == "kit"
        and lacking
        and (m.lever in lacking or m.lever not in lines)
        and m.applies(cols.levers[m.lever], cols.row(i)[m.lever])
    ]


def kit_lines(challenge: Challenge, section: Section, stock: Stock, cols: Columns, i: int) -> list[KitUse]:
    """The kit of version `i`, one line a role with something in it, and the card for the figures last."""
    check = kit_check(challenge, section, stock, cols)
    lines = [
        _line(line, float(cols[line.lever][i]), float(check.need[line.role][i]), stock)
        for line in challenge.kit
        if check.need[line.role][i] > 0
    ]
    sets = SETS_WITH_RAIN if any(t.leaves == "wet" for t in challenge.tests) else 1
    cards = float(np.ceil(cols["figure_count"][i] * sets / FIGURES_A_CARD))
    return [*lines, _line(None, cards, cards * section.groups, stock)]


def _line(line: KitLine | None, per_group: float, for_class: float, stock: Stock) -> KitUse:
    """One line; with `line` None, the card for the figures."""
    role = line.role if line else "card"
    fitting = {name: m for name, m in stock.allowed.items() if m.role == role}
    untold = stock.held is None
    amount = {name: m.usual * m.holds if untold else stock.held.get(name, 0.0) for name, m in fitting.items()}
    order = sorted(fitting, key=lambda name: (-amount[name], name))
    have = [name for name in order if amount[name] > 0]
    there = None if untold and fitting else float(sum(amount[name] for name in have))
    short = 0.0 if there is None else max(for_class - there, 0.0)
    used, left = [], for_class
    for name in have:
        if used and (left <= 0 or untold):
            break
        used.append(name)
        left -= amount[name]
    first = used[0] if used else None
    rest = [name for name in (order if short or untold else have) if name not in used]
    return KitUse(
        lever=line.lever if line else None,
        role=role,
        material=first,
        label=fitting[first].label if first else line.label if line else "card for the figures",
        measure=fitting[order[0]].measure if order else "piece",
        per_group=per_group,
        for_class=for_class,
        there=there,
        short=short,
        also=tuple(used[1:]),
        instead=tuple(rest),
    )


def _amount(line: KitLine, catalogue: Mapping[str, Material], lack: float) -> str:
    measure = next((m.measure for _, m in sorted(catalogue.items()) if m.role == line.role), "piece")
    unit = " sheet" if measure == "sheet" and lack == 1 else UNITS[measure]
    return f"{line.label} ({lack:,.0f}{unit})"
