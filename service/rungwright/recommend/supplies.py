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
    use: KitUse, *, groups: int, stock: Mapping[str, float] | None, names: Mapping[str, str], holds: Mapping[str, float]
) -> list[out.KitShare]:
    """How many groups get their whole line in each material, those there is most of first.

    Parameters, by material, in kit measures: `stock`, what may be used of it; `holds` > 0, what one unit of it holds.

    No other way gives more groups a lot of one kind, so no solver is asked: lots are equal, no lot has two materials,
    and so each material gives as many as can be cut from it, whatever the others give. A test asks an integer solver
    the same. Groups that are left over get a mixed lot, or less. Empty where one material is enough.
    """
    if stock is None or not use.also or use.material is None or use.for_class <= 0:
        return []
    each, left, found = use.for_class / groups, groups, []
    for material in (use.material, *use.also):
        whole = min(left, whole_lots(stock[material], holds=holds[material], each=each))
        if whole:
            found.append(out.KitShare(material=material, label=names[material], groups=whole))
        left -= whole
    return found


def whole_lots(amount: float, *, holds: float, each: float) -> int:
    """Lots of `each` > 0 that `amount` >= 0 gives in units of `holds` > 0, all in one kit measure.

    Where a unit holds a lot, lots are cut from one unit each: three bags of 2000 cm2 give six covers of 900, not the
    six and two thirds of their area. Where a lot needs more than one unit it is made of whole ones.
    """
    units, rest = divmod(amount + 1e-9, holds)
    if holds < each:
        return int(units // math.ceil(each / holds - 1e-9))
    return int(units * (holds // each) + rest // each)


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
