"""Forms of bridges, towers and rafts: by hand, and what must hold for any of them."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rungwright.measure import members
from rungwright.measure.quantiles import low_mid_high, material_points
from rungwright.measure.rafts import rafts
from rungwright.measure.spans import spans
from rungwright.measure.structure import bears_g
from rungwright.measure.towers import sway_load, towers

M = material_points()
G = 9.81e-3


def by_id(forms):
    return {f.id: f for f in forms}


def bears(form, *, tape=1e4, off=False):
    return bears_g(form, M, tape_cm=tape, off_centre=off)


def test_flat_beam_by_hand():
    # Derived: a stick of 10 x 1.8 mm of 85 MPa over 90 mm under a 60 mm patch: Z 5.4 mm3, M = P (90/4 - 60/8)
    by_hand = 85 * 5.4 / (90 / 4 - 60 / 8)
    grams, first = bears(by_id(spans(80.0))["span_flat"])
    assert grams[1] == pytest.approx(3 * by_hand / G, rel=0.02)
    assert first == "the sticks break"


def test_glued_layers_bend_as_one():
    # Derived: two layers glued have (2 t)^2 / (2 t^2) = 2 times the modulus of two that slip on each other
    taped, glued = (by_id(spans(300.0))[f"span_layers_{how}"] for how in ("taped", "glued"))
    breaks = [f.strengths(M, 1.0)[0]["the layers break"] for f in (taped, glued)]
    assert breaks[1] / breaks[0] == pytest.approx(2)


def test_truss_by_hand():
    # Derived: two panels, the weight at the middle bottom joint: the top bar is pressed by W / (2 tan 60) x 2 = .577 W
    truss = by_id(spans(180.0))["span_truss"]
    modes = truss.strengths(M, 1.0)[0]
    one = members.stick_column(M, 114.0)
    assert modes["a pressed stick buckles"] == pytest.approx(2 * one * np.sqrt(3))
    assert truss.sticks == 19


def test_sway_of_posts_on_springs():
    # Derived: four rigid posts of 105 mm with 100 N mm/rad at each end: 8 x 100 / 105 N; energy of a small lean agrees
    load = sway_load(stiffness=100.0, height=105.0, posts=4)
    assert load == pytest.approx(800 / 105)
    a = 1e-4
    assert load * 105 * (1 - np.cos(a)) == pytest.approx(8 * 100 * a**2 / 2, rel=1e-6)


def test_an_unbraced_tower_is_weaker_and_says_why():
    forms = by_id(towers(300.0))
    plain, braced = bears(forms["tower_4_plain"]), bears(forms["tower_4_braced"])
    assert plain[0][1] < braced[0][1] / 3
    assert plain[1] == "the corners turn and it sways over"


def test_straw_raft_by_hand():
    # Derived: a 210 x 6 mm straw full of air pushes 5.94 g of water aside and weighs 0.52 g
    (raft,) = rafts(sticks=0, straws=20, cover_cm2=0)
    assert raft.bears_g[2] == pytest.approx(20 * (np.pi * 9 * 210 / 1000 - 0.52) - 100 * 0.036, abs=0.01)


def test_hull_by_hand():
    # Derived: 900 cm2 is 300 mm square; sides of 30 mm leave 240 x 240, 22 mm under water: 1267 g less 3.9 g of foil
    (hull,) = rafts(sticks=0, straws=0, cover_cm2=900)
    assert hull.bears_g[1] == pytest.approx(240 * 240 * 22 / 1000 - 900 * 0.00432)


@settings(max_examples=40, deadline=None)
@given(gap=st.floats(60, 900), more=st.floats(0, 300), off=st.booleans(), tape=st.floats(10, 300))
def test_a_wider_gap_never_bears_more(gap, more, off, tape):
    longer = by_id(spans(min(gap + more, 900.0)))
    for name, form in by_id(spans(gap)).items():
        if name in longer:
            near = bears(form, off=off, tape=tape)[0]
            far = bears(longer[name], off=off, tape=tape)[0]
            assert np.all(far <= near * (1 + 1e-9)), name


@settings(max_examples=40, deadline=None)
@given(height=st.floats(80, 1000), more=st.floats(0, 400), off=st.booleans())
def test_a_taller_tower_never_bears_more(height, more, off):
    taller = by_id(towers(min(height + more, 1000.0)))
    for name, form in by_id(towers(height)).items():
        assert np.all(bears(taller[name], off=off)[0] <= bears(form, off=off)[0] * (1 + 1e-9)), name


@settings(max_examples=40, deadline=None)
@given(tape=st.floats(5, 200), more=st.floats(0, 200), off=st.booleans())
def test_more_tape_never_bears_less_and_off_centre_never_more(tape, more, off):
    for form in (*spans(250.0), *towers(300.0)):
        assert np.all(bears(form, tape=tape + more, off=off)[0] >= bears(form, tape=tape, off=off)[0] - 1e-9), form.id
        assert np.all(bears(form, tape=tape, off=True)[0] <= bears(form, tape=tape, off=False)[0] + 1e-9), form.id


@given(count=st.integers(4, 200), more=st.integers(0, 100))
def test_a_raft_of_more_never_carries_less(count, more):
    for kit in ("sticks", "straws", "cover_cm2"):
        none = {"sticks": 0, "straws": 0, "cover_cm2": 0}
        scale = 100 if kit == "cover_cm2" else 1
        small = rafts(**{**none, kit: count * scale})
        large = rafts(**{**none, kit: (count + more) * scale})
        for a, b in zip(small, large, strict=True):
            assert all(y >= x for x, y in zip(a.bears_g, b.bears_g, strict=True))


def test_a_longer_post_never_bears_more():
    for length in np.linspace(40, 300, 20):
        assert np.all(members.stick_column(M, length * 1.1) < members.stick_column(M, length))


def test_ranges():
    for wrong in (59, 901, np.nan):
        with pytest.raises(ValueError):
            spans(wrong)
    for wrong in (79, 1001, np.nan):
        with pytest.raises(ValueError):
            towers(wrong)


def test_quantiles_are_those_of_numpy():
    for shape in ((1021,), (7, 3), (2,), (1, 4)):
        values = np.random.default_rng(3).normal(size=shape)
        assert low_mid_high(values) == pytest.approx(np.moveaxis(np.quantile(values, [0.05, 0.5, 0.95], axis=0), 0, -1))
