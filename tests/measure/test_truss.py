"""The truss of triangles: a worked example, equilibrium, and a general structural-analysis library."""

from itertools import pairwise

import numpy as np
import pytest

from rungwright.measure.truss import Truss, bar_forces, forces_of_a_middle_load, triangles


def test_one_triangle_by_hand():
    # Derived: 1 on the top of an equilateral triangle: legs 1 / (2 sin 60), tie 1 / (2 tan 60)
    pull, press = forces_of_a_middle_load(1)
    assert (pull, press) == (pytest.approx(0.5 / np.tan(np.pi / 3)), pytest.approx(0.5 / np.sin(np.pi / 3)))


def test_a_sideways_load_on_a_bar_at_45_degrees():
    # Truss example: 500 N sideways at the top joint: 707.1 N press in the bar at 45 degrees, 500 N pull in the others
    right = Truss(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]), ((0, 1), (0, 2), (2, 1)), 1)
    tie, upright, sloping = bar_forces(right, np.array([[0, 0], [0, 0], [500.0, 0]]))
    assert (tie, upright, sloping) == (pytest.approx(500), pytest.approx(500), pytest.approx(-707.1, abs=0.05))


@pytest.mark.parametrize("panels", range(1, 9))
def test_against_a_frame_analysis_library(panels):
    # anaStruct, a general 2D frame solver: the same joints and hinged bars, a load of 1 on every bottom joint in turn
    anastruct = pytest.importorskip("anastruct")
    truss = triangles(panels)
    for joint in range(1, panels + 1):
        loads = np.zeros_like(truss.joints)
        loads[panels + joint] = [0.3, -1.0]  # a top joint, pushed sideways too
        system = anastruct.SystemElements()
        for a, b in truss.bars:
            system.add_truss_element([list(map(float, truss.joints[a])), list(map(float, truss.joints[b]))])
        at = [system.find_node_id(list(map(float, xy))) for xy in truss.joints]
        system.add_support_hinged(at[0])
        system.add_support_roll(at[panels])
        system.point_load(at[panels + joint], Fx=0.3, Fy=-1.0)
        system.solve()
        theirs = [system.get_element_results(i + 1)["Nmax"] for i in range(len(truss.bars))]
        assert bar_forces(truss, loads) == pytest.approx(theirs, abs=1e-6)


@pytest.mark.parametrize("panels", range(2, 12))
def test_every_joint_is_in_balance_and_sides_are_alike(panels):
    truss = triangles(panels)
    rng = np.random.default_rng(panels)
    loads = rng.normal(size=truss.joints.shape)
    forces = bar_forces(truss, loads)
    total = loads.copy()
    for (a, b), force in zip(truss.bars, forces, strict=True):
        way = (truss.joints[b] - truss.joints[a]) / np.hypot(*(truss.joints[b] - truss.joints[a]))
        total[a] += force * way
        total[b] -= force * way
    total[[0, panels]] = 0  # the supports take what is left there
    assert np.abs(total).max() < 1e-9


def test_a_longer_truss_is_pressed_no_less():
    presses = [max(forces_of_a_middle_load(n)) for n in range(1, 12)]
    assert all(b >= a - 1e-12 for a, b in pairwise(presses))


def test_panels_are_bounded():
    for wrong in (0, 41, -1):
        with pytest.raises(ValueError):
            triangles(wrong)
