"""Pressed members that are pushed across: the published benchmarks, and the equation solved numerically."""

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from rungwright.measure import beam_columns as b
from rungwright.measure.statics import beam_even_load, cantilever_tip_load, euler_load

KIP, INCH = 4448.2216, 25.4
STEEL = {"e": 29_000 * KIP / INCH**2, "inertia": 484 * INCH**4, "length": 336 * INCH}


@pytest.mark.parametrize(
    ("kips", "moment", "sag"), [(0, 235, 0.197), (150, 269, 0.224), (300, 313, 0.261), (450, 375, 0.311)]
)
def test_both_ends_pinned(kips, moment, sag):
    # AISC benchmark problem 1, shear deformation left out: E 29 000 ksi, I 484 in4, L 336 in, w 0.2 kip/ft
    m, d = b.pushed_evenly(load_per_length=0.2 / 12 * KIP / INCH, axial=kips * KIP, **STEEL)
    assert m / (KIP * INCH) == pytest.approx(moment, rel=3e-3)
    assert d / INCH == pytest.approx(sag, rel=4e-3)


@pytest.mark.parametrize(
    ("kips", "moment", "sag"), [(0, 336, 0.901), (100, 469, 1.33), (150, 598, 1.75), (200, 848, 2.56)]
)
def test_foot_fixed(kips, moment, sag):
    # AISC benchmark problem 2, shear deformation left out: the same column, 1 kip across its tip
    m, d = b.pushed_at_the_tip(load=KIP, axial=kips * KIP, **STEEL)
    assert m / (KIP * INCH) == pytest.approx(moment, rel=2e-3)
    assert d / INCH == pytest.approx(sag, rel=4e-3)


@pytest.mark.parametrize("part", [0.05, 0.4, 0.9])
def test_against_the_differential_equation(part):
    # E I y'' + P y = -w x (L - x) / 2, solved numerically
    length, ei, w = 110.0, 6e4, 0.02
    p = part * float(euler_load(e=ei, inertia=1, length=length))
    x = np.linspace(0, length, 601)
    solved = solve_bvp(
        lambda x, y: [y[1], -(w * x * (length - x) / 2 + p * y[0]) / ei],
        lambda left, right: [left[0], right[0]],
        x, np.zeros((2, x.size)), tol=1e-8, max_nodes=20_000,
    )  # fmt: skip
    middle = float(solved.sol(length / 2)[0])
    moment, sag = b.pushed_evenly(load_per_length=w, axial=p, length=length, e=ei, inertia=1)
    assert sag == pytest.approx(middle, rel=1e-4)
    assert moment == pytest.approx(w * length**2 / 8 + p * middle, rel=1e-4)


def test_without_weight_they_are_plain_beams_and_the_two_ways_meet():
    size = {"length": 100.0, "e": 1e4, "inertia": 5.0}
    even = b.pushed_evenly(load_per_length=0.01, axial=0, **size)
    assert even == pytest.approx(beam_even_load(load_per_length=0.01, span=100, e=1e4, inertia=5))
    tip = b.pushed_at_the_tip(load=1, axial=0, **size)
    assert tip == pytest.approx(cantilever_tip_load(load=1, length=100, e=1e4, inertia=5))
    # u just under and over 0.01, where the series gives way to the formula
    for call, k in ((b.pushed_evenly, 2), (b.pushed_at_the_tip, 1)):
        name = "load_per_length" if k == 2 else "load"
        axial = np.array([0.0099999, 0.0100001]) ** 2 * 5e4 / (100 / k) ** 2
        (low_m, high_m), (low_d, high_d) = call(**{name: 1.0}, axial=axial, **size)
        assert high_m == pytest.approx(low_m, rel=1e-7) and high_d == pytest.approx(low_d, rel=1e-6)


def test_from_the_buckling_load_on_it_is_refused():
    buckles = float(euler_load(e=1e4, inertia=5, length=100))
    for wrong in (buckles, 2 * buckles, -1, np.nan):
        with pytest.raises(ValueError):
            b.pushed_evenly(load_per_length=1, axial=wrong, length=100, e=1e4, inertia=5)
    with pytest.raises(ValueError):
        b.pushed_at_the_tip(load=1, axial=buckles / 4, length=100, e=1e4, inertia=5)
