"""Whole lots by material, and play prices."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from rungwright.measure.kit import KitUse
from rungwright.recommend.supplies import BUDGET_SHARE, SOLD_AT_ONCE, price_list, shares, whole_lots

ONE_EACH = {"sticks": 1.0, "straws": 1.0}


def use(
    each: float, *, groups: int = 9, materials=("sticks", "straws"), measure="piece", lever="rigid_pieces"
) -> KitUse:
    return KitUse(
        lever=lever,
        role="rigid_piece",
        material=materials[0],
        label="sticks",
        measure=measure,
        per_group=each,
        for_class=each * groups,
        there=None,
        short=0.0,
        also=tuple(materials[1:]),
        instead=(),
    )


def test_by_hand():
    # 12 each: 100 sticks are 8 whole lots, 20 straws one.
    found = shares(
        use(12), groups=9, stock={"sticks": 100.0, "straws": 20.0}, names={"sticks": "a", "straws": "b"}, holds=ONE_EACH
    )
    assert [(s.material, s.groups) for s in found] == [("sticks", 8), ("straws", 1)]


def test_what_looks_enough_in_sum_may_be_no_whole_lots():
    # 36 pieces for 3 groups of 12, but of each kind only one lot and a half.
    found = shares(
        use(12, groups=3),
        groups=3,
        stock={"sticks": 18.0, "straws": 18.0},
        names={"sticks": "", "straws": ""},
        holds=ONE_EACH,
    )
    assert [s.groups for s in found] == [1, 1]


@pytest.mark.parametrize("stock", [None, {"sticks": 500.0, "straws": 0.0}])
def test_one_material_for_all_needs_no_sharing(stock):
    assert shares(use(12, materials=("sticks",)), groups=9, stock=stock, names={"sticks": ""}, holds=ONE_EACH) == []


@given(st.lists(st.integers(0, 200), min_size=2, max_size=4), st.integers(1, 20), st.integers(1, 20))
def test_no_other_sharing_serves_more_groups(amounts, each, groups):
    names = {f"m{i}": "" for i in range(len(amounts))}
    stock = dict(zip(names, map(float, amounts), strict=True))
    line = use(each, groups=groups, materials=tuple(names))
    found = shares(line, groups=groups, stock=stock, names=names, holds=dict.fromkeys(names, 1.0))
    for share in found:
        assert share.groups * each <= stock[share.material]
    assert sum(s.groups for s in found) == min(groups, sum(a // each for a in amounts))


@given(st.lists(st.tuples(st.sampled_from(sorted(SOLD_AT_ONCE)), st.integers(1, 2000)), min_size=1, max_size=5))
def test_the_whole_kit_costs_more_than_the_budget_and_each_line_can_be_bought(lines):
    uses = [use(float(n), measure=measure, lever=f"lever_{i}") for i, (measure, n) in enumerate(lines)]
    priced = price_list(uses)
    whole = 0
    for line, price in zip(uses, priced.prices, strict=True):
        assert price.price >= 1 and price.amount <= line.per_group
        whole += price.price * max(1, math.floor(line.per_group / SOLD_AT_ONCE[line.measure]))
    assert priced.budget == math.floor(BUDGET_SHARE * whole) < whole
    if len(lines) > 1:
        assert all(price.price <= priced.budget for price in priced.prices)


def test_the_scarce_is_dear():
    few, many = (price_list([use(n)]).prices[0].price for n in (3.0, 20.0))
    assert few > many


def most_groups(amounts: list[float], holds: list[float], each: float, groups: int) -> int:
    """The most groups with a whole lot of one material, by HiGHS (scipy.optimize.milp).

    An integer a unit that is there, the begun one last: the lots cut from it; or, where a lot needs more than one unit,
    an integer a material: the lots made of its whole units.
    """
    rows, limits, count = [], [], 0
    pieces: list[list[float]] = []
    for amount, hold in zip(amounts, holds, strict=True):
        if hold < each:
            pieces.append([float(amount // hold) / np.ceil(each / hold)])
        else:
            pieces.append([hold / each] * int(amount // hold) + [(amount % hold) / each])
    for material in pieces:
        for room in material:
            rows.append(count)
            limits.append(room)
            count += 1
    bound = Bounds(np.zeros(count), np.array(limits) + 1e-9)
    all_groups = LinearConstraint(np.ones((1, count)), 0, groups)
    found = milp(-np.ones(count), integrality=np.ones(count), bounds=bound, constraints=all_groups)
    assert found.success
    return round(-found.fun)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.lists(st.tuples(st.integers(0, 12), st.sampled_from([1, 225, 900, 2000])), min_size=1, max_size=3),
    st.sampled_from([2, 12, 225, 450, 900, 1800]),
    st.integers(1, 20),
)
def test_taking_each_material_by_itself_is_the_best_there_is(units, each, groups):
    amounts, holds = [n * hold * 0.9 for n, hold in units], [hold for _, hold in units]
    lots = sum(whole_lots(a, holds=h, each=each) for a, h in zip(amounts, holds, strict=True))
    assert min(lots, groups) == most_groups(amounts, holds, each, groups)


@pytest.mark.parametrize(
    ("amount", "holds", "each", "lots"),
    [
        (6000, 2000, 900, 6),  # three bags: by their area alone it would be six and two thirds
        (27000, 30000, 900, 30),  # a begun roll
        (54, 1, 12, 4),  # sticks
        (5 * 900, 900, 1800, 2),  # two sheets a lot, one over
        (0, 2000, 900, 0),
    ],
)
def test_what_a_cupboard_gives(amount, holds, each, lots):
    assert whole_lots(amount, holds=holds, each=each) == lots
