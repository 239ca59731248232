"""Worked examples of textbooks, handbooks and agencies, asked as a teacher would: texts with units in, numbers out.

Beside those at each function of `measure`. Where a page was not at hand, the source is marked as from memory.
"""

from __future__ import annotations

import math

import pytest

from rungwright.measure import afloat, drop, heat, snow, statics
from rungwright.measure.quantiles import material_points
from rungwright.measure.wind import beaufort, velocity_pressure
from tests.checks.test_kinds import answer, number

KIP, INCH = 4448.2216, 25.4


@pytest.mark.parametrize(
    ("column", "kips"),
    [
        # Hibbeler, Mechanics of Materials, columns, first examples, from memory: a pinned steel tube of 24 ft, radii 3
        # and 2.75 in; a pinned W8 x 31 of 12 ft about its weaker axis, I 37.1 in4
        ({"shape": "tube", "outer": "6 in", "wall": "1/4 in", "length": "24 ft"}, 64.5),
        ({"inertia": "37.1 in4", "length": "12 ft"}, 512),
        # Derived: a pine two-by-four, 1½ x 3½ in, 8 ft, E 1,600,000 psi, pinned: I 0.984 in4
        ({"width": "3-1/2 in", "thickness": "1-1/2 in", "length": "8 ft", "stiffness": "1600000 psi"}, 1.687),
    ],
)
def test_columns_in_us_units(column, kips):
    checked = answer("member", **{"stiffness": "29000 ksi", **column})
    assert checked.value.value / KIP == pytest.approx(kips, rel=2e-3)


def test_end_conditions_go_by_four_one_and_a_quarter():
    # Every textbook: held fast at both ends bears 4 times, at the foot alone a quarter of what pinned ends bear
    stick = {"width": "10 mm", "thickness": "2 mm", "length": "114 mm", "stiffness": "11 GPa"}
    loads = {ends: answer("member", **stick, ends=ends).value.value for ends in ("pin_pin", "fix_fix", "fix_free")}
    assert loads["fix_fix"] / loads["pin_pin"] == pytest.approx(4)
    assert loads["fix_free"] / loads["pin_pin"] == pytest.approx(0.25)


def test_a_steel_rule_as_a_beam():
    # Derived, PL3/48EI and PL/4: a rule of 300 x 25 x 1 mm, E 200 GPa: 1 N sags 1.35 mm, 250 MPa breaks it at 13.9 N
    checked = answer(
        "member", width="25 mm", thickness="1 mm", length="300 mm", stiffness="200 GPa", strength="250 MPa"
    )
    inertia, modulus = 25 / 12, 25 / 6
    sag = next(a for a in checked.amounts if a.label.startswith("sag"))
    assert sag.value == pytest.approx(300**3 / (48 * 200e3 * inertia))
    assert number(checked, "breaks").value == pytest.approx(4 * 250 * modulus / 300)


def test_patch_load_of_a_beam_table():
    # Roark's table for a beam loaded over a middle part, from memory: M = P (2 L - c) / 8
    for c in (0, 30, 60, 100):
        assert statics.beam_patch_moment(load=5, span=100, patch=c) == pytest.approx(5 * (200 - c) / 8)


def test_tent_against_a_frame_analysis_library():
    # anaStruct: two panels hinged at the ridge and at the feet, each 0.2 N spread along it, 5 N on the ridge
    anastruct = pytest.importorskip("anastruct")
    for angle in (40, 60, 75):
        half, high = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        system = anastruct.SystemElements()
        system.add_element([[0.0, 0.0], [half, high]], spring={2: 0})
        system.add_element([[half, high], [2 * half, 0.0]])
        system.add_support_hinged(system.find_node_id([0.0, 0.0]))
        system.add_support_hinged(system.find_node_id([2 * half, 0.0]))
        system.point_load(system.find_node_id([half, high]), Fy=-5.0)
        for element in (1, 2):
            system.q_load(q=-0.2, element_id=element, direction="y")
        system.solve()
        foot = system.get_node_results_system(1)
        thrust, _ = statics.a_frame_thrust(ridge_load=5, panel_weight=0.2, angle_deg=angle)
        assert abs(foot["Fx"]) == pytest.approx(float(thrust), rel=1e-6)


@pytest.mark.parametrize("force", range(13))
def test_beaufort_by_its_formula(force):
    # WMO: v = 0.836 B^(3/2) m/s is the middle of force B; from memory
    assert beaufort(0.836 * force**1.5)[0] == force


@pytest.mark.parametrize(
    # Met Office, the scale in mph, from memory: the middle of each force
    ("mph", "force"),
    [(0.5, 0), (2, 1), (5, 2), (10, 3), (15, 4), (21, 5), (28, 6), (35, 7), (42, 8), (50, 9), (59, 10), (68, 11)],
)
def test_beaufort_in_miles_an_hour(mph, force):
    assert beaufort(mph * 0.44704)[0] == force


@pytest.mark.parametrize(("mph", "psf"), [(90, 20.7), (100, 25.6), (115, 33.9), (150, 57.6)])
def test_velocity_pressure_in_us_units(mph, psf):
    # ASCE 7, q = 0.00256 V^2 with no factors, psf and mph; from memory
    assert velocity_pressure(speed=mph * 0.44704) / snow.PA_PER_PSF == pytest.approx(psf, rel=4e-3)


def test_wind_push_on_a_tipping_card():
    # Derived: a standing book, 600 g, 30 mm thick, 240 mm high and 170 mm wide, drag 1.2, tips where the push on its
    # face times half the height is its weight times half the thickness: q = m g b / (h Cd A)
    checked = answer(
        "wind", mass="600 g", width="170 mm", depth="30 mm", height="240 mm", drag=1.2, friction=1.0, speed="1 m/s"
    )
    q = 0.6 * 9.81 * 0.03 / (0.24 * 1.2 * 0.17 * 0.24)
    assert number(checked, "tips_front").value == pytest.approx(math.sqrt(q / 0.6125), rel=1e-3)


def test_snow_by_a_government_guide():
    # FEMA P-957, snow load safety guide, from memory: an inch of water 5.2 psf; a foot of light snow about 3 psf, of
    # wet snow 21 psf, of ice 57 psf
    def foot(density: float) -> float:
        return float(snow.snow_pressure(depth_mm=304.8, density_kg_m3=density)) / snow.PA_PER_PSF

    assert foot(1000) / 12 == pytest.approx(5.2, abs=0.03)
    assert foot(917) == pytest.approx(57, abs=0.5)
    assert foot(snow.SNOW_KG_M3["fresh"][0]) == pytest.approx(3, abs=0.2)
    low, high = (foot(d) for d in snow.SNOW_KG_M3["wet_old"])
    assert low < 21 < high


def test_drops_and_rain_gauges():
    # Pharmacy's rule, from memory: 20 drops of water are 1 ml; a tenth of an inch of rain on 1 sq ft is
    # 236 ml (1 in: 0.623 gallons)
    checked = answer("rain", way="dropper", drops=20, width="100 mm", depth="100 mm")
    assert number(checked, "water").value == pytest.approx(1)
    inch = answer("rain", strokes=100, stroke="2.3597 ml", width="12 in", depth="12 in")
    assert number(inch, "depth").value == pytest.approx(2.54, rel=1e-3)


def test_a_can_with_holes_by_torricelli():
    # Textbook, from memory: water 1 m deep leaves a hole at 4.43 m/s
    checked = answer("rain", way="holes", holes=1, hole="1 mm", head="500 mm", width="100 mm", depth="100 mm")
    ideal = math.pi / 4 * 1e-6 * math.sqrt(2 * 9.81 * 0.5) * 60 * 1e6
    water = number(checked, "water")
    assert 0.6 * ideal <= water.low <= water.high <= 0.8 * ideal


@pytest.mark.parametrize(("height_m", "speed"), [(4.905, 9.81), (19.62, 19.62), (44.145, 29.43), (1.0, 4.43)])
def test_free_fall_of_one_two_and_three_seconds(height_m, speed):
    # Derived: after t seconds g t, fallen g t^2 / 2; a pendulum let go a metre up passes its lowest point as fast
    assert drop.free_fall_speed(height_mm=height_m * 1e3) == pytest.approx(speed, abs=2e-3)


def test_terminal_speed_of_a_skydiver():
    # OpenStax College Physics, drag, from memory: 85 kg, 0.70 m2, C 1.0: 44 m/s
    assert drop.terminal_speed(mass_g=85_000, drag=1.0, face_mm2=0.7e6) == pytest.approx(44, abs=0.5)


def test_an_egg_drop_by_energy():
    # Derived: 60 g from 3 m have 1.77 J; over 30 mm that is 58.9 N on the mean, 100 times its weight
    checked = answer("drop", height="3 m", mass="60 g", stopping="30 mm")
    assert number(checked, "energy").value == pytest.approx(0.06 * 9.81 * 3, rel=1e-3)
    assert number(checked, "mean_stop").value == pytest.approx(100, rel=1e-3)


def test_ice_and_a_plank():
    # Archimedes, textbook densities from memory: ice 917 kg/m3 floats with .917 of its height under fresh water; a
    # pine plank of 500 kg/m3 with half
    for density, part in ((917, 0.917), (500, 0.5)):
        grams = 300 * 200 * 50 * density * 1e-6
        assert afloat.draught_mm(mass_g=grams, length_mm=300, width_mm=200) / 50 == pytest.approx(part)


def test_a_foil_boat_of_the_classroom():
    # Derived: a hull of 6 x 4 x 1 in holds 24 cubic inches of water, 393 ml, so 393 g to the rim less its own 5 g
    checked = answer(
        "float", length="6 in", width="4 in", height="1 in", own_mass="5 g", cargo="100 g", freeboard="0 mm"
    )
    assert checked.value.value == pytest.approx(24 * 16.387 - 5, rel=0.03)
    # Nicholls's Seamanship: KB is half the draught of a box; BM is B^2 / 12 T
    t = 105e3 / (152.4 * 101.6)
    gm = number(checked, "metacentric_height").value
    kg = (5 * 12.7 + 100 * 25.4) / 105
    assert gm == pytest.approx(t / 2 + 101.6**2 / (12 * t) - kg, rel=0.03)


def test_u_values_of_windows_and_walls():
    # EN 673 and builders' tables, from memory: 4 mm of glass (1.0 W/mK) 5.7 to 5.8 W/m2K with .13 and .04 outside
    glass = heat.u_value(layers=heat.layers_resistance(thickness_mm=[4], conductivity=[1.0]), surfaces=0.17)
    assert 5.7 <= float(glass) <= 5.8
    # A solid brick wall of 220 mm (0.77 W/mK) with 13 mm of plaster (0.57): about 2.1 W/m2K; from memory
    wall = heat.layers_resistance(thickness_mm=[220, 13], conductivity=[0.77, 0.57])
    assert heat.u_value(layers=wall, surfaces=0.17) == pytest.approx(2.1, abs=0.05)


def test_coffee_by_newtons_law():
    # Calculus textbooks, from memory: 200 F in a room of 70 F is 180 F after 2 min; it reaches 120 F after 11.4 min
    constant = 2 / math.log(130 / 110)
    after = heat.temperature_after(start=200, room=70, minutes=11.44, time_constant=constant)
    assert after == pytest.approx(120, abs=0.05)


@pytest.mark.parametrize("item", ["bag", "can"])
def test_a_slope_by_the_tangent(item):
    # Derived: friction of .5 holds to 26.6 degrees, of 1 to 45; a can of 66 x 115 mm tips at 29.9 first
    checked = answer("rest", item=item, width="300 mm", depth="300 mm", slope="5 deg", friction=1.0)
    assert number(checked, "slides_at").value == pytest.approx(45)
    assert checked.value.value == pytest.approx(45 if item == "bag" else 29.85, abs=0.05)


def test_materials_lie_in_the_ranges_of_their_handbooks():
    # Wood Handbook, clear birch at 12 %: E 11.0 (paper) and 13.9 GPa (yellow), MOR 85 and 114 MPa; small sticks vary
    at = material_points()
    for name, low, high in (("stick_e", 8e3, 13.9e3), ("stick_strength", 50, 114), ("paper_thickness", 0.08, 0.12)):
        assert low <= at[name].min() and at[name].max() <= high, name
