"""The fewest moves, inside every limit, nearest the target."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np

from rungwright.domain.ask import Direction
from rungwright.domain.lever import LeverKind
from rungwright.domain.strict import Setting
from rungwright.measure.verdicts import NOT_FEASIBLE
from rungwright.recommend.facts import NO_RIGID
from rungwright.recommend.infer import Candidate, Inference
from rungwright.recommend.limits import start_places
from rungwright.recommend.measuring import HARD, Measured, measure
from rungwright.recommend.resolve import Case

FLOOR, CEILING = 0.50, 0.97
"""Expected share of groups below and above which easier and harder never go; agreed here."""

NOTCH = (0.20, 0.45, 0.70)
"""Least, middle and most change of demand of one notch [logit]; agreed here.

A section with a run that stays outside the band on the side it was asked to leave needs the fuller half of it: where
2 of 8 groups made it, the least change would hardly be seen.
"""

LEAST_EFFECT = 0.02
"""A challenge move that changes demand by less than this changes nothing that a teacher could see [logit]."""

AIM = 0.4
"""Part of the band, about its middle, that `fit` aims at and leaves alone once there is a run; agreed here."""

ALTERNATIVES = 3
COLLECT = " Collect or buy it first, and ask again."


@dataclass(frozen=True)
class Target:
    """Where to go: a range of the share (fit), or a window of change of demand (easier, harder)."""

    sign: int
    """+1 harder, -1 easier, 0 nothing to change"""
    share: tuple[float, float] | None
    demand: tuple[float, float, float] | None
    band: tuple[float, float] = (0.0, 1.0)
    """of the share of groups; what a window of demand leaves beyond it calls for the fuller half of the notch"""

    def distance(self, share: np.ndarray, change: np.ndarray) -> np.ndarray:
        """How far outside the target, 0 inside; `change` is the change of demand toward the asked direction."""
        if self.share:
            outside = np.maximum(np.maximum(self.share[0] - share, share - self.share[1]), 0)
            return outside + (np.maximum(change - self.demand[2], 0) if self.demand else 0)
        least, middle, most = self.demand
        beyond = share > self.band[1] if self.sign > 0 else share < self.band[0]
        return np.maximum(np.maximum(np.where(beyond, middle, least) - change, change - most), 0)

    def off_centre(self, share: np.ndarray, change: np.ndarray) -> np.ndarray:
        return np.abs(share - sum(self.share) / 2) if self.share else np.abs(change - self.demand[1])


@dataclass(frozen=True)
class Held:
    lever: str
    to: Setting | None
    kind: str
    rule: str | None
    text: str


@dataclass(frozen=True)
class Chosen:
    """A set of moves and what it gives: `row` of `measured`."""

    moves: tuple[Candidate, ...]
    measured: Measured
    row: int
    distance: float


@dataclass(frozen=True)
class Choice:
    target: Target
    best: Chosen
    practical: tuple[Candidate, ...]
    after: Measured
    """row 0 the start settings with every move made, row 1 the same with `NO_RIGID`"""
    alone: Mapping[Candidate, tuple[Measured, int]]
    """each proposed move by itself"""
    alternatives: Sequence[Chosen]
    held: Sequence[Held]
    at_edge: bool = False
    sets_tried: int = field(default=0)


def aim_of(case: Case) -> tuple[float, float]:
    """The share of groups that `fit` aims at: the band, and once there is a run of the section, its middle.

    What is expected near an edge of the band is about as likely to lie outside. Without a run so little is known that
    a narrower aim would only cost changes. It is the middle share that is aimed so, see `Measured.middle_share`.
    """
    low, high = case.request.ask.band
    spare = (1 - AIM) / 2 * (high - low) if case.own_runs else 0.0
    return low + spare, high - spare


def target_of(case: Case, direction: str, one_notch: bool) -> Target:
    sign = {"harder": 1, "easier": -1, "none": 0}[direction]
    ask = case.request.ask
    notches = 1 if one_notch else ask.notches
    window = tuple(part * notches for part in NOTCH)
    if ask.direction == Direction.FIT:
        return Target(sign, aim_of(case), window if one_notch else None)
    return Target(sign, None, window, ask.band if case.own_runs else (0.0, 1.0))


def choose(
    case: Case,
    start: Mapping[str, Setting],
    before: Measured,
    inference: Inference,
    direction: str,
    fitted: Collection[str] = (),
) -> Choice:
    """`before` is the measure of `start` alone (row 0); `fitted`, the levers that were moved to fit the section."""
    target = target_of(case, direction, inference.limits.one_notch is not None)
    search = _Search(case, start, before, inference, target, fitted)
    best = search.challenge_moves()
    practical, after = search.practical_moves(best)
    return Choice(
        target,
        best,
        practical,
        after,
        {c: (search.singles, search.at[c]) for c in (*best.moves, *practical)},
        search.alternatives(best),
        search.held,
        search.at_edge,
        search.tried,
    )


class _Search:
    def __init__(
        self,
        case: Case,
        start: Mapping[str, Setting],
        before: Measured,
        inference: Inference,
        target: Target,
        fitted: Collection[str],
    ):
        self.case, self.start, self.before, self.target = case, dict(start), before, target
        self.limits, self.fitted = inference.limits, fitted
        self.places = start_places(case.levers, start)
        self.was_broken = [bool(b[0]) for b in self.limits.broken(before.cols, self.places)]
        self.held: list[Held] = []
        self.tried = 0
        self.scored: list[tuple[tuple, Chosen]] = []
        self._shares: dict[tuple[Candidate, ...], float] = {(): float(before.share[0])}
        share = float(before.share[0])
        self.at_edge = (target.sign > 0 and share <= FLOOR) or (target.sign < 0 and share >= CEILING)
        wanted = self._not_refused(inference.candidates)
        self.singles = self._tried(self.start, [(c,) for c in wanted]) if wanted else before
        self.at = {c: i for i, c in enumerate(wanted)}
        usable = self._classify(wanted)
        self.challenge = [c for c in usable if case.levers[c.lever].kind == LeverKind.CHALLENGE]
        self.practical = [c for c in usable if case.levers[c.lever].kind == LeverKind.PRACTICAL]

    def _not_refused(self, candidates: Sequence[Candidate]) -> list[Candidate]:
        ask, wanted = self.case.request.ask, []
        always = self.case.section.kept_levers or ()
        for c in candidates:
            label = self.case.levers[c.lever].label
            if c.lever in always:
                self.held.append(Held(c.lever, c.to, "pinned", c.lead.rule.id, f"You always keep {label} as it is."))
            elif c.lever in ask.pinned:
                self.held.append(Held(c.lever, c.to, "pinned", c.lead.rule.id, f"You asked to keep {label} as it is."))
            elif c.lever in ask.declined:
                self.held.append(
                    Held(c.lever, c.to, "declined", c.lead.rule.id, f"You did not want to change {label}.")
                )
            elif self.case.levers[c.lever].kind != LeverKind.ACCESS:
                wanted.append(c)
        return wanted

    def _classify(self, wanted: Sequence[Candidate]) -> list[Candidate]:
        """Those that may be used; the rest is held back with its reason."""
        if not wanted:
            return []
        usable = []
        broken, worsened = self.limits.broken(self.singles.cols, self.places), self.singles.worse_than(self.before)
        change = self.target.sign * (self.singles.demand - self.before.demand[0])
        against = self.target.sign * (self.singles.share - self.before.share[0]) > 1e-9
        for i, c in enumerate(wanted):
            hit = [j for j, b in enumerate(broken) if b[i] and not self.was_broken[j]]
            challenge = self.case.levers[c.lever].kind == LeverKind.CHALLENGE
            if hit:
                limit = self.limits.limits[hit[0]]
                self.held.append(Held(c.lever, c.to, "limit", limit.rule, limit.text))
            elif failed := [name for name, worse in worsened.items() if worse[i]] or self._unfits(c, i):
                text = self.singles.statement(failed[0], i).text + (COLLECT if failed[0] == "kit" else "")
                self.held.append(Held(c.lever, c.to, "check", c.lead.rule.id, text))
            elif challenge and (against[i] or change[i] < -1e-9):
                way, asked = ("easier", "harder") if self.target.sign > 0 else ("harder", "easier")
                text = f"Worked out for these groups, this would make the challenge {way}, not {asked}."
                self.held.append(Held(c.lever, c.to, "wrong_way", c.lead.rule.id, text))
            elif not challenge or change[i] >= LEAST_EFFECT:
                usable.append(c)
        return usable

    def _unfits(self, c: Candidate, i: int) -> list[str]:
        """Of the checks, the time, where the move takes back what was fitted for its sake."""
        back = c.lever in self.fitted and self.singles.verdict("time", i) > self.before.verdict("time", 0)
        return ["time"] if back else []

    def challenge_moves(self) -> Chosen:
        best_key = self._keys([()], self.before, np.array([0]))[0]
        best = Chosen((), self.before, 0, float(best_key[0]))
        no_time = self.target.sign > 0 and self.before.verdict("time", 0) == NOT_FEASIBLE
        if self.target.sign == 0 or self.at_edge or no_time:
            return best
        for size in range(1, self.case.request.ask.max_changes + 1):
            sets = [s for s in combinations(self.challenge, size) if len({c.lever for c in s}) == size]
            if not sets:
                break
            measured, rows = self._measured(sets)
            self.tried += len(sets)
            self._shares.update(zip(sets, measured.share[rows].tolist(), strict=True))
            keys = self._keys(sets, measured, rows)
            for i in np.flatnonzero(self._allowed(sets, measured, rows)):
                chosen = Chosen(sets[i], measured, int(rows[i]), float(keys[i][0]))
                self.scored.append((keys[i], chosen))
                if keys[i] < best_key:
                    best_key, best = keys[i], chosen
            if best.moves and best.distance == 0:
                break
        if not best.moves:
            self._hold_too_far()
        return best

    def _hold_too_far(self) -> None:
        """Where nothing is proposed: the single moves that would leave too few groups, or hardly one, to fail."""
        for c in self.challenge:
            share = self.singles.share[self.at[c]]
            if self.target.sign > 0 and share < FLOOR:
                text = "With it, fewer than half of these groups are expected to meet every criterion by the end."
            elif self.target.sign < 0 and share > CEILING:
                text = "With it, hardly any group would have a criterion left to work for."
            else:
                continue
            self.held.append(Held(c.lever, c.to, "too_far", c.lead.rule.id, text))

    def _measured(self, sets: Sequence[tuple[Candidate, ...]]) -> tuple[Measured, np.ndarray]:
        """The sets measured, and the row of each; single moves are measured already."""
        if len(sets[0]) == 1:
            return self.singles, np.array([self.at[c] for (c,) in sets])
        return self._tried(self.start, sets), np.arange(len(sets))

    def _tried(self, settings: Mapping[str, Setting], sets: Sequence[tuple[Candidate, ...]]) -> Measured:
        """A row for each set of moves, then for each the same with `NO_RIGID`: one of them becomes the answer."""
        changes = [{c.lever: c.to for c in moves} for moves in sets]
        without_rigid = [{**change, **NO_RIGID} for change in changes]
        return measure(self.case, self.before.model, settings, [*changes, *without_rigid])

    def _keys(self, sets: Sequence[tuple[Candidate, ...]], measured: Measured, rows: np.ndarray) -> list[tuple]:
        """The order of choosing, numbers rounded to 6 places: best is least."""
        if not self.target.sign:
            return [(0.0,) for _ in sets]
        share = (measured.middle_share if self.target.share else measured.share)[rows]
        change = self.target.sign * (measured.demand[rows] - self.before.demand[0])
        distance = np.round(self.target.distance(share, change), 6).tolist()
        off = np.round(self.target.off_centre(share, change), 6).tolist()
        preparation, pieces = measured.preparation_minutes[rows].tolist(), measured.pieces[rows].tolist()
        return [
            (
                distance[i],
                len(moves),
                sum(c.rank for c in moves),
                off[i],
                preparation[i],
                pieces[i],
                tuple((c.lever, str(c.to)) for c in moves),
            )
            for i, moves in enumerate(sets)
        ]

    def _allowed(self, sets: Sequence[tuple[Candidate, ...]], measured: Measured, rows: np.ndarray) -> np.ndarray:
        """No limit newly broken, no check newly failed or worse, share inside floor and ceiling, no move against."""
        sign, share = self.target.sign, measured.share
        ok = (share >= FLOOR - 1e-9) if sign > 0 else (share <= CEILING + 1e-9)
        ok &= sign * (share - self.before.share[0]) <= 1e-9
        for was, now in zip(self.was_broken, self.limits.broken(measured.cols, self.places), strict=True):
            ok &= was | ~now
        ok &= ~measured.any_worse_than(self.before)
        ok = ok[rows]
        for i in np.flatnonzero(ok):
            # Every part of a set was measured before it.
            parts = ([c for c in sets[i] if c is not left_out] for left_out in sets[i])
            ok[i] = all(sign * (self._shares[sets[i]] - self._shares[tuple(part)]) <= 1e-9 for part in parts)
        return ok

    def practical_moves(self, best: Chosen) -> tuple[tuple[Candidate, ...], Measured]:
        """At most one practical move, the first by rank that mends a check that is not clear; and what all moves give.

        The measure has two rows, see `Choice.after`.
        """
        now, at = best.measured, best.row
        trouble = any(now.verdict(name, at) for name in HARD)
        if not trouble or not self.practical or len(best.moves) == self.case.request.ask.max_changes:
            return (), _with_twin(now, at)
        settings = {**self.start, **{c.lever: c.to for c in best.moves}}
        after = self._tried(settings, [(c,) for c in self.practical])
        broken, worse = self.limits.broken(after.cols, self.places), after.any_worse_than(now, at)
        for i, c in enumerate(self.practical):
            newly = any(b[i] and not was for b, was in zip(broken, self.was_broken, strict=True))
            if not newly and not worse[i] and after.better_than(now, i, at):
                return (c,), _with_twin(after, i)
        return (), _with_twin(now, at)

    def alternatives(self, best: Chosen) -> list[Chosen]:
        """Other sets just as good as the chosen one in distance and number of changes, on other levers."""
        seen = [{c.lever for c in best.moves}]
        found: list[Chosen] = []
        for _, chosen in sorted(self.scored, key=lambda pair: pair[0]):
            levers = {c.lever for c in chosen.moves}
            if len(found) == ALTERNATIVES or not best.moves or chosen.distance > best.distance + 1e-9:
                break
            if levers not in seen:
                seen.append(levers)
                found.append(chosen)
        return found


def _with_twin(tried: Measured, row: int) -> Measured:
    """One version of what was tried, and the same with `NO_RIGID`: the second half of the rows."""
    return tried.only([row, row + tried.cols.n // 2])
