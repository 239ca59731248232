"""Draft a ladder: layers of settings that each rung may have, and the cheapest way through them."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.grades import BAND_MIDDLES, GRADE_CODES, grade_number
from rungwright.domain.ladder import MOST_RUNGS, Ladder, MadeWith, Rung, UsualClass
from rungwright.domain.ladder_request import DraftPin, LadderDraftRequest
from rungwright.domain.lever import setting_key, tidy
from rungwright.domain.strict import Setting
from rungwright.ladders.climb import MOST_CHANGES, STEP, Climbed, Layer, climb
from rungwright.ladders.frame import Frame, Placed, frame, middle, placed, pointing
from rungwright.ladders.space import Space
from rungwright.measure.columns import Columns, columns
from rungwright.measure.verdicts import NOT_FEASIBLE
from rungwright.recommend.measuring import HARD
from rungwright.recommend.problem import FieldProblem, RequestProblem
from rungwright.rulebase import CompiledRules

REACH = 1.5
"""How many settings a lever may stand from where the grade usually has it; agreed here."""

MOST_CELLS = 2500
"""Settings tried for one rung: those nearest to where the grade usually stands; agreed here."""

PULL = 0.02
"""Cost of one lever one setting away from where the grade usually has it, in squared deviation; agreed here."""

RUNGS_A_GRADE = 5 / 12
"""Rungs above the first for each grade of the span, where the number was not asked for; agreed here."""

GRADES_A_STEP = 2.4
"""Grades that one rung is worth around a section's own version: the same, turned round."""


@dataclass(frozen=True)
class Drafted:
    ladder: Ladder
    notes: tuple[str, ...]
    settings_tried: int


def draft(request: LadderDraftRequest, rules: CompiledRules) -> Drafted:
    """Equal requests against an equal rule base give equal ladders.

    Raises RequestProblem where a name is unknown, or no ladder of the asked number of rungs passes the checks.
    """
    made = frame(request.challenge, rules, request.units.value, "/challenge")
    _check_pins(request.pins, made)
    return _Around(request, made).draft() if request.around else _Span(request, made).draft()


def _check_pins(pins: Sequence[DraftPin], made: Frame) -> None:
    problems = []
    for i, pin in enumerate(pins):
        for name, value in pin.settings.items():
            at = f"/pins/{i}/settings/{name}"
            if name not in made.climbing:
                known = ", ".join(made.climbing)
                problems.append(FieldProblem(at, f"{name!r} does not climb, so no rung can pin it; levers that do: {known}"))
            elif not made.levers[name].accepts(value):
                problems.append(FieldProblem(at, f"{value!r} is not allowed for {name}"))
    if problems:
        raise RequestProblem(problems)


@dataclass(frozen=True)
class _Spot:
    """One rung before it is drafted: whom it is for, and where each lever usually stands."""

    grades: tuple[str, ...]
    path: NDArray[np.float64]
    fixed: int | None = None
    """the one cell that it may be"""


class _Rows(Sequence):
    """Settings of many cells, each written out when it is asked for."""

    def __init__(self, draft: _Draft, where: Placed, cells: NDArray):
        self.draft, self.where, self.cells = draft, where, cells

    def __len__(self) -> int:
        return len(self.cells)

    def __getitem__(self, i: int) -> dict[str, Setting]:
        return self.where.row(self.draft.settings(int(self.cells[i])))


class _Draft:
    """What both ways of drafting share. `domains`: lever -> its settings on this ladder, gentlest first."""

    def __init__(self, request: LadderDraftRequest, made: Frame, usual: UsualClass):
        self.request, self.made, self.usual = request, made, usual
        self.notes: list[str] = []
        self.tried = 0
        self.scale: Placed
        self.same: dict[str, Setting] = {}
        self.domains = {c.lever: list(c.settings) for c in made.plan.climbs}
        self._open: dict[tuple, tuple[NDArray, frozenset[int]]] = {}
        self._demand: dict[int, float] = {}
        for pin in request.pins:
            for lever, value in pin.settings.items():
                self._add(lever, value)

    def _add(self, lever: str, value: Setting) -> None:
        """A value between the settings of the plan gets a place of its own."""
        spec, domain = self.made.levers[lever], self.domains[lever]
        if tidy(value) not in domain:
            domain.append(tidy(value))
            domain.sort(key=spec.position)

    @cached_property
    def space(self) -> Space:
        sizes = tuple(len(domain) for domain in self.domains.values())
        return Space(sizes, tuple(c.criterion for c in self.made.plan.climbs))

    def settings(self, cell: int) -> dict[str, Setting]:
        at = self.space.positions(np.array([cell]))[0]
        return {lever: domain[p] for (lever, domain), p in zip(self.domains.items(), at, strict=True)}

    def columns(self, where: Placed, cells: NDArray) -> Columns:
        """The settings of many cells for one class; rows are written out only where they are asked for."""
        at = self.space.positions(cells)
        values = {}
        for lever, column in columns(where.case.levers, [where.begun.settings]).values.items():
            values[lever] = np.repeat(column, len(cells))
        for i, (lever, domain) in enumerate(self.domains.items()):
            spec = self.made.levers[lever]
            known = domain if spec.type == "number" else [spec.settings.index(value) for value in domain]
            values[lever] = np.array(known, values[lever].dtype)[at[:, i]]
        return Columns(where.case.levers, _Rows(self, where, cells), values)

    def place(self, lever: str, value: Setting) -> float:
        """Where a value stands along the lever's settings on this ladder; beyond them, at the end."""
        spec = self.made.levers[lever]
        places = [spec.position(s) for s in self.domains[lever]]
        return float(np.interp(spec.position(value), places, np.arange(len(places))))

    def usual_path(self, grade: float) -> NDArray[np.float64]:
        """Where the presets of the bands have each lever at a grade, between two bands in proportion."""
        bands = list(BAND_MIDDLES)
        at = [[self.place(lever, self.made.challenge.presets[b][lever]) for b in bands] for lever in self.domains]
        return np.array([np.interp(grade, list(BAND_MIDDLES.values()), np.maximum.accumulate(p)) for p in at])

    def climbable(self, paths: NDArray, centre: NDArray) -> NDArray:
        """Paths (rungs, levers) drawn together around `centre` until so few changes a rung can keep up with them.

        Where the presets of the bands move more levers than one a criterion and four a rung, the ladder spans less than
        they do at both ends.
        """
        edges = len(paths) - 1
        total = np.abs(paths[-1] - paths[0])
        part = np.ones(len(total))
        groups = np.array(self.space.groups)
        for group in set(self.space.groups):
            mine = groups == group
            part[mine] = min(1.0, edges / max(total[mine].sum(), 1e-9))
        part *= min(1.0, MOST_CHANGES * edges / max((total * part).sum(), 1e-9))
        return centre + (paths - centre) * part

    def layers(self, spots: Sequence[_Spot]) -> list[Layer]:
        """One a rung: cells that keep the limits and fail no check for the grades it is meant for."""
        return [self._layer(i, spot) for i, spot in enumerate(spots)]

    def _layer(self, i: int, spot: _Spot) -> Layer:
        pins = {k: tidy(v) for pin in self.request.pins if pin.rung == i + 1 for k, v in pin.settings.items()}
        key = (spot.grades, spot.fixed, tuple(np.round(spot.path, 9)), tuple(sorted(pins.items())))
        if key not in self._open:
            self._open[key] = self._allowed(spot, pins)
        cells, held = self._open[key]
        away = self.space.positions(cells) - spot.path
        return Layer(cells, np.round(PULL * (away**2).sum(axis=1), 9), held)

    def _allowed(self, spot: _Spot, pins: Mapping[str, Setting]) -> tuple[NDArray, frozenset[int]]:
        levers = list(self.domains)
        if spot.fixed is not None:
            cells = np.array([spot.fixed])
        else:
            path = spot.path.copy()
            for lever, value in pins.items():
                path[levers.index(lever)] = self.domains[lever].index(value)
            cells = self.space.near(path, reach=REACH, most=MOST_CELLS)
            for lever, value in pins.items():
                at = self.space.positions(cells)[:, levers.index(lever)]
                cells = cells[at == self.domains[lever].index(value)]
        where = self._section_of(spot)
        held = frozenset(levers.index(lever) for lever in where.held if lever in levers)
        if not len(cells):
            return cells, held
        if spot.fixed is not None:
            return cells, held  # what the section does now is told, and checked, but not refused
        self.tried += len(cells)
        bad = [b for _, b in where.broken(self.columns(where, cells))]
        cells = cells[~np.logical_or.reduce([np.zeros(len(cells), bool), *bad])]
        if len(cells):
            checks = where.measure(self.columns(where, cells)).checks
            cells = cells[~np.logical_or.reduce([checks[name].verdict == NOT_FEASIBLE for name in HARD])]
        return cells, held

    def _section_of(self, spot: _Spot) -> Placed:
        """The class that a rung is checked for, its minutes shared out for the most spots that the rung may have."""
        hardest = self.settings(self.space.cell(np.minimum(np.ceil(spot.path), np.array(self.space.sizes) - 1).astype(int)))
        section = self.usual.section("usual class", list(spot.grades))
        return placed(self.made, section, {**self.same, **hardest})

    def demand(self, layers: Sequence[Layer]) -> NDArray[np.float64]:
        """(cells,), unknown ones not a number."""
        wanted = np.unique(np.concatenate([layer.cells for layer in layers]))
        new = [int(c) for c in wanted if int(c) not in self._demand]
        if new:
            found = self.scale.measure(self.columns(self.scale, np.array(new))).demand
            self._demand.update(zip(new, (float(d) for d in found), strict=True))
        out = np.full(self.space.cells, np.nan)
        out[wanted] = [self._demand[int(c)] for c in wanted]
        return out

    def climbed(self, spots: Sequence[_Spot]) -> Climbed | None:
        layers = self.layers(spots)
        if any(not len(layer.cells) for layer in layers):
            return None
        demand = self.demand(layers)
        # The cheapest cells of the two ends say how far it is; the step is even between them.
        ends = [demand[layer.cells[np.argmin(layer.own_cost)]] for layer in (layers[0], layers[-1])]
        even = float(np.clip((ends[1] - ends[0]) / (len(layers) - 1), *STEP))
        return climb(self.space, demand, layers, even=even)

    def ladder(self, spots: Sequence[_Spot], found: Climbed, *, name: str, scale_grade: str) -> Drafted:
        rungs = []
        for i, (spot, cell) in enumerate(zip(spots, found.cells, strict=True)):
            settings = self.settings(cell)
            pins = [p for p in self.request.pins if p.rung == i + 1]
            title = next((p.name for p in pins if p.name), None)
            below = self.settings(found.cells[i - 1]) if i else None
            rungs.append(
                Rung(
                    id=f"r{i + 1}",
                    name=title or self._name(below, settings),
                    grades=list(spot.grades),
                    settings=settings,
                    pinned=sorted({lever for p in pins for lever in p.settings}),
                )
            )
        base = self.made.rules.base
        digest = hashlib.sha256(self.request.model_dump_json().encode() + base.digest.encode()).hexdigest()[:12]
        ladder = Ladder(
            id=f"{self.made.challenge.id}_{digest}",
            name=name,
            challenge=self.made.challenge.id,
            scale_grade=scale_grade,
            usual=self.usual,
            same=self.same,
            rungs=rungs,
            made_with=MadeWith(version=base.version, digest=base.digest),
        )
        return Drafted(ladder, tuple(self.notes), self.tried)

    def _name(self, below: Mapping[str, Setting] | None, settings: Mapping[str, Setting]) -> str:
        """That of the change that adds most demand."""
        if below is None:
            return self.made.plan.first.name
        changed = [lever for lever in settings if settings[lever] != below[lever]]
        rows = [{**below, lever: settings[lever]} for lever in changed]
        alone = np.round(self.scale.measure(self.scale.columns(rows)).demand, 6)
        lever = changed[int(np.argmax(alone))]
        ask = self.made.plan.climb(lever).asks.get(setting_key(settings[lever]))
        return ask.name if ask else self.made.levers[lever].label.capitalize()


class _Span(_Draft):
    """Over grades: each rung is pulled to the presets of its grade and keeps the limits of its grades."""

    def __init__(self, request: LadderDraftRequest, made: Frame):
        super().__init__(request, made, request.usual)
        low, high = (grade_number(code) for code in request.grades)
        with pointing({"/section": "/usual"}):
            self._set_scale(low, high)

    def _set_scale(self, low: int, high: int) -> None:
        self.low, self.high = low, high
        self.scale_grade = middle(GRADE_CODES[low], GRADE_CODES[high])
        section = self.usual.section("usual class", [self.scale_grade])
        usual = placed(self.made, section, {}).begun.settings
        lowest = [g for g in (low, 3, 6, 9) if low <= g <= high]
        limited = [placed(self.made, self.usual.section("usual class", [GRADE_CODES[g]]), {}) for g in lowest]
        self.same = {lever: self._kept(lever, usual[lever], limited) for lever in self.made.plan.same}
        self.scale = placed(self.made, section, self.same)
        self._demand.clear()
        self._open.clear()

    def _kept(self, lever: str, usual: Setting, limited: Sequence[Placed]) -> Setting:
        """The value nearest to the middle grade's that no band of the span forbids."""
        spec = self.made.levers[lever]
        here = spec.position(usual)
        for value in sorted([usual, *spec.settings], key=lambda v: (abs(spec.position(v) - here), spec.position(v))):
            if not any(bad[0] for p in limited for limit, bad in p.broken(p.columns([{lever: value}])) if limit.levers == (lever,)):
                return value
        return usual

    def spots(self, rungs: int) -> list[_Spot]:
        """Rungs evenly over the grades; each grade goes to the nearest rung, the lower of two."""
        at = np.linspace(self.low, self.high, rungs)
        nearest = {g: int(np.argmin(np.round(np.abs(at - g), 9))) for g in range(self.low, self.high + 1)}
        centre = self.usual_path((self.low + self.high) / 2)
        paths = self.climbable(np.array([self.usual_path(grade) for grade in at]), centre)
        spots = []
        for i, grade in enumerate(at):
            mine = [g for g, rung in nearest.items() if rung == i] or [int(np.floor(grade + 0.5))]
            spots.append(_Spot(tuple(GRADE_CODES[g] for g in mine), paths[i]))
        return spots

    def draft(self) -> Drafted:
        asked = self.request.rungs
        wanted = asked or self._wanted()
        if any(not len(layer.cells) for layer in self.layers(self.spots(wanted))):
            self._leave_out_closed_grades()
            wanted = asked or self._wanted()
        possible = sorted(range(2, MOST_RUNGS + 1), key=lambda n: (abs(n - wanted), n))
        for rungs in possible:
            spots = self.spots(rungs)
            found = self.climbed(spots)
            if found and (rungs == wanted or not asked):
                if rungs != wanted:
                    self.notes.append(f"{rungs} rungs are what even steps allow here.")
                return self.ladder(spots, found, name=self._title(), scale_grade=self.scale_grade)
            if found:
                detail = f"no ladder of {asked} rungs has even steps and passes every check; {rungs} rungs do"
                raise RequestProblem([FieldProblem("/rungs", detail)])
        where = "/pins" if self.request.pins else "/grades"
        detail = "no ladder of even steps passes every check; widen the grades, take pins away or add materials"
        raise RequestProblem([FieldProblem(where, detail)])

    def _wanted(self) -> int:
        return max(4, round((self.high - self.low) * RUNGS_A_GRADE) + 1)

    def _title(self) -> str:
        if self.request.name:
            return self.request.name
        grades = [code.lstrip("0").replace("KG", "K") for code in (GRADE_CODES[self.low], GRADE_CODES[self.high])]
        span = f"grade {grades[0]}" if grades[0] == grades[1] else f"grades {grades[0]} to {grades[1]}"
        return f"{self.made.challenge.label}, {span}"

    def _leave_out_closed_grades(self) -> None:
        """Grades for which no settings pass are left out, with the reason; the longest run of others stays."""
        closed = {g: why for g in range(self.low, self.high + 1) if (why := self._why_closed(g))}
        if not closed:
            return
        runs: list[list[int]] = [[]]
        for g in range(self.low, self.high + 1):
            if g in closed:
                runs.append([])
            else:
                runs[-1].append(g)
        kept = max(runs, key=len)
        if not kept:
            why = next(iter(closed.values()))
            raise RequestProblem([FieldProblem("/usual", f"no grade of the span has a version that passes: {why}")])
        told: dict[str, list[int]] = {}
        for g in range(self.low, self.high + 1):
            if g not in kept:
                told.setdefault(closed.get(g, "It stands apart from the other grades."), []).append(g)
        for why, grades in told.items():
            named = [GRADE_CODES[g].lstrip("0").replace("KG", "K") for g in (grades[0], grades[-1])]
            which = f"grade {named[0]}" if named[0] == named[1] else f"grades {named[0]} to {named[1]}"
            self.notes.append(f"There is no rung for {which}. {why}")
        self._set_scale(kept[0], kept[-1])

    def _why_closed(self, grade: int) -> str | None:
        """What keeps every setting near a grade's usual ones from passing; None where some pass."""
        spot = _Spot((GRADE_CODES[grade],), self.usual_path(grade))
        where = self._section_of(spot)
        cells = self.space.near(spot.path, reach=REACH, most=MOST_CELLS)
        ok = np.ones(len(cells), bool)
        for limit, bad in where.broken(self.columns(where, cells)):
            if not (ok & ~bad).any():
                return limit.text
            ok &= ~bad
        cells = cells[ok]
        measured = where.measure(self.columns(where, cells))
        ok = np.ones(len(cells), bool)
        for name in HARD:
            fails = measured.checks[name].verdict == NOT_FEASIBLE
            if not (ok & ~fails).any():
                return measured.statement(name, int(np.flatnonzero(ok)[0])).text
            ok &= ~fails
        return None


class _Around(_Draft):
    """Around the version that a section has: each rung keeps that section's limits."""

    def __init__(self, request: LadderDraftRequest, made: Frame):
        section = request.around.section
        fields = {name: getattr(section, name) for name in UsualClass.model_fields if name != "students"}
        super().__init__(request, made, UsualClass(students=section.students, **fields))
        self.grades = tuple(section.grades)
        self.grade = section.grade_mid
        with pointing({"/section": "/around/section", "/settings": "/around/settings"}):
            now = placed(made, self.usual.section(section.label, section.grades), request.around.settings)
        same = {*made.plan.same, *(set(request.around.settings) - set(made.climbing))}
        self.same = {lever: now.begun.settings[lever] for lever in sorted(same)}
        self.now = {lever: tidy(now.begun.settings[lever]) for lever in made.climbing}
        for lever, value in self.now.items():
            self._add(lever, value)
        self.scale_grade = GRADE_CODES[int(np.floor(self.grade + 0.5))]
        self.scale = placed(made, self.usual.section("usual class", [self.scale_grade]), self.same)

    def spots(self, easier: int, harder: int) -> list[_Spot]:
        here = np.array([self.domains[lever].index(value) for lever, value in self.now.items()], float)
        usual, top = self.usual_path(self.grade), np.array(self.space.sizes) - 1
        steps = range(-easier, harder + 1)
        paths = np.array([here + self.usual_path(self.grade + GRADES_A_STEP * i) - usual for i in steps])
        paths = np.clip(self.climbable(paths, here), 0, top)
        return [
            _Spot(self.grades, path, self.space.cell(here.astype(int)) if i == 0 else None)
            for i, path in zip(steps, paths, strict=True)
        ]

    def draft(self) -> Drafted:
        asked = self.request.around
        for lost in range(asked.easier + asked.harder):
            for fewer in range(min(lost, asked.easier) + 1):
                easier, harder = asked.easier - fewer, asked.harder - (lost - fewer)
                if harder < 0:
                    continue
                spots = self.spots(easier, harder)
                if found := self.climbed(spots):
                    self._tell(easier, harder)
                    name = self.request.name or f"{self.made.challenge.label}, around {asked.section.label}"[:60]
                    return self.ladder(spots, found, name=name, scale_grade=self.scale_grade)
        detail = "no rung above or below this version keeps the section's limits and passes every check"
        raise RequestProblem([FieldProblem("/around", detail)])

    def _tell(self, easier: int, harder: int) -> None:
        for asked, got, way in (
            (self.request.around.easier, easier, "gentler"),
            (self.request.around.harder, harder, "harder"),
        ):
            if got < asked:
                count = "No" if got == 0 else f"Only {got}"
                noun = "rung" if got == 1 else "rungs"
                self.notes.append(
                    f"{count} {way} {noun} instead of {asked}: further steps would break a limit or fail a check "
                    "for this section."
                )
