"""From facts to candidate moves and limits, by the rule base."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from rungwright.domain.lever import LeverKind
from rungwright.domain.strict import Setting
from rungwright.domain.units import Units
from rungwright.engine.form import Fact
from rungwright.recommend.limits import LeverTest, Limit, Limits
from rungwright.recommend.resolve import Case
from rungwright.rulebase import RuleFiring

MOST_CANDIDATES = 24


@dataclass(frozen=True, eq=False)
class Candidate:
    """One lever moved to one setting. The lead rule has the lowest rank, then most conditions, then the first id."""

    lever: str
    to: Setting
    rank: int
    lead: RuleFiring
    also: tuple[str, ...]


@dataclass(frozen=True)
class Inference:
    firings: Sequence[RuleFiring]
    candidates: Sequence[Candidate]
    limits: Limits
    findings: Sequence[Fact]


def infer(case: Case, facts: Sequence[Fact], settings: dict[str, Setting], direction: str) -> Inference:
    """Run derive, adjust and limit on the facts. `direction` is easier, harder or none."""
    firings = case.rules.infer(facts, case.challenge.family)
    return Inference(
        firings,
        _candidates(case, firings, settings, direction),
        limits_of(case, firings),
        [fact for firing in firings for fact in firing.made],
    )


def _candidates(
    case: Case, firings: Sequence[RuleFiring], settings: dict[str, Setting], direction: str
) -> list[Candidate]:
    proposed: dict[tuple[str, Setting], list[RuleFiring]] = {}
    for firing in firings:
        move = firing.rule.propose
        if move is None or move.lever not in case.levers:
            continue
        lever = case.levers[move.lever]
        if lever.kind == LeverKind.CHALLENGE and direction == "none":
            continue
        if lever.grades and not lever.grades[0] <= case.section.grade_mid <= lever.grades[1]:
            continue
        if move.steps is None:
            settings_proposed = [move.to]
        else:
            # A challenge lever goes the way that was asked; a practical one along its listed order.
            sign = -1 if lever.kind == LeverKind.CHALLENGE and direction == "easier" else 1
            settings_proposed = lever.steps_from(settings[lever.id], sign)[: move.steps]
        for to in settings_proposed:
            if to != settings[lever.id]:
                proposed.setdefault((lever.id, to), []).append(firing)
    candidates = []
    for (lever_id, to), by in proposed.items():
        by = sorted(by, key=lambda f: (_rank(f, direction), -f.rule.conditions, f.rule.id))
        also = tuple(dict.fromkeys(f.rule.id for f in by if f.rule.id != by[0].rule.id))
        candidates.append(Candidate(lever_id, to, _rank(by[0], direction), by[0], also))

    def steps(c: Candidate) -> float:
        lever = case.levers[c.lever]
        return abs(lever.position(c.to) - lever.position(settings[c.lever]))

    candidates.sort(key=lambda c: (c.rank, steps(c), c.lever, str(c.to)))
    return candidates[:MOST_CANDIDATES]


def _rank(firing: RuleFiring, direction: str) -> int:
    """The rank of the rule, later by each place that its criterion stands behind the one the results point at."""
    order = "weak_order" if direction == "easier" else "surplus_order"
    places = [fact[order] for fact in firing.matched.values() if fact.get(order) is not None]
    return firing.rule.propose.rank + max((int(place) - 1 for place in places), default=0)


def limits_of(case: Case, firings: Sequence[RuleFiring]) -> Limits:
    """The limits that the fired rules set."""
    units, known = case.request.units.value, set(case.levers)
    limits: list[Limit] = []
    banned: set[str] = set()
    one_notch = None
    for firing in firings:
        rule = firing.rule
        if rule.stage != "limit":
            continue
        levers: tuple[str, ...] = ()
        allowed = together = ()
        if rule.bound:
            levers = (rule.bound.lever,)
            allowed = tuple(LeverTest(rule.bound.lever, word, value) for word, value in rule.bound.tests())
        elif rule.forbid:
            together = tuple(LeverTest(t.lever, word, value) for t in rule.forbid for word, value in t.tests())
            levers = tuple(t.lever for t in together)
        elif rule.hold:
            levers = tuple(rule.hold.levers)
        elif rule.ban:
            banned.add(rule.ban.material or rule.ban.tool)
        elif rule.pace:
            one_notch = firing.because(units).text
        if levers and set(levers) <= known:
            say = partial(_said, firing, units)
            limits.append(Limit(rule.id, say, levers, allowed, together, rule.hold.towards if rule.hold else None))
    return Limits(tuple(limits), frozenset(banned), one_notch)


def _said(firing: RuleFiring, units: Units) -> str:
    return firing.because(units).text
