"""Afloat: worked examples of a seamanship book, and the water's own geometry worked out again from polygons."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from shapely import Polygon, box
from shapely.affinity import rotate

from rungwright.measure import afloat as a


def test_box_shaped_vessel():
    # Nicholls's Seamanship: box of 36 ft beam and 18 ft draught: KB 9 ft, BM 6 ft, KM 15 ft. KM is GM with KG 0.
    assert a.metacentric_height_mm(draught=18, width_mm=36, centre_of_mass_mm=0) == pytest.approx(15)


def test_righting_lever():
    # The same book: GM 16 - 13.8 = 2.2 ft at 8 degrees: lever 0.306 ft; a wide, shallow box has no other term
    moment = 6000 * 2.2 * np.tan(np.radians(8))
    assert a.list_deg(moment_g_mm=moment, mass_g=6000, gm_mm=2.2, bm_mm=1e-9) == pytest.approx(8, abs=1e-3)
    assert 2.2 * np.sin(np.radians(8)) == pytest.approx(0.306, abs=5e-4)


def test_a_tonne_more_sinks_it_so_far():
    # The same book: 200 ft by 30 ft in sea water of 35 cubic feet a ton: 14.28 tons for each inch
    volume = 200 * 30 / 12  # cubic feet for one inch
    assert volume / 35 == pytest.approx(14.28, abs=0.01)
    inch_deep = a.draught_mm(mass_g=volume * 304.8**3 / 1000, length_mm=200 * 304.8, width_mm=30 * 304.8)
    assert inch_deep == pytest.approx(25.4)


def test_capacity_is_what_brings_it_to_the_rim():
    hull = {"length_mm": 180.0, "width_mm": 120.0}
    cargo = a.capacity_g(height_mm=30, own_mass_g=12, **hull)
    assert a.draught_mm(mass_g=cargo + 12, **hull) == pytest.approx(30)
    assert a.capacity_g(height_mm=0.2, own_mass_g=12, **hull) < 0


def righting_arm(angle: float, *, width: float, height: float, draught: float, kg: float) -> float:
    """Distance by which the buoyancy passes to the side of the weight, from the polygon of the hull under water."""
    hull = rotate(box(-width / 2, 0, width / 2, height), -np.degrees(angle), origin=(0, kg))
    area, far = width * draught, 4 * (width + height)

    def under(level: float) -> Polygon:
        return hull.intersection(box(-far, -far, far, level))

    level = brentq(lambda y: under(y).area - area, -far / 2, far / 2, xtol=1e-11)
    return under(level).centroid.x


@settings(max_examples=60, deadline=None)
@given(
    width=st.floats(60, 200), draught=st.floats(4, 30), freeboard=st.floats(10, 30), kg=st.floats(0, 60),
    off=st.floats(0.5, 20),
)  # fmt: skip
def test_list_is_where_the_polygon_of_the_water_balances(width, draught, freeboard, kg, off):
    height = draught + freeboard
    gm = float(a.metacentric_height_mm(draught=draught, width_mm=width, centre_of_mass_mm=kg))
    bm = width**2 / (12 * draught)
    lean = float(a.list_deg(moment_g_mm=off, mass_g=1, gm_mm=gm, bm_mm=bm))
    edge = float(a.edge_under_deg(draught=draught, height_mm=height, width_mm=width))
    bottom = np.degrees(np.arctan(2 * draught / width))
    assume(gm > 0.5 and lean < min(edge, bottom) - 0.05)
    angle = np.radians(lean)
    arm = righting_arm(angle, width=width, height=height, draught=draught, kg=kg)
    assert arm == pytest.approx(off * np.cos(angle), rel=2e-4, abs=1e-5)


def test_lean_solves_its_cubic_also_where_it_lolls():
    gm = np.array([5.0, 5.0, 0.0, -5.0, -5.0, -40.0])
    arm = np.array([0.0, 3.0, 1.0, 0.0, 2.0, 0.01])
    x = np.tan(np.radians(a.list_deg(moment_g_mm=arm, mass_g=1, gm_mm=gm, bm_mm=20.0)))
    assert gm * x + 10 * x**3 == pytest.approx(arm, abs=1e-9)
    # The largest root: GZ rises there.
    assert np.all(gm + 30 * x**2 >= -1e-9)
    assert np.tan(np.radians(a.list_deg(moment_g_mm=0, mass_g=1, gm_mm=-5.0, bm_mm=20.0))) == pytest.approx(0.5**0.5)


def test_refused():
    for wrong in (0, -1, np.nan):
        with pytest.raises(ValueError):
            a.draught_mm(mass_g=wrong, length_mm=1, width_mm=1)
        with pytest.raises(ValueError):
            a.list_deg(moment_g_mm=1, mass_g=1, gm_mm=1, bm_mm=wrong)
