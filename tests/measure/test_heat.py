"""Heat: a wall of the standard's kind worked out by hand, and the cooling integrated numerically."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from rungwright.measure import heat as h


def test_layers_add_up():
    # ISO 6946's way, from memory: 100 mm of .04 and 12.5 mm of .25 W/mK, Rsi .13 and Rse .04: R 2.72, U 0.368
    layers = h.layers_resistance(thickness_mm=[100, 12.5], conductivity=[0.04, 0.25])
    assert layers == pytest.approx(2.55)
    assert h.u_value(layers=layers, surfaces=0.17) == pytest.approx(1 / 2.72)


def test_cooling_against_the_differential_equation():
    # m c T' = -U A (T - Ta)
    constant = float(h.time_constant_min(mass_g=250, u=4, area_mm2=35_000))
    assert constant == pytest.approx(250 * 4.18 / (4 * 0.035) / 60)
    cooled = solve_ivp(lambda t, y: [-(y[0] - 20) / constant], (0, 20), [45.0], rtol=1e-10, atol=1e-10)
    assert h.temperature_after(start=45, room=20, minutes=20, time_constant=constant) == pytest.approx(cooled.y[0][-1])


def test_warming_and_ends():
    assert h.temperature_after(start=0, room=20, minutes=0, time_constant=30) == 0
    assert h.temperature_after(start=0, room=20, minutes=1e6, time_constant=30) == pytest.approx(20)


def test_conductivities_hold_the_values_of_the_standard():
    # ISO 10456 design values, second hand [W/mK]: felt .05, wool .06, cork .05, softwood .13, hardwood .18,
    # polypropylene .22, polyethylene .33
    for name, values in {
        "felt": [0.05],
        "wool": [0.06],
        "cork": [0.05],
        "wood": [0.13, 0.18],
        "plastic": [0.22, 0.33],
    }.items():
        q = h.CONDUCTIVITY[name]
        assert all(q.low <= v <= q.high for v in values), name


def test_refused():
    with pytest.raises(ValueError):
        h.layers_resistance(thickness_mm=[1, 2], conductivity=[0.1])
    for wrong in (0, -1, np.nan):
        with pytest.raises(ValueError):
            h.layers_resistance(thickness_mm=[wrong], conductivity=[0.1])
        with pytest.raises(ValueError):
            h.u_value(layers=1, surfaces=wrong)
