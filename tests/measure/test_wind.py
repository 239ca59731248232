"""Wind: speeds against worked values, the Beaufort table at its edges, the margin by the reference box."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rungwright.domain.grades import Band
from rungwright.measure.build import build_checks
from rungwright.measure.columns import columns
from rungwright.measure.verdicts import CLEAR, NOT_FEASIBLE, UNCERTAIN
from rungwright.measure.wind import BEAUFORT, beaufort, slide_speed, tip_speed, velocity_pressure, wind_statement
from tests.measure.refuge import challenge, levers

BUILD = {"mass_g": 50, "drag": 1.2, "face_mm2": 150 * 150}


def checks(*changes: dict, band: Band = Band.G3_5):
    cols = columns(levers(), [{**challenge().presets[band], **change} for change in changes])
    return build_checks(cols, band, figure_height_mm=75)


def test_speeds_of_a_50_g_box():
    # Derived from q = rho V^2 / 2 at 15 C: 50 g, face and base 150 mm: slides at 2.98 and 3.85 m/s, tips at 5.44
    assert slide_speed(friction=0.3, **BUILD) == pytest.approx(2.98, abs=0.01)
    assert slide_speed(friction=0.5, **BUILD) == pytest.approx(3.85, abs=0.01)
    assert tip_speed(base_mm=150, push_height_mm=75, **BUILD) == pytest.approx(5.44, abs=0.01)


def test_velocity_pressure_of_a_building_code():
    # ASCE 7 worked example: Kz .90, Kd .85, 100 mph: 19.58 psf, with 0.00256 V^2 rounded; second hand
    pascal = velocity_pressure(speed=100 * 0.44704, height_factor=0.9, direction_factor=0.85)
    assert pascal / 47.880 == pytest.approx(19.58, rel=2e-3)
    # Derived: where it slides, the push of drag x q x A equals friction x weight
    force = velocity_pressure(speed=slide_speed(friction=0.3, **BUILD)) * 1.2 * 0.0225
    assert force == pytest.approx(0.3 * 0.4905)
    with pytest.raises(ValueError):
        velocity_pressure(speed=-1)


def test_slides_first_where_friction_is_under_base_over_twice_the_height():
    limit = 150 / (2 * 75)
    assert slide_speed(friction=limit, **BUILD) == pytest.approx(tip_speed(base_mm=150, push_height_mm=75, **BUILD))


def test_speeds_refuse_what_cannot_be():
    for wrong in ({"friction": 0}, {"friction": 0.3, "mass_g": 0}, {"friction": 0.3, "drag": -1}):
        with pytest.raises(ValueError):
            slide_speed(**{**BUILD, **wrong})
    with pytest.raises(ValueError):
        tip_speed(base_mm=0, push_height_mm=75, **BUILD)


@pytest.mark.parametrize(
    # WMO scale as the Met Office prints it [m/s]: first and last speed of each force
    ("force", "first", "last"),
    [
        (0, 0, 0.2), (1, 0.3, 1.5), (2, 1.6, 3.3), (3, 3.4, 5.4), (4, 5.5, 7.9), (5, 8.0, 10.7), (6, 10.8, 13.8),
        (7, 13.9, 17.1), (8, 17.2, 20.7), (9, 20.8, 24.4), (10, 24.5, 28.4), (11, 28.5, 32.6), (12, 32.7, 80),
    ],
)  # fmt: skip
def test_beaufort(force, first, last):
    assert beaufort(first) == beaufort(last) == (force, BEAUFORT[force][1])


def test_beaufort_refuses():
    for wrong in (-0.1, float("nan")):
        with pytest.raises(ValueError):
            beaufort(wrong)


def test_margin_is_mass_over_face_against_the_box():
    # Derived by hand for the 3-5 preset: 12 sticks, 5 sheets, 80 cm tape, 900 cm2 foil, 3 figures inside, 20 g box
    wind = checks({}).wind
    kit = 12 * 1.39 + 5 * 4.99 + 80 * 0.036 + 900 * 0.00432
    grams = 0.82 * kit + 3 * 0.79
    assert wind.mass_g[0] == pytest.approx(grams)
    assert wind.margin_mid[0] == pytest.approx(grams / (118 * 112) / (20 / (150 * 110)))
    assert wind.margin_low[0] < wind.margin_mid[0] < wind.margin_high[0]
    assert wind.slides_first.all()


def test_verdicts():
    bare = {"rigid_pieces": 0, "sheets": 3, "joiner_length_cm": 20, "cover_cm2": 0, "figures_in_wind": "outside"}
    wind = checks({}, {**bare, "wind_reference_g": 15}, {**bare, "figure_count": 6, "wind_reference_g": 40}).wind
    assert list(wind.verdict) == [CLEAR, UNCERTAIN, NOT_FEASIBLE]


def test_figures_inside_weigh_it_down():
    inside, outside = checks({"figures_in_wind": "inside"}, {"figures_in_wind": "outside"}).wind.mass_g
    assert inside - outside == pytest.approx(3 * 0.79)


def domain(name: str):
    low, high = levers()[name].bounds
    return st.integers(int(low), int(high))


@settings(max_examples=150, deadline=None)
@given(
    band=st.sampled_from(list(Band)),
    row=st.fixed_dictionaries(
        {name: domain(name) for name in ("rigid_pieces", "sheets", "joiner_length_cm", "cover_cm2", "figure_count")}
        | {"wind_reference_g": domain("wind_reference_g"), "load_mass_g": domain("load_mass_g")}
        | {name: st.sampled_from(levers()[name].settings) for name in ("room_each", "load_place")}
    ),
    more=st.sampled_from(["rigid_pieces", "sheets", "joiner_length_cm", "cover_cm2"]),
    data=st.data(),
)
def test_a_better_kit_never_lowers_the_margin_and_a_stronger_wind_never_raises_it(band, row, more, data):
    high = int(levers()[more].bounds[1])
    better = {**row, more: data.draw(st.integers(row[more], high))}
    stronger = {**row, "wind_reference_g": data.draw(st.integers(row["wind_reference_g"], 40))}
    built = checks(row, better, stronger, band=band)
    margin = built.wind.margin_mid
    # Where nothing holds the weight, the form that comes closest is drawn; a better kit may then need a longer one.
    assert margin[1] >= margin[0] - 1e-12 or built.load.verdict[0] == NOT_FEASIBLE
    assert margin[2] <= margin[0] + 1e-12


def test_sentences():
    built = checks({}, {"rigid_pieces": 0, "sheets": 3, "cover_cm2": 0, "figure_count": 8, "wind_reference_g": 40})
    said = [wind_statement(built.wind, built.load, i, units="both") for i in range(2)]
    assert said[0].text == (
        "A build of about 42 g (1.5 oz), 118 mm (4¾ in) wide, stays put better than the 20 g (0.7 oz) box "
        "that sets the wind."
    )
    assert "too light for its size" in said[1].text
    assert said[0].numbers["margin"] == pytest.approx(float(built.wind.margin_mid[0]), abs=0.005)
    assert np.isfinite([v for v in said[1].numbers.values() if not isinstance(v, (bool, str))]).all()
