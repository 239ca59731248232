"""What an answer stands on: the sources of its rules, what fired them, and how sure the size of an effect is."""

from __future__ import annotations

from collections.abc import Sequence

from rungwright.domain import recommendation as out
from rungwright.domain.lever import Lever, LeverKind
from rungwright.domain.weights import LearntSpread
from rungwright.readiness.difficulty import Weight
from rungwright.recommend import wording
from rungwright.recommend.resolve import Case
from rungwright.rulebase import Move, Quoted, RuleFiring

STARTING = "starting"
UNTRIED = "No class here has tried this change yet; its effect is our starting guess."


def weights_version(case: Case) -> str:
    """The version of the learnt weights in use, or `starting`."""
    return case.learnt.version if case.learnt else STARTING


def weight_basis(case: Case, lever: Lever) -> list[out.Basis]:
    """One entry for a challenge lever: whether its effect was learned here, and from how much."""
    if lever.kind != LeverKind.CHALLENGE:
        return []
    weights = _of_lever(case, lever)
    if not weights:
        return []
    learned = [w for w in weights if w.learnt and w.learnt.learned_here]
    tried = [w for w in weights if w.learnt and w.learnt.sections]
    if learned:
        on = "" if len(learned) == len(weights) else f" on {_criteria(case, learned)}"
        most = max((w.learnt for w in learned), key=lambda w: w.sections)
        text = f"How much this change moves{on} is learned here from {_count(most.sections, most.groups)}."
        if on:
            text += " The rest is our starting guess."
    elif tried:
        most = max((w.learnt for w in tried), key=lambda w: w.sections)
        text = (
            f"Our starting guess, corrected a little by {_count(most.sections, most.groups)} here that tried it: "
            "too few to call it learned."
        )
    else:
        text = UNTRIED
    source = "own_runs" if learned else weights[0].source
    entry = case.base.sources[source]
    return [out.Basis(source=source, label=entry.title, locator=entry.locator, kind=entry.kind, supports=text)]


def weights_told(case: Case) -> str:
    """One sentence about all weights of this answer."""
    learnt = case.learnt
    if not learnt:
        return "Every weight is a starting guess."
    used = [w.learnt for w in case.difficulty.weights if w.learnt]
    learned = sum(w.learned_here for w in used)
    return (
        f"Weights {learnt.version}: {learned} of {len(case.difficulty.weights)} learned here from "
        f"{_count(learnt.data.sections, learnt.data.groups)}; the others are starting guesses. "
        f"{apart_told(learnt.apart)}"
    )


def apart_told(apart: LearntSpread) -> str:
    """One sentence about how far sections and groups stand apart."""
    if not apart.sections:
        return "How much classes and groups differ is a starting guess."
    seen = _count(apart.sections, apart.groups)
    if not apart.learned_here:
        return f"How much classes and groups differ is a starting guess, moved a little by {seen}."
    if abs(apart.factor - 1) < 0.1:
        return f"Classes and groups here differ about as much as first assumed, as {seen} show."
    way = "more" if apart.factor > 1 else "less"
    return f"Classes and groups here differ {way} than first assumed ({apart.factor:.1f} times), as {seen} show."


def _of_lever(case: Case, lever: Lever) -> list[Weight]:
    """The lever's own weights; where it has none it acts through the margins of what it touches."""
    own = [w for w in case.difficulty.weights if w.lever == lever.id]
    return own or [w for w in case.difficulty.weights if w.term and w.term.criterion in lever.touches]


def _criteria(case: Case, weights: list[Weight]) -> str:
    if any("all" in w.criteria for w in weights):
        return "every criterion"
    named = dict.fromkeys(case.challenge.criterion(c).label for w in weights for c in w.criteria)
    return wording.listed(list(named))


def _count(sections: int, groups: int) -> str:
    return f"{sections} section{'' if sections == 1 else 's'} ({groups} group{'' if groups == 1 else 's'})"


def rule_basis(case: Case, firing: RuleFiring) -> list[out.Basis]:
    found = []
    for basis in firing.rule.basis:
        source = case.base.sources[basis.source]
        found.append(
            out.Basis(
                source=basis.source,
                label=source.title,
                locator=source.locator,
                kind=source.kind,
                supports=basis.supports,
            )
        )
    return found


def rule_of(case: Case, firing: RuleFiring) -> out.RuleRef:
    return out.RuleRef(id=firing.rule.id, version=case.base.version)


def reason_of(case: Case, firing: RuleFiring, move: Move | None = None) -> out.Reason:
    reason = firing.because(case.request.units.value, move)
    return out.Reason(text=reason.text, evidence=_evidence(reason.evidence))


def _evidence(quoted: Sequence[Quoted]) -> list[out.Evidence]:
    return [
        out.Evidence(fact=q.fact, property=q.property, about=q.about, value=q.value, unit=q.unit, meaning=q.meaning)
        for q in quoted
    ]
