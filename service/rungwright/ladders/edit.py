"""Edits of a ladder: pure functions from one document to the next, each checked at once.

A published ladder is edited only after `revise` or `fork`. An edit that is refused says why and changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import product

import numpy as np

from rungwright.domain import ladder_request as ask
from rungwright.domain.ladder import MOST_RUNGS, Ladder, Origin, Published, Rung
from rungwright.domain.ladder_report import LadderReport
from rungwright.domain.lever import tidy
from rungwright.domain.strict import Setting
from rungwright.domain.units import Units
from rungwright.ladders.draft import rung_name
from rungwright.ladders.frame import pointing
from rungwright.ladders.report import Checked, checked, out_of_order, refuse_unless_sound, told
from rungwright.recommend.problem import FieldProblem, RequestProblem, unknown
from rungwright.rulebase import CompiledRules


def edited(
    ladder: Ladder, edits: Sequence[ask.Edit], rules: CompiledRules, units: Units = "metric"
) -> tuple[Ladder, LadderReport]:
    """The ladder after all edits, and its report. It is checked again after each.

    Raises RequestProblem at `/ladder` for what is wrong before, and at `/edits/{i}` for the first edit that is refused.
    """
    now = checked(ladder, rules, units)
    for i, edit in enumerate(edits):
        at = f"/edits/{i}"
        after = _apply(now, edit, at)
        changed = getattr(edit, "rung", None) or getattr(edit, "id", None)
        place = next((k for k, rung in enumerate(after.rungs) if rung.id == changed), None)
        with pointing({f"/ladder/rungs/{place}": at, "/ladder": at}):
            now = checked(after, rules, units)
        _refuse(now, edit, at)
    return now.ladder, told(now)


def _apply(now: Checked, edit: ask.Edit, at: str) -> Ladder:
    ladder = now.ladder
    frozen = ladder.published and not isinstance(edit, ask.Revise | ask.Fork)
    if frozen:
        raise _refused(at, f"version {ladder.version} is published and never changes; `revise` opens the next draft")
    if (rung := getattr(edit, "rung", None)) is not None and rung not in _ids(ladder):
        raise RequestProblem([unknown(f"{at}/rung", "rung of this ladder", rung, _ids(ladder))])
    return _HOW[type(edit)](now, edit, at)


def _refused(at: str, detail: str) -> RequestProblem:
    return RequestProblem([FieldProblem(at, detail)])


def _ids(ladder: Ladder) -> list[str]:
    return [rung.id for rung in ladder.rungs]


def _with(ladder: Ladder, **fields: object) -> Ladder:
    """The document with some fields replaced, checked as a whole."""
    return Ladder.model_validate({**{k: getattr(ladder, k) for k in Ladder.model_fields}, **fields})


def _with_rung(ladder: Ladder, rung_id: str, **fields: object) -> Ladder:
    def changed(rung: Rung) -> Rung:
        return Rung.model_validate({**{k: getattr(rung, k) for k in Rung.model_fields}, **fields})

    return _with(ladder, rungs=[changed(r) if r.id == rung_id else r for r in ladder.rungs])


def _insert(now: Checked, edit: ask.Insert, at: str) -> Ladder:
    ladder = now.ladder
    if len(ladder.rungs) == MOST_RUNGS:
        raise _refused(at, f"a ladder has {MOST_RUNGS} rungs at most")
    if edit.id in _ids(ladder):
        raise _refused(f"{at}/id", f"there is a rung {edit.id!r} already; give another id")
    if edit.after is not None and edit.after not in _ids(ladder):
        raise RequestProblem([unknown(f"{at}/after", "rung of this ladder", edit.after, _ids(ladder))])
    place = 0 if edit.after is None else _ids(ladder).index(edit.after) + 1
    below = ladder.rungs[place - 1] if place else None
    above = ladder.rungs[place] if place < len(ladder.rungs) else None
    beside = below or above
    if edit.settings is not None:
        settings = {**beside.settings, **{k: tidy(v) for k, v in edit.settings.items()}}
    elif below and above:
        settings = _half_way(now, below, above, at)
    else:
        raise _refused(
            f"{at}/settings", "a rung at the bottom or the top needs settings; half-way needs a rung each side"
        )
    name = edit.name or rung_name(now.scale, now.frame, below.settings if below else None, settings)
    grades = edit.grades or sorted({*(below or above).grades, *(above or below).grades})
    rung = Rung(id=edit.id, name=name, grades=grades, settings=settings)
    return _with(ladder, rungs=[*ladder.rungs[:place], rung, *ladder.rungs[place:]])


def _half_way(now: Checked, below: Rung, above: Rung, at: str) -> dict[str, Setting]:
    """Of all versions between two rungs, the one nearest the middle of their demand that differs from both."""
    moved = [lever for lever in now.frame.climbing if below.settings[lever] != above.settings[lever]]
    choices = []
    for lever in moved:
        spec = now.frame.levers[lever]
        low, high = (spec.position(r.settings[lever]) for r in (below, above))
        between = [s for s in spec.settings if min(low, high) < spec.position(s) < max(low, high)]
        choices.append([below.settings[lever], *between, above.settings[lever]])
    rows = [{**below.settings, **dict(zip(moved, values, strict=True))} for values in product(*choices)]
    rows = [row for row in rows if row not in (below.settings, above.settings)]
    if not rows:
        raise _refused(at, f"nothing lies between {below.name} and {above.name}: one step of one lever divides them")
    demand = now.scale.demand(now.scale.columns(rows))
    i, j = (now.ladder.rungs.index(r) for r in (below, above))
    middle = (now.demand[i] + now.demand[j]) / 2
    return rows[int(np.argmin(np.round(np.abs(demand - middle), 6)))]


def _pin(now: Checked, edit: ask.Pin, at: str) -> Ladder:
    climbing = now.frame.climbing
    wrong = [(i, lever) for i, lever in enumerate(edit.levers) if lever not in climbing]
    if wrong:
        raise RequestProblem([unknown(f"{at}/levers/{i}", "lever that climbs", lever, climbing) for i, lever in wrong])
    return _with_rung(now.ladder, edit.rung, pinned=sorted(set(edit.levers)))


def _rename(now: Checked, edit: ask.Rename, at: str) -> Ladder:
    return _with_rung(now.ladder, edit.rung, name=edit.name)


def _change(now: Checked, edit: ask.Change, at: str) -> Ladder:
    rung = now.ladder.rung(edit.rung)
    if pinned := sorted(set(rung.pinned) & set(edit.settings)):
        raise _refused(f"{at}/settings/{pinned[0]}", f"{pinned[0]} is pinned on {rung.name}; free it with `pin` first")
    settings = {**rung.settings, **{k: tidy(v) for k, v in edit.settings.items()}}
    return _with_rung(now.ladder, edit.rung, settings=settings)


def _remove(now: Checked, edit: ask.Remove, at: str) -> Ladder:
    ladder = now.ladder
    if len(ladder.rungs) == 1:
        raise _refused(at, "a ladder keeps at least one rung")
    first_run = None if ladder.first_run == edit.rung else ladder.first_run
    return _with(ladder, rungs=[r for r in ladder.rungs if r.id != edit.rung], first_run=first_run)


def _reorder(now: Checked, edit: ask.Reorder, at: str) -> Ladder:
    ladder = now.ladder
    if sorted(edit.order) != sorted(_ids(ladder)):
        raise _refused(f"{at}/order", f"name every rung once: {', '.join(_ids(ladder))}")
    return _with(ladder, rungs=[ladder.rung(rung_id) for rung_id in edit.order])


def _agree(now: Checked, edit: ask.Agree, at: str) -> Ladder:
    return _with_rung(now.ladder, edit.rung, agreed=edit.agreed)


def _first_run(now: Checked, edit: ask.FirstRun, at: str) -> Ladder:
    return _with(now.ladder, first_run=edit.rung)


def _name(now: Checked, edit: ask.NameLadder, at: str) -> Ladder:
    return _with(now.ladder, name=edit.name)


def _publish(now: Checked, edit: ask.Publish, at: str) -> Ladder:
    refuse_unless_sound(now, at)
    version = now.ladder.version + 1
    return _with(now.ladder, version=version, published=Published(version=version, on=edit.on, by=edit.by))


def _revise(now: Checked, edit: ask.Revise, at: str) -> Ladder:
    return _with(now.ladder, published=None)


def _fork(now: Checked, edit: ask.Fork, at: str) -> Ladder:
    ladder = now.ladder
    if edit.id == ladder.id:
        raise _refused(f"{at}/id", "a fork has an id of its own")
    origin = Origin(ladder=ladder.id, version=ladder.version)
    return _with(ladder, id=edit.id, name=edit.name, version=0, published=None, forked_from=origin)


_HOW: dict[type, Callable[[Checked, ask.Edit, str], Ladder]] = {
    ask.Insert: _insert,
    ask.Pin: _pin,
    ask.Rename: _rename,
    ask.Change: _change,
    ask.Remove: _remove,
    ask.Reorder: _reorder,
    ask.Agree: _agree,
    ask.FirstRun: _first_run,
    ask.NameLadder: _name,
    ask.Publish: _publish,
    ask.Revise: _revise,
    ask.Fork: _fork,
}


def _refuse(now: Checked, edit: ask.Edit, at: str) -> None:
    """An order that is no ladder is refused where the edit is about order; elsewhere the report tells it."""
    if isinstance(edit, ask.Reorder | ask.Insert):
        faults = [out_of_order(now, i, i + 1) for i in range(len(now.ladder.rungs) - 1)]
        if told_ := [fault for fault in faults if fault]:
            raise RequestProblem(FieldProblem(at, fault) for fault in told_)
