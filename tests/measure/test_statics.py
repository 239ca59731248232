"""Values of the textbook functions. Each names where its answer stands; `derived` ones are worked out independently."""

import numpy as np
import pytest
from scipy.integrate import solve_bvp
from scipy.optimize import brentq

from rungwright.measure import statics as s

IN, LB = 25.4, 4.4482216


@pytest.mark.parametrize(
    ("ends", "kilonewtons"), [("pin_pin", 62.2), ("fix_free", 15.6), ("fix_pin", 127), ("fix_fix", 249)]
)
def test_euler_pipe(ends, kilonewtons):
    # Gere and Goodno, 7th ed., 11.4-2: steel pipe, E 210 GPa, d 40/36 mm, L 1.2 m
    inertia = s.tube_inertia(outer_diameter=40, wall=2)
    assert inertia == pytest.approx(43.22e3, rel=2e-4)
    load = s.euler_load(e=210e3, inertia=inertia, length=1200, k=s.END_FACTORS[ends])
    assert load / 1e3 == pytest.approx(kilonewtons, rel=4e-3)


def test_euler_two_columns():
    # Gere and Goodno, 7th ed., 11.3-12: E 200 GPa, safety 2.4
    weak = s.euler_load(e=200e3, inertia=22.2e6, length=5500) / 1e3
    strong = s.euler_load(e=200e3, inertia=103e6, length=11000) / 1e3
    assert (weak, strong) == (pytest.approx(1449, abs=0.6), pytest.approx(1680, abs=0.6))
    assert min(weak, strong) / 2.4 == pytest.approx(604, abs=0.6)


def test_euler_solid_rod():
    # fmamitrotta/phd-jupyter-notebooks, ColumnBuckling: rod d 20 mm, L 420 mm, E 207000 MPa
    rod = s.tube_inertia(outer_diameter=20, wall=10)
    assert s.euler_load(e=207e3, inertia=rod, length=420) == pytest.approx(90962, abs=1)


def test_published_numbers_that_are_wrong():
    # strengthandstiffness.com problems 10-1 and 10-2, acrylic stick 8 x 24 mm, E 3.1 GPa, 1 m: it prints 317 N and
    # 1270 N; Euler gives 31.33 N pinned and 125.3 N fixed
    stick = s.rectangle_inertia(width=24, thickness=8)
    loads = [s.euler_load(e=3100, inertia=stick, length=1000, k=k) for k in (1.0, 0.5)]
    assert loads == [pytest.approx(31.33, abs=0.005), pytest.approx(125.3, abs=0.05)]
    # anaStruct test SS_18 prints 600 for E I 5e3 over 10, which is 12 E I / L^2 of a single element
    assert s.euler_load(e=5e3, inertia=1, length=10) == pytest.approx(493.480, abs=5e-4)


def test_fixed_pinned_factor_solves_tan_u_is_u():
    u = brentq(lambda x: np.tan(x) - x, 4.3, 4.6)
    assert u == pytest.approx(4.4934, abs=1e-4)
    assert s.END_FACTORS["fix_pin"] == pytest.approx(np.pi / u, abs=5e-4)


def test_bending_stress_of_an_i_section():
    # Peery (1950) example 6.2.1, through section-properties tests/validation/test_peery.py: I 43.3 in4, M 8e5 lb in,
    # 55 400 psi. The outer fibre at 3 in is inferred from these.
    mpa = s.bending_stress(moment=8e5 * LB * IN, modulus=43.3 / 3 * IN**3)
    assert mpa / (LB / IN**2) == pytest.approx(55_400, rel=1e-3)


def test_two_bar_truss_by_leaning_poles():
    # Truss with 500 N at the top joint and a bar at 45 degrees: 707.1 N along the bar, 500 N in the tie
    along, thrust, _ = s.leaning_poles(load=500, height=100, foot_radius=100, poles=1)
    assert (along, thrust) == (pytest.approx(707.1, abs=0.05), pytest.approx(500))


def test_craft_stick():
    # Derived from Wood Handbook birch: E 10 970 MPa, MOR 84.8 MPa, 10 x 2 mm
    inertia, modulus = s.rectangle_inertia(width=10, thickness=2), s.rectangle_modulus(width=10, thickness=2)
    assert s.euler_load(e=10970, inertia=inertia, length=114) == pytest.approx(55.5, abs=0.05)
    assert s.euler_load(e=10970, inertia=inertia, length=57) == pytest.approx(222, abs=0.5)
    moment, sag = s.beam_centre_load(load=1, span=100, e=10970, inertia=inertia)
    assert 84.8 / s.bending_stress(moment=moment, modulus=modulus) == pytest.approx(22.6, abs=0.05)
    assert sag == pytest.approx(0.285, abs=5e-4)
    thin = s.rectangle_inertia(width=10, thickness=1.6) / inertia
    assert thin == pytest.approx(0.51, abs=5e-3)
    assert s.rectangle_modulus(width=10, thickness=1.6) / modulus == pytest.approx(0.64)


def test_drinking_straw():
    # Derived: 6 mm, wall 0.15, E 1300 MPa: Euler 3.8 N at 200 mm, 15.1 N at 100 mm, wrinkling about 87 N: Euler governs
    tube = s.tube_inertia(outer_diameter=6, wall=0.15)
    assert tube == pytest.approx(11.8006, abs=5e-4)
    assert np.pi * 2.925**3 * 0.15 == pytest.approx(11.7928, abs=5e-4)  # the thin-tube formula beside it
    assert s.euler_load(e=1300, inertia=tube, length=200) == pytest.approx(3.8, abs=0.05)
    assert s.euler_load(e=1300, inertia=tube, length=100) == pytest.approx(15.1, abs=0.05)
    stress = s.wrinkling_stress(e=1300, wall=0.15, radius=2.925) * s.wrinkling_knockdown(wall=0.15, radius=2.925)
    assert stress * 2 * np.pi * 2.925 * 0.15 == pytest.approx(87, abs=3)


def test_knockdown_falls_with_slenderness():
    # NASA SP-8007, second hand: 1 - 0.901 (1 - exp(-sqrt(R/t)/16)); R/t 256 gives 1 - 0.901 (1 - 1/e)
    assert s.wrinkling_knockdown(wall=1, radius=256) == pytest.approx(1 - 0.901 * (1 - 1 / np.e))
    assert np.all(np.diff(s.wrinkling_knockdown(wall=1, radius=np.arange(1, 1500, 50))) < 0)


def test_folded_plate():
    # Derived; a finite-element section mesh of the same zigzag gives 109.383 mm4
    inertia = s.folded_plate_inertia(pitch=20, depth=8, thickness=0.2, facets=8)
    assert inertia == pytest.approx(109.280, abs=5e-4)
    assert inertia == pytest.approx(109.383, rel=1e-3)
    flat = s.rectangle_inertia(width=80, thickness=0.2)
    assert flat == pytest.approx(0.0533, abs=5e-5)
    assert inertia / flat == pytest.approx(2050, rel=1e-3)


def test_a_frame():
    # Derived: t 60 deg, W 0.2 N, P 5 N
    thrust, upright = s.a_frame_thrust(ridge_load=5, panel_weight=0.2, angle_deg=60)
    assert (thrust, upright) == (pytest.approx(1.501, abs=5e-4), pytest.approx(2.7))
    assert s.a_frame_friction_needed(ridge_load=5, panel_weight=0.2, angle_deg=60) == pytest.approx(0.556, abs=5e-4)


@pytest.mark.parametrize(("angle", "needed"), [(30, 1.732), (45, 1.0), (60, 0.577), (75, 0.268)])
def test_friction_needed_by_angle(angle, needed):
    # Derived: cot t under a ridge load alone, half of it under the panels' own weight
    only_load = s.a_frame_friction_needed(ridge_load=1, panel_weight=0, angle_deg=angle)
    only_own = s.a_frame_friction_needed(ridge_load=0, panel_weight=1, angle_deg=angle)
    assert (only_load, only_own) == (pytest.approx(needed, abs=5e-4), pytest.approx(needed / 2, abs=5e-4))


def test_load_at_slip_is_where_friction_is_just_needed():
    load = s.a_frame_ridge_load_at_slip(panel_weight=0.2, angle_deg=60, friction=0.4)
    assert s.a_frame_friction_needed(ridge_load=load, panel_weight=0.2, angle_deg=60) == pytest.approx(0.4)
    assert s.a_frame_ridge_load_at_slip(panel_weight=0.2, angle_deg=60, friction=0.2) == 0
    assert s.a_frame_ridge_load_at_slip(panel_weight=0.2, angle_deg=60, friction=0.6) == np.inf


def test_leaning_poles_against_equilibrium_of_the_top():
    # W 9.81 N, h 200, r 100, three poles: 3.6560 N each; the top joint's 3 x 3 equilibrium solved beside it
    along, thrust, needed = s.leaning_poles(load=9.81, height=200, foot_radius=100, poles=3)
    turns = np.radians([0, 120, 240])
    poles = np.stack([-100 * np.cos(turns), -100 * np.sin(turns), np.full(3, 200.0)]) / np.hypot(100, 200)
    solved = np.linalg.solve(poles, [0, 0, 9.81])
    assert along == pytest.approx(3.6560, abs=5e-5)
    assert solved == pytest.approx([along] * 3)
    assert (thrust, needed) == (pytest.approx(9.81 / 3 / 2), pytest.approx(0.5))


@pytest.mark.parametrize("case", ["centre", "even"])
def test_simple_beam_against_the_differential_equation(case):
    # anaStruct tests/test_analytical.py holds the same formulas; here the bending equation is solved numerically
    span, ei = 100.0, 5e4
    if case == "centre":
        moment, sag = s.beam_centre_load(load=2, span=span, e=ei, inertia=1)
        bending = lambda x: np.where(x < span / 2, x, span - x)  # noqa: E731
    else:
        moment, sag = s.beam_even_load(load_per_length=0.02, span=span, e=ei, inertia=1)
        bending = lambda x: 0.02 * x * (span - x) / 2  # noqa: E731
    x = np.linspace(0, span, 401)
    solved = solve_bvp(lambda x, y: [y[1], -bending(x) / ei], lambda a, b: [a[0], b[0]], x, np.zeros((2, x.size)))
    assert moment == pytest.approx(bending(x).max())
    assert sag == pytest.approx(solved.sol(span / 2)[0], rel=1e-4)


def test_cantilevers():
    # anaStruct tests/test_analytical.py: PL and PL3/3EI; wL2/2 and wL4/8EI
    assert s.cantilever_tip_load(load=2, length=100, e=1e3, inertia=5) == (200, pytest.approx(2e6 / 15e3))
    assert s.cantilever_even_load(load_per_length=0.1, length=100, e=1e3, inertia=5) == (500, pytest.approx(1e7 / 4e4))


def test_beam_held_fast_at_both_ends():
    # anaStruct tests/test_analytical.py: wL2/12 at the ends and wL4/384EI; the bending equation solved beside it
    moment, sag = s.fixed_beam_even_load(load_per_length=0.02, span=100, e=1e3, inertia=50)
    assert moment == pytest.approx(0.02 * 100**2 / 12)
    x = np.linspace(0, 100, 201)
    solved = solve_bvp(
        lambda x, y: [y[1], y[2], y[3], np.full_like(x, 0.02 / 5e4)],
        lambda a, b: [a[0], a[1], b[0], b[1]],
        x, np.zeros((4, x.size)),
    )  # fmt: skip
    assert sag == pytest.approx(solved.sol(50)[0], rel=1e-4)
    assert moment == pytest.approx(solved.sol(0)[2] * 5e4, rel=1e-4)


def test_patch_runs_from_point_to_even_load():
    assert s.beam_patch_moment(load=8, span=100, patch=0) == pytest.approx(200)
    assert s.beam_patch_moment(load=8, span=100, patch=100) == pytest.approx(100)


def test_plate_rigidity_and_self_buckling():
    # D at nu 0 is E I of a strip 1 mm wide; Greenhill's constant is (1.8664 x 3/2)^2, first zero of J(-1/3)
    assert s.plate_rigidity(e=5000, thickness=0.1, poisson=0) == pytest.approx(5000 * 1e-3 / 12)
    tall = s.self_buckling_length(e=1300, inertia=11.8, weight_per_length=2.5e-5)
    assert tall**3 * 2.5e-5 / (1300 * 11.8) == pytest.approx((1.5 * 1.86635) ** 2, rel=1e-4)


@pytest.mark.parametrize(
    "call",
    [
        lambda: s.euler_load(e=1, inertia=1, length=0),
        lambda: s.euler_load(e=-1, inertia=1, length=1),
        lambda: s.tube_inertia(outer_diameter=2, wall=1.1),
        lambda: s.beam_patch_moment(load=1, span=10, patch=11),
        lambda: s.plate_rigidity(e=1, thickness=1, poisson=1),
        lambda: s.wrinkling_knockdown(wall=1, radius=1501),
        lambda: s.a_frame_thrust(ridge_load=1, panel_weight=1, angle_deg=90),
        lambda: s.a_frame_friction_needed(ridge_load=0, panel_weight=0, angle_deg=45),
        lambda: s.leaning_poles(load=1, height=0, foot_radius=1, poles=3),
        lambda: s.euler_load(e=float("nan"), inertia=1, length=1),
    ],
)
def test_out_of_domain(call):
    with pytest.raises(ValueError):
        call()


def test_same_typed_numbers_are_keyword_only():
    with pytest.raises(TypeError):
        s.euler_load(1, 1, 1)
