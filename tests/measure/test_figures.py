"""Figures: how many fit, scale, tilt, and the words of the room check."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rungwright.domain.grades import Band
from rungwright.measure.build import build_checks
from rungwright.measure.columns import columns
from rungwright.measure.constants import STATURE_MM
from rungwright.measure.figures import room_statement, scale_of, tilt_to_tip_deg
from rungwright.measure.forms import forms
from rungwright.measure.room import figures_in, on_a_grid
from rungwright.measure.verdicts import CLEAR, NOT_FEASIBLE, UNCERTAIN
from tests.measure.refuge import challenge, levers

FORMS = {f.id: f for f in forms()}
ROOMS = ("lying", "own_50mm", "own_70mm", "own_100mm")


def measured(*changes: dict, height: float = 75.0):
    cols = columns(levers(), [{**challenge().presets[Band.G6_8], **change} for change in changes])
    return build_checks(cols, Band.G6_8, figure_height_mm=height)


def test_a_110_mm_floor_holds_9_standing_or_3_lying():
    # Worked through by hand: common practice
    floor = {"width_mm": 110, "depth_mm": 110}
    assert on_a_grid(**floor, across_mm=30, along_mm=30, gap_mm=5) == 9
    assert on_a_grid(**floor, across_mm=75, along_mm=30) == 3


def test_grid_refuses_no_size():
    with pytest.raises(ValueError):
        on_a_grid(width_mm=0, depth_mm=1, across_mm=1, along_mm=1)


@pytest.mark.parametrize(
    ("form", "fits"),
    [
        ("frame_1_0", (4, 4, 1, 1)),
        ("frame_2_0", (8, 8, 3, 2)),
        ("leaning_3", (3, 0, 0, 0)),
        ("posts_flat_150_150", (10, 9, 4, 1)),
        ("posts_flat_150_210", (14, 12, 6, 2)),
        ("posts_flat_210_210", (16, 16, 9, 4)),
    ],
)
def test_figures_that_fit(form, fits):
    # floor(W / side) x floor(D / side), counted by hand; lying: 75 x 30 mm or 50 mm squares, whichever holds more
    assert tuple(figures_in(FORMS[form], room, figure_height_mm=75) for room in ROOMS) == fits


def test_head_room_decides_even_where_figures_lie():
    assert figures_in(FORMS["leaning_3"], "lying", figure_height_mm=96) == 0
    assert figures_in(FORMS["frame_1_0"], "lying", figure_height_mm=106) > 0
    assert figures_in(FORMS["frame_1_0"], "own_50mm", figure_height_mm=107) == 0
    with pytest.raises(ValueError):
        figures_in(FORMS["frame_1_0"], "lying", figure_height_mm=0)


def test_more_room_for_each_never_holds_more():
    for form in forms():
        counts = [figures_in(form, room, figure_height_mm=75) for room in ROOMS]
        assert counts == sorted(counts, reverse=True)


def test_verdicts():
    many = {"room_each": "own_100mm", "figure_count": 5}
    tight = {"room_each": "own_70mm", "figure_count": 7, "sheets": 10}
    room = measured({}, many, tight).room
    assert list(room.verdict) == [CLEAR, NOT_FEASIBLE, UNCERTAIN]
    assert list(room.spare) == [0, -1, 2]


def test_no_form_holds_figures_taller_than_its_roof():
    assert measured({}, height=120).room.verdict[0] == NOT_FEASIBLE


@settings(max_examples=60, deadline=None)
@given(count=st.integers(1, 8), room=st.integers(0, 3), sheets=st.integers(3, 10), rigid=st.integers(0, 30))
def test_fewer_figures_with_less_room_are_never_harder_to_house(count, room, sheets, rigid):
    kit = {"sheets": sheets, "rigid_pieces": rigid}
    asked = {**kit, "figure_count": count, "room_each": ROOMS[room]}
    fewer = {**asked, "figure_count": max(1, count - 1)}
    closer = {**asked, "room_each": ROOMS[max(0, room - 1)]}
    feasible = measured(asked, fewer, closer).room.verdict != NOT_FEASIBLE
    assert feasible[1] >= feasible[0] and feasible[2] >= feasible[0]


@pytest.mark.parametrize(("height", "scale"), [(50, 27.7), (75, 18.5), (100, 13.8)])
def test_scale_of_a_ten_year_old(height, scale):
    # CDC stature for age: 1385 mm taken for ten years; the tables' mean of boys and girls is 1383
    assert scale_of(figure_height_mm=height, age_years=10) == pytest.approx(scale, abs=0.06)


def test_scale_refuses_what_the_tables_do_not_hold():
    for wrong in ({"figure_height_mm": 0, "age_years": 10}, {"figure_height_mm": 75, "age_years": 2.9}):
        with pytest.raises(ValueError):
            scale_of(**wrong)


@pytest.mark.parametrize(("height", "base", "degrees"), [(75, 20, 14.9), (75, 30, 21.8), (100, 25, 14.0)])
def test_tilt_to_tip(height, base, degrees):
    # Derived: tan a = (d/2) / h, the centre of mass at half height
    assert tilt_to_tip_deg(base_mm=base, centre_of_mass_mm=height / 2) == pytest.approx(degrees, abs=0.05)


def test_tilt_refuses():
    for wrong in (0, -1, math.nan):
        with pytest.raises(ValueError):
            tilt_to_tip_deg(base_mm=wrong, centre_of_mass_mm=10)


def test_sentences():
    built = measured({}, {"room_each": "own_100mm", "figure_count": 5}, {"room_each": "own_70mm", "figure_count": 7})
    fits, never, just = (room_statement(built.room, built.load, i, units="both").text for i in range(3))
    assert fits == (
        "A floor of 110 mm (4¼ in) by 110 mm (4¼ in) holds 4 figures with the room asked for, and 4 must fit."
    )
    assert never.startswith("No build of this kit has room for 5; the largest")
    assert just.endswith("with the room asked for, and 7 must fit; built a little smaller, it holds 4.")


@pytest.mark.parametrize("age", range(3, 21))
def test_stature_is_that_of_a_package_of_growth_charts(age):
    # rcpchgrowth carries the CDC tables: median stature, mean of boys and girls
    growth = pytest.importorskip("rcpchgrowth")
    medians = [
        growth.measurement_from_sds(
            reference="cdc", requested_sds=0, measurement_method="height", sex=sex, age=float(age)
        )
        for sex in ("male", "female")
    ]
    assert STATURE_MM[age] == pytest.approx(10 * sum(medians) / 2, abs=0.1)


@pytest.mark.parametrize(
    ("age", "boys", "girls"),
    [(59.5 / 12, 108.63, 107.37), (8, 127.88, 127.59), (10, 138.62, 137.99), (20, 176.85, 163.34)],
)
def test_stature_at_ages_of_the_published_table(age, boys, girls):
    # CDC stature for age, medians [cm]
    assert scale_of(figure_height_mm=10, age_years=age) == pytest.approx((boys + girls) / 2, abs=0.05)
