"""Rest and feet."""

import numpy as np
import pytest

from rungwright.measure import rest as r


def test_tilt_board_and_slide_are_one_thing():
    # UNECE CTU Code, appendix 2: cardboard on cardboard 0.5, so it slides at 26.6 degrees; derived mu = tan a
    assert r.slides_at_deg(friction=0.5) == pytest.approx(26.565, abs=1e-3)
    assert r.friction_of_tilt(angle_deg=26.565) == pytest.approx(0.5, abs=1e-5)
    assert r.friction_of_tilt(angle_deg=45) == pytest.approx(1)


def test_a_can_tips_where_its_middle_passes_its_edge():
    # Derived: 66 mm across, 115 mm tall: tan a = 66 / 115
    assert r.tips_at_deg(width_mm=66, height_mm=115) == pytest.approx(29.85, abs=0.01)


@pytest.mark.parametrize(
    ("width", "depth", "item", "spots"),
    [
        (118, 118, 60, 2), (118, 118, 66, 2), (120, 120, 60, 4), (180, 60, 60, 3), (102, 102, 60, 1), (103, 103, 60, 2),
        (59, 200, 60, 0), (60, 119.9, 60, 1), (60, 120, 60, 2),
    ],
)  # fmt: skip
def test_the_middles_of_spots_lie_an_items_width_apart(width, depth, item, spots):
    # Common practice; two across the corners of a square roof: (side - item) * sqrt 2 >= item, by hand
    assert r.spots_on_roof(width_mm=width, depth_mm=depth, item_width_mm=item) == spots


def test_refused():
    for wrong in (0, 90, -1, np.nan):
        with pytest.raises(ValueError):
            r.friction_of_tilt(angle_deg=wrong)
