"""Whole groups by material where one does not reach for all, and play prices where materials are priced."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from rungwright.domain import recommendation as out
from rungwright.measure.kit import KitUse

LINE_PRICE = 20
"""What the whole of one kit line costs, about: so what there is little of is dear. Starting guess."""
BUDGET_SHARE = 0.8
"""Part of the whole kit's price that a group may spend. Starting guess."""
SOLD_AT_ONCE = {"piece": 1.0, "sheet": 1.0, "cm": 10.0, "cm2": 225.0, "g": 50.0}
"""The least that can be bought, in kit measures: 225 cm2 is a square of 15 cm."""


def shares(
    use: KitUse, *, groups: int, stock: Mapping[str, float] | None, names: Mapping[str, str]
) -> list[out.KitShare]:
    """How many groups get their whole line in each material, those there is most of first.

    Each material is one supply in equal lots, so counting whole lots is the best there is; groups that are left over
    get a mixed lot, or none. Empty where one material is enough.
    """
    if stock is None or not use.also or use.material is None or use.for_class <= 0:
        return []
    each, left, found = use.for_class / groups, groups, []
    for material in (use.material, *use.also):
        whole = min(left, math.floor(stock[material] / each + 1e-9))
        if whole:
            found.append(out.KitShare(material=material, label=names[material], groups=whole))
        left -= whole
    return found


def price_list(uses: Sequence[KitUse]) -> out.PriceList:
    """Prices in whole play coins for the lines that a lever counts."""
    prices, whole = [], 0
    for use in uses:
        if use.lever is None or use.per_group <= 0:
            continue
        lots = max(1, math.floor(use.per_group / SOLD_AT_ONCE[use.measure]))
        price = max(1, round(LINE_PRICE / lots))
        amount = min(SOLD_AT_ONCE[use.measure], use.per_group)
        prices.append(out.Price(lever=use.lever, label=use.label, amount=amount, unit=use.measure, price=price))
        whole += price * lots
    return out.PriceList(budget=math.floor(BUDGET_SHARE * whole), prices=prices)
