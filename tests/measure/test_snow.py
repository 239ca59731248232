"""Snow: the handbook's densities, worked pressures and a code's worked example."""

import numpy as np
import pytest

from rungwright.measure import snow as s


@pytest.mark.parametrize(("density", "kilopascal"), [(100, 0.981), (200, 1.961), (400, 3.923)])
def test_pressure_of_a_metre(density, kilopascal):
    # Derived: p = rho g d, g 9.80665 rounded to 9.81 here
    assert s.snow_pressure(depth_mm=1000, density_kg_m3=density) / 1e3 == pytest.approx(kilopascal, rel=1e-3)


@pytest.mark.parametrize(("grams", "side", "pascal", "metres"), [(368, 100, 361, 0.37), (510, 150, 222, 0.23)])
def test_a_can_and_a_bottle(grams, side, pascal, metres):
    # Derived: a 368 g can on 100 x 100 mm, a 510 g bottle on 150 x 150 mm, snow of 100 kg/m3
    pressure = s.pressure_of_mass(mass_g=grams, area_mm2=side**2)
    assert pressure == pytest.approx(pascal, abs=0.6)
    assert s.snow_depth_mm(pressure_pa=pressure, density_kg_m3=100) / 1e3 == pytest.approx(metres, abs=5e-3)


def test_code_example():
    # ASCE 7-16 worked example: pg 25 psf, factors 1: pf 17.5 psf, density 17.25 pcf
    ground = 25 * s.PA_PER_PSF
    assert s.flat_roof_snow(ground_pa=ground) / s.PA_PER_PSF == pytest.approx(17.5)
    assert s.code_density(ground_pa=ground) / s.KG_M3_PER_PCF == pytest.approx(17.25)
    assert s.code_density(ground_pa=500 * s.PA_PER_PSF) / s.KG_M3_PER_PCF == pytest.approx(30)


def test_a_pound_a_square_foot():
    # 1 psf is 47.880 Pa: one pound of force on 304.8 x 304.8 mm
    pound = 453.59237
    assert s.pressure_of_mass(mass_g=pound, area_mm2=304.8**2) == pytest.approx(s.PA_PER_PSF, rel=5e-4)


def test_densities_are_those_of_the_table():
    # rees-oberstdorf.de, weight of snow [kg/m3]
    assert list(s.SNOW_KG_M3.values()) == [
        (30, 50), (50, 100), (100, 200), (200, 400), (300, 500), (500, 800), (800, 900)
    ]  # fmt: skip


def test_refused():
    for wrong in (0, -1, np.nan):
        with pytest.raises(ValueError):
            s.snow_depth_mm(pressure_pa=wrong, density_kg_m3=100)
