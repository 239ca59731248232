"""Two ladders side by side: what differs, and how much each rung asks on one scale."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from rungwright.domain.grades import grades_said
from rungwright.domain.ladder import Ladder, Rung
from rungwright.domain.ladder_report import ChangedField, LadderComparison
from rungwright.domain.strict import Setting
from rungwright.domain.units import Units
from rungwright.ladders.frame import Frame, scale_of
from rungwright.ladders.report import Checked, checked
from rungwright.recommend.problem import FieldProblem, RequestProblem
from rungwright.rulebase import CompiledRules
from rungwright.rulebase.words import say_setting

MISSING = object()
"""Stands for a field that a ladder does not have."""


def compare(first: Ladder, second: Ladder, rules: CompiledRules, units: Units = "metric") -> LadderComparison:
    """Rungs go by their ids. Raises RequestProblem below `/first` and `/second`."""
    a, b = checked(first, rules, units, "/first"), checked(second, rules, units, "/second")
    same_challenge(first, second, "/second")
    scale = scale_of(a.frame, first.scale_grade, first.usual, first.same)
    return LadderComparison(
        same_everywhere=first.same == second.same,
        changes=list(_changes(a.frame, first, second)),
        demand_first=_demand(a, scale),
        demand_second=_demand(b, scale),
    )


def same_challenge(first: Ladder, second: Ladder, at: str) -> None:
    if first.challenge != second.challenge:
        detail = f"this is a ladder of {second.challenge!r} and the other one of {first.challenge!r}"
        raise RequestProblem([FieldProblem(f"{at}/challenge", detail)])


def _demand(c: Checked, scale) -> dict[str, float]:
    demand = scale.demand(scale.columns([{**c.ladder.same, **rung.settings} for rung in c.ladder.rungs]))
    return {rung.id: round(float(d), 4) for rung, d in zip(c.ladder.rungs, demand, strict=True)}


def fields(ladder: Ladder) -> dict[str, Any]:
    """Every field that an edit may change: JSON pointer, with rung ids for places -> value."""
    found: dict[str, Any] = {"/name": ladder.name, "/first_run": ladder.first_run}
    found |= {f"/same/{lever}": value for lever, value in ladder.same.items()}
    found |= {f"/usual/{name}": getattr(ladder.usual, name) for name in type(ladder.usual).model_fields}
    for rung in ladder.rungs:
        found |= rung_fields(rung)
    return found


def rung_fields(rung: Rung) -> dict[str, Any]:
    at = f"/rungs/{rung.id}"
    found = {f"{at}/{name}": getattr(rung, name) for name in ("name", "grades", "pinned", "agreed")}
    return found | {f"{at}/settings/{lever}": value for lever, value in rung.settings.items()}


def apart(first: Ladder, second: Ladder) -> int:
    """In how many fields two ladders differ."""
    one, two = fields(first), fields(second)
    return sum(one.get(at, MISSING) != two.get(at, MISSING) for at in {*one, *two})


def said(frame: Frame, at: str, value: Any) -> str:
    """A field's value in words."""
    part = at.rsplit("/", 1)[-1]
    if value is MISSING:
        return "not there"
    if "/settings/" in at or at.startswith("/same/"):
        return say_setting(frame.levers[part], value, frame.units)
    if part == "agreed":
        return f"{value.text} ({value.by}, {value.on.isoformat()})" if value else "nothing agreed"
    if part == "grades":
        return grades_said(value)
    if part == "pinned":
        return ", ".join(frame.levers[lever].label for lever in value) or "nothing pinned"
    if isinstance(value, list):
        return f"{len(value)} listed"
    return "none" if value is None else str(value)


def label(frame: Frame, at: str, names: Mapping[str, str]) -> str:
    """What a field is, in words."""
    parts = at.strip("/").split("/")
    if parts[0] == "rungs":
        what = frame.levers[parts[3]].label if len(parts) > 3 else parts[2] if len(parts) > 2 else "rung"
        return f"{names.get(parts[1], parts[1])}: {what}"
    if parts[0] == "same":
        return f"everywhere: {frame.levers[parts[1]].label}"
    return {"name": "name", "first_run": "first run of the year"}.get(parts[-1], f"class: {parts[-1]}")


def names_of(*ladders: Ladder) -> dict[str, str]:
    return {rung.id: rung.name for ladder in reversed(ladders) for rung in ladder.rungs}


def _changes(frame: Frame, first: Ladder, second: Ladder) -> Iterator[ChangedField]:
    names = names_of(first, second)
    ids = [[r.id for r in ladder.rungs] for ladder in (first, second)]
    for rung_id in [*ids[0], *(i for i in ids[1] if i not in ids[0])]:
        if (rung_id in ids[0]) != (rung_id in ids[1]):
            where = "first" if rung_id in ids[0] else "second"
            text = f"{names[rung_id]} is a rung of the {where} only"
            values = (names[rung_id], None) if where == "first" else (None, names[rung_id])
            yield ChangedField(at=f"/rungs/{rung_id}", first=values[0], second=values[1], text=text)
    common = [[i for i in mine if i in other] for mine, other in (ids, ids[::-1])]
    if common[0] != common[1]:
        yield ChangedField(
            at="/rungs",
            first=", ".join(common[0]),
            second=", ".join(common[1]),
            text="the rungs stand in another order",
        )
    one, two = fields(first), fields(second)
    for at in [*one, *(k for k in two if k not in one)]:
        a, b = one.get(at, MISSING), two.get(at, MISSING)
        whole_rung = at.startswith("/rungs/") and (at.split("/")[2] in ids[0]) != (at.split("/")[2] in ids[1])
        if a != b and not whole_rung:
            text = f"{label(frame, at, names)}: {said(frame, at, b)} instead of {said(frame, at, a)}"
            yield ChangedField(at=at, first=_plain(frame, at, a), second=_plain(frame, at, b), text=text)


def _plain(frame: Frame, at: str, value: Any) -> Setting | None:
    if value is MISSING or value is None:
        return None
    return value if isinstance(value, (int, float, str, bool)) else said(frame, at, value)
