"""Quantities as people write them. Factors are those of the international yard and pound: 25.4 mm, 453.59237 g."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rungwright.checks import quantities as q


@pytest.mark.parametrize(
    ("text", "of", "value"),
    [
        ("370 g", q.MASS, 370), ("370g", q.MASS, 370), ("0.37 kg", q.MASS, 370), ("13oz", q.MASS, 13 * 28.349523125),
        ("13 OZ", q.MASS, 13 * 28.349523125), ("370 Grams", q.MASS, 370), ("50 gm", q.MASS, 50),
        ("1-1/2 lb", q.MASS, 680.388555), ("6”", q.LENGTH, 152.4), ("5’ 2”", q.LENGTH, 62 * 25.4),
        ("2½\u2033", q.LENGTH, 63.5), ("10 kph", q.SPEED, 10 / 3.6),
        ("1 lb 4 oz", q.MASS, 20 * 28.349523125), ("2 lbs", q.MASS, 907.18474), ("2 1/2 in", q.LENGTH, 63.5),
        ("2½ in", q.LENGTH, 63.5), ("¼in", q.LENGTH, 6.35), ('6"', q.LENGTH, 152.4), ("5 ft 2 in", q.LENGTH, 62 * 25.4),
        ("15 cm", q.LENGTH, 150), ("450 cm2", q.AREA, 450), ("450cm²", q.AREA, 450), ("1 sq ft", q.AREA, 929.0304),
        ("0.5 l", q.VOLUME, 500), ("1 fl oz", q.VOLUME, 29.5735295625), ("1 cup", q.VOLUME, 236.5882365),
        ("10 mph", q.SPEED, 4.4704), ("3.6 km/h", q.SPEED, 1), ("90 s", q.TIME, 1.5), ("30°", q.ANGLE, 30),
        ("68 F", q.TEMPERATURE, 20), ("20 °C", q.TEMPERATURE, 20), ("-5C", q.TEMPERATURE, -5),
        ("100 kg/m3", q.DENSITY, 100), ("1 g/cm^3", q.DENSITY, 1000), ("25 psf", q.PRESSURE, 1197.0065),
        ("11 GPa", q.STRESS, 11_000), ("29000 ksi", q.STRESS, 199_947.98), ("484 in4", q.INERTIA, 484 * 25.4**4),
        ("0.2 kip/ft", q.SPREAD_FORCE, 2.9187805), ("1 kip", q.FORCE, 4448.2216),
    ],
)  # fmt: skip
def test_read(text, of, value):
    assert q.read(text, of) == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "of", "told"),
    [
        ("12 mm", q.MASS, "is not a mass; write it such as 370 g or 13 oz"),
        ("12 N", q.MASS, "is not a mass"),
        ("5 m/s", q.PRESSURE, "is not a pressure"),
        ("12 oz", q.VOLUME, "is not a volume"),
        ("12 Mm", q.MASS, "is not a mass"),
        ("12", q.LENGTH, "say the unit too: a length, such as 150 mm or 6 in"),
        (12, q.LENGTH, "say the unit too"),
        (True, q.LENGTH, "must be a length as a text"),
        (None, q.LENGTH, "must be a length as a text"),
        ("1,5 g", q.MASS, "with a point and no commas"),
        ("2 ''", q.LENGTH, "is no unit"),
        ("5 blah", q.MASS, "'blah' is no unit that is known"),
        ("heavy", q.MASS, "is not read as a mass"),
        ("", q.MASS, "is not read as a mass"),
        ("1/0 in", q.LENGTH, "divides by nothing"),
        ("1e999 g", q.MASS, "is not a finite number"),
        ("9**9**9 g", q.MASS, "is not read as a mass"),
        ("__import__('os') g", q.MASS, "is not read as a mass"),
        ("9" * 500 + " g", q.MASS, "is too long"),
    ],
)
def test_refused_with_what_is_expected(text, of, told):
    with pytest.raises(ValueError, match=r".") as error:
        q.read(text, of)
    assert told in str(error.value)


@given(st.text(max_size=70))
def test_any_text_is_read_or_refused(text):
    for of in (q.MASS, q.TEMPERATURE, q.SPEED):
        try:
            assert math.isfinite(q.read(text, of))
        except ValueError as error:
            assert str(error)


def test_ranges():
    assert q.read_range("2 to 4 m/s", q.SPEED) == (2, 4)
    assert q.read_range("2-4 m/s", q.SPEED) == (2, 4)
    assert q.read_range("1-1/2 to 2-1/4 in", q.LENGTH) == pytest.approx((38.1, 57.15))
    assert q.read_range("2 mph to 4 m/s", q.SPEED) == pytest.approx((0.89408, 4))
    assert q.read_range("3 m/s", q.SPEED) == (3, 3)
    assert q.read_plain_range("0.2 to 0.4") == (0.2, 0.4)
    assert q.read_plain_range(0.3) == q.read_plain_range("0.3") == (0.3, 0.3)
    for wrong in ("4 to 2 m/s", "2 to m/s", "2 to 4", "2 to 4 kg"):
        with pytest.raises(ValueError):
            q.read_range(wrong, q.SPEED)
    for wrong in ("0.4 to 0.2", "x", True, None, [], "1 to 2 to 3", math.nan):
        with pytest.raises(ValueError):
            q.read_plain_range(wrong)


@pytest.mark.parametrize(
    ("value", "of", "text"),
    [
        (370, q.MASS, "370 g (13.1 oz)"), (0, q.MASS, "0 g (0 oz)"), (12_345, q.MASS, "12,345 g (435 oz)"),
        (20, q.TEMPERATURE, "20 °C (68 °F)"), (-40, q.TEMPERATURE, "-40 °C (-40 °F)"), (21.8, q.ANGLE, "21.8°"),
        (0.123, q.LENGTH, "0.123 mm (0.00484 in)"), (99.96, q.LENGTH, "100 mm (3.94 in)"),
    ],
)  # fmt: skip
def test_shown(value, of, text):
    assert q.shown(value, of) == text
    assert q.shown(value, of, "metric") == text.split(" (")[0]


def test_shown_range():
    assert q.shown_range(1.5, 5, q.SPEED) == "1.5 to 5 m/s (3.36 to 11.2 mph)"
    assert q.shown_range(164.4, 328.9, q.LENGTH, "metric", digits=2) == "160 to 330 mm"
    assert q.shown_range(2.0001, 2.0002, q.SPEED) == "2 m/s (4.47 mph)"


@given(st.floats(1e-3, 1e6))
def test_what_is_shown_is_read_back(value):
    for of in (q.MASS, q.LENGTH, q.AREA, q.VOLUME, q.SPEED, q.DENSITY, q.PRESSURE, q.STRESS, q.FORCE, q.INERTIA):
        for units in ("metric", "us"):
            text = q.shown(value, of, units).replace(",", "").replace("lb/cu ft", "pcf")
            if of.us or units == "metric":
                assert q.read(text, of) == pytest.approx(value, rel=6e-3, abs=1e-5 * (of.us is not None) + 6e-7)
