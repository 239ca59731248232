"""Drops: worked by hand, and the fall against drag integrated numerically."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from rungwright.measure import drop as d


def test_a_metre_by_hand():
    # Derived: 1 m: 4.429 m/s; 80 g: 0.785 J; stopped over 10 mm: 100 times its own weight
    speed = d.free_fall_speed(height_mm=1000)
    assert speed == pytest.approx(4.429, abs=5e-4)
    assert d.impact_energy_j(mass_g=80, speed=speed) == pytest.approx(0.785, abs=5e-4)
    assert d.mean_stop_g(speed=speed, stopping_mm=10) == pytest.approx(100)


@pytest.mark.parametrize("height", [300.0, 2000.0, 6000.0])
def test_fall_against_drag(height):
    # m v' = m g - rho/2 Cd A v^2 integrated over time until the height is fallen
    vt = float(d.terminal_speed(mass_g=40, drag=1.3, face_mm2=90_000))

    def landed(_: float, y: np.ndarray) -> float:
        return y[0] - height * 1e-3

    landed.terminal = True
    fall = solve_ivp(
        lambda t, y: [y[1], 9.81 * (1 - (y[1] / vt) ** 2)], (0, 30), [0.0, 0.0], events=landed, rtol=1e-9, atol=1e-10
    )
    assert d.speed_with_drag(height_mm=height, terminal=vt) == pytest.approx(fall.y_events[0][0][1], rel=1e-6)


def test_drag_only_slows_and_fades_with_weight():
    free = d.free_fall_speed(height_mm=2000)
    vt = d.terminal_speed(mass_g=np.array([5.0, 50.0, 5e6]), drag=1.2, face_mm2=40_000)
    speeds = d.speed_with_drag(height_mm=2000, terminal=vt)
    assert np.all(np.diff(speeds) > 0) and np.all(speeds <= free)
    assert speeds[-1] == pytest.approx(free, rel=1e-4)


def test_a_spring_peaks_at_twice_the_mean():
    # Derived: k s^2 / 2 = E, so the peak force k s is 2 E / s
    k, energy = 3.0, 0.4
    s = np.sqrt(2 * energy / k)
    assert k * s == pytest.approx(d.PEAK_OVER_MEAN[1] * energy / s)


def test_refused():
    for wrong in (0, -5, np.nan):
        with pytest.raises(ValueError):
            d.free_fall_speed(height_mm=wrong)
        with pytest.raises(ValueError):
            d.mean_stop_g(speed=1, stopping_mm=wrong)
