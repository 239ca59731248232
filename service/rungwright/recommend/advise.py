"""Cautions and prompts for the chosen settings, by the rule base."""

from __future__ import annotations

from collections.abc import Sequence

from rungwright.engine.form import Fact
from rungwright.measure.kit import kit_lines
from rungwright.readiness.outcome import Expected
from rungwright.recommend.facts import measured_facts, now_fact, rounded
from rungwright.recommend.infer import Inference
from rungwright.recommend.measuring import Measured
from rungwright.recommend.resolve import Case
from rungwright.recommend.station_kit import station_things

MOST_ITEMS = 12
MOST_TOOLS = 40


def advice_facts(section: Fact, after: Measured, expected: Expected, inference: Inference) -> list[Fact]:
    """What the caution and prompt rules read: the chosen settings, their checks, the kit, the tools, the findings."""
    case = after.case
    return [
        section,
        now_fact(case, after.cols.row(0), flat_roof(after)),
        *measured_facts(after, expected),
        *_items(case, after),
        *_tools(case),
        *inference.findings,
    ]


def flat_roof(measured: Measured) -> bool:
    return bool(measured.checks["load"].flat_roof[0])


def _items(case: Case, after: Measured) -> list[Fact]:
    lines = kit_lines(case.challenge, case.section, case.stock, after.cols, 0)
    facts: list[Fact] = []
    for use in lines:
        for name in (use.material, *use.also):
            if name is None:
                continue
            material = case.base.materials[name]
            facts.append(
                rounded(
                    {
                        "kind": "item",
                        "name": name,
                        "role": material.role,
                        "rigidity": material.rigidity,
                        "amount": float(use.per_group),
                        "small_part": material.small_part,
                        "reused_packaging": "food_packaging" in material.allergens,
                    }
                )
            )
    return facts[:MOST_ITEMS]


def _tools(case: Case) -> Sequence[Fact]:
    """Tools that the lesson uses: the station kit, and what the section has and may use."""
    out = {*(case.section.exclusions or ()), *case.banned}
    named = {thing for things in station_things(case).values() for thing in things}
    named |= set(case.section.tools or ())
    return [{"kind": "tool", "name": name} for name in sorted(named & set(case.base.tools) - out)][:MOST_TOOLS]
