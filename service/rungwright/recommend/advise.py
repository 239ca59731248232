"""Cautions and prompts for the chosen settings, by the rule base."""

from __future__ import annotations

from collections.abc import Sequence

from rungwright.domain.strict import Setting
from rungwright.engine.form import Fact, Scalar
from rungwright.measure.kit import kit_lines
from rungwright.readiness.outcome import Expected
from rungwright.recommend.facts import measured_facts, now_fact, rounded
from rungwright.recommend.infer import Inference
from rungwright.recommend.measuring import Measured
from rungwright.recommend.resolve import Case

MOST_ITEMS = 12
MOST_TOOLS = 40


def advice_facts(
    case: Case,
    section: Fact,
    after: Measured,
    expected: Expected,
    inference: Inference,
    what_if: dict[str, Scalar | None],
) -> list[Fact]:
    """What the caution and prompt rules read: the chosen settings, their checks, the kit, the tools, the findings."""
    settings: dict[str, Setting] = dict(after.cols.rows[0])
    return [
        section,
        now_fact(case, settings, flat_roof(after, 0)),
        *measured_facts(case, after, 0, expected, what_if),
        *_items(case, after, inference),
        *_tools(case, inference),
        *inference.findings,
    ]


def flat_roof(measured: Measured, i: int) -> bool:
    return bool(measured.checks["load"].flat_roof[i])


def _items(case: Case, after: Measured, inference: Inference) -> list[Fact]:
    limits = inference.limits
    lines = kit_lines(
        case.challenge,
        case.section,
        case.base.materials,
        after.cols,
        0,
        banned=[*limits.banned_materials, *limits.banned_tools],
    )
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


def _tools(case: Case, inference: Inference) -> Sequence[Fact]:
    """Tools that the lesson uses: the station kit, and what the section has and may use."""
    out = {*(case.section.exclusions or ()), *inference.limits.banned_tools}
    named = {thing for things in case.challenge.station_kit.values() for thing in things}
    named |= set(case.section.tools or ())
    return [{"kind": "tool", "name": name} for name in sorted(named & set(case.base.tools) - out)][:MOST_TOOLS]
