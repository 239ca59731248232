"""Where a ladder is drafted: its levers as a grid, where each grade stands on it, what each rung may be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.grades import BAND_MIDDLES, Band
from rungwright.domain.ladder import UsualClass
from rungwright.domain.lever import setting_key, tidy
from rungwright.domain.strict import Setting
from rungwright.ladders.climb import FARTHEST, MOST_CHANGES, STEP, Climbed, Layer, climb, fair_step
from rungwright.ladders.frame import Frame, Placed, placed
from rungwright.ladders.space import Ints, Space
from rungwright.ladders.steps import standard
from rungwright.measure.columns import Columns, Grid
from rungwright.measure.kit import kit_check
from rungwright.measure.verdicts import NOT_FEASIBLE
from rungwright.recommend.limits import Limit
from rungwright.recommend.measuring import HARD, Measured

REACH = 2.0
"""How many settings a lever may stand from where the grade usually has it; agreed here."""

MOST_CELLS = 2500
"""Settings tried for one rung: of those that can be reached, the nearest to where the grade stands; agreed here."""

FIRST = 25
"""Settings that are measured first where it is asked whether any passes; of no matter for the answer."""

KEEP_UP = 3.0
"""Settings that all levers together climb from rung to rung, where each rung is looked for; agreed here."""

PULL = 0.015
"""Cost of a lever of pull 1 one setting away from where the grade usually has it, squared; agreed here."""


@dataclass(frozen=True)
class Spot:
    """One rung before it is drafted: whom it is for, and where each lever usually stands there."""

    grades: tuple[str, ...]
    path: NDArray[np.float64]
    pins: Mapping[str, Setting] = field(default_factory=dict)
    fixed: int | None = None
    """the one cell that it may be"""


class Drawing:
    """`same`: the levers with one value on every rung; `scale`: the class on whose scale demand is measured.

    `values` are settings beside those of the plan that must have a place. `now` is a version that may fail checks
    already: others may then fail them no worse.
    """

    def __init__(
        self,
        made: Frame,
        usual: UsualClass,
        same: Mapping[str, Setting],
        scale: Placed,
        values: Sequence[tuple[str, Setting]],
        now: Mapping[str, Setting] | None = None,
    ):
        self.made, self.usual, self.same, self.scale, self.now = made, usual, same, scale, now
        self.domains = {climb.lever: list(climb.settings) for climb in made.plan.climbs}
        for lever, value in values:
            if tidy(value) not in self.domains[lever]:
                self.domains[lever].append(tidy(value))
                self.domains[lever].sort(key=made.levers[lever].position)
        self.space = Space(
            tuple(len(domain) for domain in self.domains.values()), tuple(c.criterion for c in made.plan.climbs)
        )
        self.pulls = np.array([climb.pull for climb in made.plan.climbs], float)
        self.levers = list(self.domains)
        self.moves = self.space.moves(MOST_CHANGES, FARTHEST)
        self.least = STEP[0]
        self.tried = 0
        self._classes: dict[tuple[tuple[str, ...], int], Placed] = {}
        self._demand = np.full(self.space.cells, np.nan)

    def settings(self, cell: int) -> dict[str, Setting]:
        at = self.space.positions(np.array([cell]))[0]
        return {lever: domain[p] for (lever, domain), p in zip(self.domains.items(), at, strict=True)}

    def cell(self, settings: Mapping[str, Setting]) -> int:
        return self.space.cell([domain.index(tidy(settings[lever])) for lever, domain in self.domains.items()])

    def columns(self, where: Placed, cells: Ints) -> Columns:
        """The settings of many cells for one class; rows are written out only where they are asked for."""
        at = self.space.positions(cells)
        places = {lever: at[:, i] for i, lever in enumerate(self.domains)}
        return Grid(where.case.levers, where.begun.settings, self.domains, places)

    # Where grades stand.

    def place(self, lever: str, value: Setting) -> float:
        """Where a value stands along the lever's settings here; beyond them, at the end."""
        spec = self.made.levers[lever]
        places = [spec.position(s) for s in self.domains[lever]]
        return float(np.interp(spec.position(value), places, np.arange(len(places))))

    def usual_path(self, grade: float) -> NDArray[np.float64]:
        """Where the presets of the bands have each lever at a grade, as far as the cupboard allows.

        Between the middles of two bands in proportion; before the first and beyond the last as there.
        """
        return np.maximum([np.interp(grade, list(BAND_MIDDLES.values()), p) for p in self._presets], self._least)

    @cached_property
    def _presets(self) -> NDArray[np.float64]:
        presets = self.made.challenge.presets
        at = [[self.place(lever, presets[band][lever]) for band in BAND_MIDDLES] for lever in self.levers]
        return np.maximum.accumulate(at, axis=1)

    @cached_property
    def _least(self) -> NDArray[np.float64]:
        """The gentlest setting of each lever of the kit that the cupboard holds for every group."""
        least = np.zeros(len(self.levers))
        lines = {line.lever: line.role for line in self.made.challenge.kit}
        case = self.scale.case
        for i, lever in enumerate(self.levers):
            if lever in lines:
                rows = self.scale.columns([{lever: value} for value in self.domains[lever]])
                check = kit_check(case.challenge, case.section, case.stock, rows)
                least[i] = int((check.short[lines[lever]] > 0).sum())
        return np.minimum(least, np.array(self.space.sizes) - 1)

    def climbable(self, paths: NDArray, centre: NDArray) -> NDArray[np.float64]:
        """Paths (rungs, levers) drawn together around `centre` until so few changes a rung can keep up with them.

        Where the presets of the bands move more than two levers can climb from rung to rung, the ladder spans less than
        they do, at both ends.
        """
        total = np.abs(paths[-1] - paths[0]).sum()
        part = min(1.0, KEEP_UP * (len(paths) - 1) / max(total, 1e-9))
        return np.clip(centre + (paths - centre) * part, 0, np.array(self.space.sizes) - 1)

    # What each rung may be.

    def climbed(self, spots: Sequence[Spot]) -> Climbed | None:
        """The cheapest ladder with a rung at each spot, of the settings that are tried; None where there is none."""
        layers = self._layers(spots) if self.spans(spots) else None
        return climb(self.space, self.demand, layers, self.moves, least=self.least) if layers else None

    def spans(self, spots: Sequence[Spot]) -> bool:
        """Whether the hardest that the last rung could be asks enough more than the gentlest of the first.

        Where it does not, no search would find a ladder: levers that climb are monotone, and each step has a least.
        """
        ends = []
        for spot, sign in ((spots[0], -1), (spots[-1], 1)):
            ends.append(self.space.cell(self._furthest(spot, sign)) if spot.fixed is None else spot.fixed)
        low, high = self.scale.demand(self.columns(self.scale, np.array(ends)))
        return bool(high - low >= self.least * (len(spots) - 1) - 1e-9)

    def _furthest(self, spot: Spot, sign: int) -> Ints:
        """The gentlest (sign -1) or hardest positions within reach of a spot."""
        pins = self._pinned(spot)
        path = self._path(spot, pins) + sign * REACH
        at = np.ceil(path - 1e-9) if sign < 0 else np.floor(path + 1e-9)
        at = np.clip(at, 0, np.array(self.space.sizes) - 1).astype(np.int64)
        for lever, place in pins.items():
            at[lever] = place
        return at

    def _layers(self, spots: Sequence[Spot]) -> list[Layer] | None:
        """From the bottom, or down from a fixed top; each is what one step leads to from the one before."""
        down = spots[-1].fixed is not None
        layers: list[Layer] = []
        reached, held = None, frozenset()
        for spot in reversed(spots) if down else spots:
            where = self.class_of(spot)
            mine = frozenset(self.levers.index(lever) for lever in where.held if lever in self.levers)
            led = None
            if layers:
                before, sign = layers[-1].cells, -1 if down else 1
                led = self.space.led_to(before, self.moves.without(held if down else mine), sign=sign)
                reached = np.zeros(self.space.cells, bool)
                reached[led[2]] = True
            cells = np.array([spot.fixed]) if spot.fixed is not None else self._allowed(spot, where, reached)
            self.demand(cells)
            if led:
                # Far fewer are a fair step away than pass the checks, so those are looked at last.
                rows, _, to = led
                grown = sign * (self._demand[to] - self._demand[before[rows]])
                fair = np.zeros(self.space.cells, bool)
                fair[to[fair_step(grown, self.least)]] = True
                cells = cells[fair[cells]]
            if spot.fixed is None and len(cells):
                cells = cells[self.passes(where, cells)]
            if not len(cells):
                return None
            away = self.space.positions(cells) - spot.path
            layers.append(Layer(cells, np.round(PULL * (away**2 @ self.pulls), 9), mine))
            held = mine
        return layers[::-1] if down else layers

    def is_open(self, spot: Spot, where: Placed, most: int) -> bool:
        """Whether some cell near a spot keeps its pins and its limits and fails no check, among the first `most`."""
        cells = self._within_limits(where, self.near(spot, where), most)
        # Mostly one of the first does, so the others are seldom measured.
        return any(self.passes(where, part).any() for part in np.split(cells, [FIRST]) if len(part))

    def _allowed(self, spot: Spot, where: Placed, reached: NDArray[np.bool_] | None) -> Ints:
        """Cells near a spot that keep its pins and its limits, the nearest first."""
        cells = self._within_limits(where, self.near(spot, where, reached), MOST_CELLS)
        self.tried += len(cells)
        return cells

    def near(self, spot: Spot, where: Placed | None = None, among: NDArray[np.bool_] | None = None) -> Ints:
        """Cells within reach of a spot that keep its pins, the nearest first.

        With a class, those with no setting that by itself breaks one of its limits, or that nothing pins and that is
        asked of other bands.
        """
        pins = self._pinned(spot)
        free = self._free(where) if where else [np.ones(size, bool) for size in self.space.sizes]
        for lever, may in enumerate(free):
            if lever in pins:
                may &= np.arange(len(may)) == pins[lever]
            elif where:
                may &= self._asked_of(where.case.section.band, lever)
        return self.space.near(self._path(spot, pins), self.pulls, reach=REACH, free=free, among=among)

    def _free(self, where: Placed) -> list[NDArray[np.bool_]]:
        """By lever, its settings that break no limit about it alone."""
        ends = np.cumsum(self.space.sizes)[:-1]
        rows = [{lever: value} for lever, domain in self.domains.items() for value in domain]
        free = np.split(np.ones(len(rows), bool), ends)
        for limit, bad in where.broken(where.columns(rows)):
            if len(mine := self._climbing(limit)) == 1:
                free[mine[0]] &= ~np.split(bad, ends)[mine[0]]
        return free

    def _asked_of(self, band: Band, lever: int) -> NDArray[np.bool_]:
        """The settings of a lever whose demand serves a standard of the band, or that the version there is has.

        Of the kit, all: a young class may have few sticks because the cupboard has no more.
        """
        name, asks = self.levers[lever], self.made.plan.climbs[lever].asks
        if name in [line.lever for line in self.made.challenge.kit]:
            return np.ones(self.space.sizes[lever], bool)
        now = self.now and self.now[name]
        demands = [None if value == now else asks.get(setting_key(value)) for value in self.domains[name]]
        return np.array([demand is None or standard(self.made, demand, band) is not None for demand in demands])

    def _climbing(self, limit: Limit) -> list[int]:
        """Levers that climb, by number, among those that a limit is about."""
        about = {test.lever for test in (*limit.allowed, *limit.together)}
        return [i for i, lever in enumerate(self.levers) if lever in about]

    def _pinned(self, spot: Spot) -> dict[int, int]:
        """Lever -> the place at which it is pinned, both by number."""
        return {self.levers.index(k): self.domains[k].index(tidy(v)) for k, v in spot.pins.items()}

    def _path(self, spot: Spot, pins: Mapping[int, int]) -> NDArray[np.float64]:
        path = spot.path.copy()
        for lever, at in pins.items():
            path[lever] = at
        return path

    def _within_limits(self, where: Placed, cells: Ints, most: int) -> Ints:
        """The first `most` that break no limit, of cells `near` a spot for this class."""
        kept: list[Ints] = []
        for start in range(0, len(cells), most):
            part = cells[start : start + most]
            kept.append(part[~self.limited(where, part, alone=False)])
            if sum(map(len, kept)) >= most:
                break
        return np.concatenate(kept)[:most] if kept else cells

    def limited(self, where: Placed, cells: Ints, *, alone: bool = True) -> NDArray[np.bool_]:
        """Where a limit is broken; without `alone`, one about other than a single lever that climbs."""
        asked = [limit for limit in where.limits.limits if alone or len(self._climbing(limit)) != 1]
        broken = [bad for _, bad in where.broken(self.columns(where, cells), asked)]
        return np.logical_or.reduce([np.zeros(len(cells), bool), *broken])

    def passes(self, where: Placed, cells: Ints) -> NDArray[np.bool_]:
        """Cells that fail no hard check; around a version there is already, none newly or worse than it does."""
        measured = where.measure(self.columns(where, cells))
        if self.now is None:
            return ~failing(measured)
        return ~measured.any_worse_than(where.measure(where.columns([self.now])))

    def class_of(self, spot: Spot) -> Placed:
        """The class that a rung is checked for; its minutes are shared out for the hardest of the usual settings."""
        hardest = np.minimum(np.ceil(spot.path), np.array(self.space.sizes) - 1).astype(int)
        key = spot.grades, self.space.cell(hardest)
        if key not in self._classes:
            section = self.usual.section("usual class", list(spot.grades))
            self._classes[key] = placed(self.made, section, {**self.same, **self.settings(key[1])})
        return self._classes[key]

    def demand(self, cells: Ints) -> NDArray[np.float64]:
        """On the scale of the ladder [logit]; each cell is worked out once."""
        new = np.unique(cells[np.isnan(self._demand[cells])])
        if len(new):
            self._demand[new] = self.scale.demand(self.columns(self.scale, new))
        return self._demand[cells]


def failing(measured: Measured) -> NDArray[np.bool_]:
    return np.logical_or.reduce([measured.checks[name].verdict == NOT_FEASIBLE for name in HARD])
