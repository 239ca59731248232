"""What a recommendation stands on before anything is asked: start settings, readiness, the measure of both.

A teacher asks about one section several times over: easier, harder, one change left out, another made smaller. All but
the ask stays, so it is worked out once for the last sections that were asked about.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache

from rungwright.readiness.outcome import Expected
from rungwright.recommend.facts import NO_RIGID
from rungwright.recommend.measuring import Measured, measure
from rungwright.recommend.model import Model, build_model
from rungwright.recommend.resolve import Case
from rungwright.recommend.start import Start, start
from rungwright.rulebase import CompiledRules

SECTIONS_REMEMBERED = 64


@dataclass(frozen=True)
class Begun:
    case: Case
    start: Start
    model: Model
    before: Measured
    """row 0 the start settings, row 1 the same with `NO_RIGID`"""
    expected: Expected


@dataclass(frozen=True)
class _WithoutAsk:
    """Equal where nothing but the ask and what to include differ; `rules` are equal if they are the same object."""

    told: str
    rules: CompiledRules
    case: Case = field(compare=False)


def begin(case: Case) -> Begun:
    """Of the case as it was resolved; the answer's own case, its limits' bans included."""
    told = case.request.model_dump_json(exclude={"ask", "include"})
    begun = _begin(_WithoutAsk(told, case.rules, case))
    case = replace(case, banned=begun.start.banned)
    return replace(begun, case=case, before=replace(begun.before, case=case))


@lru_cache(maxsize=SECTIONS_REMEMBERED)
def _begin(asked: _WithoutAsk) -> Begun:
    begun = start(asked.case)
    case = replace(asked.case, banned=begun.banned)
    model = build_model(case, begun.settings)
    before = measure(case, model, begun.settings, [{}, NO_RIGID])
    return Begun(case, begun, model, before, before.expected())
