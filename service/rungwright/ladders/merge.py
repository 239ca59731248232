"""Two coaches' edits of one ladder put together: nothing of either is lost, and what clashes is shown.

Field by field against what both started from: changed by one, that one's value stands; changed by both alike, too;
changed by both in different ways, the first's value stands unless the second's was chosen, and the clash is listed with
all three. A rung that one changed and the other took out stays unless taking it out was chosen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from rungwright.domain.ladder import MOST_RUNGS, Ladder, Rung
from rungwright.domain.ladder_report import LadderMerge, MergeConflict
from rungwright.domain.units import Units
from rungwright.ladders.compare import MISSING, fields, label, names_of, said, same_challenge
from rungwright.ladders.frame import Frame, scale_of
from rungwright.ladders.report import checked, told
from rungwright.recommend.problem import FieldProblem, RequestProblem
from rungwright.rulebase import CompiledRules

Side = Literal["first", "second"]


@dataclass
class _Merging:
    frame: Frame
    base: Ladder
    first: Ladder
    second: Ladder
    choices: Mapping[str, Side]
    conflicts: list[MergeConflict] = field(default_factory=list)
    from_first: list[str] = field(default_factory=list)
    from_second: list[str] = field(default_factory=list)

    @property
    def names(self) -> dict[str, str]:
        return names_of(self.first, self.second, self.base)

    def clash(self, at: str, base: str, first: str, second: str) -> None:
        what = label(self.frame, at, self.names)
        text = f"{what}: one says {first}, the other {second}; it was {base}"
        self.conflicts.append(MergeConflict(at=at, label=what, base=base, first=first, second=second, text=text))

    def pick(self, at: str, base: Any, first: Any, second: Any) -> Any:
        """The value that stands; MISSING where none does."""
        if first == second or second == base:
            if first != base:
                self.from_first.append(label(self.frame, at, self.names))
            return first
        if first == base:
            self.from_second.append(label(self.frame, at, self.names))
            return second
        self.clash(at, *(said(self.frame, at, value) for value in (base, first, second)))
        return second if self.choices.get(at) == "second" else first


def merge(
    base: Ladder,
    first: Ladder,
    second: Ladder,
    rules: CompiledRules,
    units: Units = "metric",
    *,
    choices: Mapping[str, Side] | None = None,
) -> LadderMerge:
    """`choices`: whose value stands, by the `at` of a conflict.

    Raises RequestProblem below `/base`, `/first`, `/second`; where they are no edits of one ladder, too.
    """
    frame = checked(base, rules, units, "/base").frame
    for at, ladder in (("/first", first), ("/second", second)):
        same_challenge(base, ladder, at)
        if ladder.id != base.id:
            detail = f"this is {ladder.id!r}, no edit of {base.id!r}; compare two ladders instead"
            raise RequestProblem([FieldProblem(f"{at}/id", detail)])
        checked(ladder, rules, units, at)
    m = _Merging(frame, base, first, second, choices or {})
    merged = _put_together(m, {f.id: f for f in _rungs(m)})
    result = checked(merged, rules, units, "/first")
    return LadderMerge(
        ladder=merged,
        conflicts=m.conflicts,
        taken_from_first=m.from_first,
        taken_from_second=m.from_second,
        report=told(result),
    )


def _rungs(m: _Merging) -> list[Rung]:
    """Every rung that stays or is new, its fields merged."""
    tables = [fields(ladder) for ladder in (m.base, m.first, m.second)]
    ladders = (m.base, m.first, m.second)
    found = []
    for rung_id in dict.fromkeys(r.id for ladder in ladders for r in ladder.rungs):
        prefix = f"/rungs/{rung_id}/"
        mine = [{k: v for k, v in table.items() if k.startswith(prefix)} for table in tables]
        there = [bool(part) for part in mine]
        if not _stays(m, rung_id, mine, there):
            continue
        base, one, two = mine
        # A rung that only one has, or that one took out and the other changed, is that one's alone.
        values = two if not there[1] else one if not there[2] else None
        if values is None:
            values = {
                at: m.pick(at, base.get(at, MISSING), one.get(at, MISSING), two.get(at, MISSING))
                for at in dict.fromkeys([*one, *two])
            }
        plain = {at.removeprefix(prefix): v for at, v in values.items() if v is not MISSING}
        settings = {k.removeprefix("settings/"): v for k, v in plain.items() if k.startswith("settings/")}
        rest = {k: v for k, v in plain.items() if not k.startswith("settings/")}
        rest["pinned"] = [lever for lever in rest["pinned"] if lever in settings]
        found.append(Rung(id=rung_id, settings=settings, **rest))
    return found


def _stays(m: _Merging, rung_id: str, mine: list[dict], there: list[bool]) -> bool:
    base, one, two = mine
    if there[1] and there[2]:
        return True
    name = m.names[rung_id]
    if not there[0]:
        (m.from_first if there[1] else m.from_second).append(f"{name}: a new rung")
        return True
    if not there[1] and not there[2]:
        return False
    kept = one if there[1] else two
    if kept == base:
        (m.from_second if there[1] else m.from_first).append(f"{name}: taken out")
        return False
    words = ("changed", "taken out") if there[1] else ("taken out", "changed")
    at = f"/rungs/{rung_id}"
    m.clash(at, "there", *words)
    chosen = m.choices.get(at)
    return chosen is None or there[1 if chosen == "first" else 2]


def _put_together(m: _Merging, rungs: dict[str, Rung]) -> Ladder:
    tables = [fields(ladder) for ladder in (m.base, m.first, m.second)]
    top = {
        at: m.pick(at, *(table.get(at, MISSING) for table in tables))
        for at in dict.fromkeys(k for table in tables for k in table if not k.startswith("/rungs/"))
    }
    if len(rungs) > MOST_RUNGS:
        detail = f"together they have {len(rungs)} rungs, and a ladder has {MOST_RUNGS} at most; take some out first"
        raise RequestProblem([FieldProblem("/second/rungs", detail)])
    same = {k.removeprefix("/same/"): v for k, v in top.items() if k.startswith("/same/") and v is not MISSING}
    usual = {k.removeprefix("/usual/"): v for k, v in top.items() if k.startswith("/usual/")}
    first_run = top["/first_run"] if top["/first_run"] in rungs else None
    document = {k: getattr(m.first, k) for k in Ladder.model_fields}
    return Ladder.model_validate(
        {
            **document,
            "name": top["/name"],
            "first_run": first_run,
            "same": same,
            "usual": type(m.base.usual)(**usual),
            "rungs": _in_order(m, rungs, same),
            "version": max(m.base.version, m.first.version, m.second.version),
            "published": None,
        }
    )


def _in_order(m: _Merging, rungs: dict[str, Rung], same: dict) -> list[Rung]:
    """As the one who moved them left them; rungs that the other added go where their demand is."""
    orders = [[r.id for r in ladder.rungs if r.id in rungs] for ladder in (m.base, m.first, m.second)]
    common = set(orders[0]) & set(orders[1]) & set(orders[2])
    base, one, two = ([i for i in order if i in common] for order in orders)
    lead_second = one == base and two != base
    if one != two and two != base and one != base:
        m.clash("/rungs", ", ".join(base), ", ".join(one), ", ".join(two))
        lead_second = m.choices.get("/rungs") == "second"
    lead, other = (orders[2], orders[1]) if lead_second else (orders[1], orders[2])
    order = list(lead)
    scale = scale_of(m.frame, m.base.scale_grade, m.base.usual, same)
    demand = dict(zip(rungs, scale.demand(scale.columns([rungs[i].settings for i in rungs])), strict=True))
    for rung_id in (i for i in [*other, *rungs] if i not in order):
        at = sum(demand[i] <= demand[rung_id] for i in order)
        order.insert(at, rung_id)
    return [rungs[i] for i in order]
