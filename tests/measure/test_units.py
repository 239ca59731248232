"""How quantities are said."""

import pytest

from rungwright.domain.units import area_cm2, area_m2, length_cm, length_m, length_mm, mass


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (mass(370), "370 g (13 oz)"),
        (mass(250, "us"), "9 oz"),
        (mass(20), "20 g (0.7 oz)"),
        (mass(4.99, "metric"), "5 g"),
        (length_mm(70), "70 mm (2¾ in)"),
        (length_mm(50), "50 mm (2 in)"),
        (length_mm(3), "3 mm (¼ in)"),
        (length_mm(0), "0 mm (0 in)"),
        (length_cm(60), "60 cm (23½ in)"),
        (length_cm(7.5, "metric"), "7.5 cm"),
        (area_cm2(450), "450 cm² (70 sq in)"),
        # A foot is 0.3048 m, NIST Special Publication 811, appendix B.8.
        (length_m(56), "56 m (184 ft)"),
        (length_m(3.05), "3 m (10 ft)"),
        (area_m2(5.7), "5.7 m² (61 sq ft)"),
        (area_m2(12, "metric"), "12 m²"),
    ],
)
def test_said(said, expected):
    assert said == expected


@pytest.mark.parametrize("wrong", [-1, float("nan"), float("inf")])
def test_refuses(wrong):
    for say in (mass, length_mm, length_cm, area_cm2, length_m, area_m2):
        with pytest.raises(ValueError):
            say(wrong)
