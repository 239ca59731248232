"""Pictures of the pages: dots are as many as the groups, drawings are to scale, and each says what it shows."""

import re
import xml.etree.ElementTree as ElementTree
from typing import get_args

import pytest

from rungwright.domain.build import Build
from rungwright.domain.challenge import Family
from rungwright.domain.recommendation import AllCriteria
from rungwright.measure.form import Form
from rungwright.measure.forms import forms
from rungwright.measure.other_shelters import FOOT_RADIUS_MM, other_shelters
from rungwright.measure.rafts import rafts
from rungwright.measure.shape import build_of
from rungwright.measure.spans import spans
from rungwright.measure.towers import TIER_MM, towers
from rungwright.web.challenge_pictures import family_picture
from rungwright.web.drawing import drawing
from rungwright.web.floor_view import depth_of, floor_of
from rungwright.web.form_drawing import raft_drawing, shelter_drawing, span_drawing, tower_drawing
from rungwright.web.front_view import door, foot_radius, front_of, roof_at, width_of
from rungwright.web.pictures import dots


@pytest.mark.parametrize(("groups", "low", "high"), [(9, 6, 8), (1, 0, 1), (30, 12, 21), (6, 6, 6), (13, 0, 0)])
def test_a_dot_a_group(groups, low, high):
    expected = AllCriteria(share=0.5, low=0.4, high=0.6, groups=groups / 2, groups_likely=(low, high))
    made = dots(expected, groups)
    circles = re.findall(r"<circle\b[^>]*>", made.picture)
    assert len(circles) == groups
    said = f"{low} of {groups}" if low == high else f"{low} to {high} of {groups}"
    assert made.words == ("could go either way" if groups == 1 else said)
    kinds = re.findall(r'class="dot (full|half|none)"', made.picture)
    assert [kinds.count(kind) for kind in ("full", "half", "none")] == [low, high - low, groups - high]


def box_of(picture: str) -> tuple[float, float, float, float]:
    """The view box; the picture is sound XML."""
    return tuple(map(float, ElementTree.fromstring(picture).get("viewBox").split()))


def test_every_family_of_challenges_has_a_picture():
    pictures = {family: family_picture(family) for family in get_args(Family)}
    assert len(set(pictures.values())) == len(pictures)
    for picture in pictures.values():
        assert box_of(picture) == (0, 0, 120, 90)
        for x, y in re.findall(r"[ML](\d+) (\d+)", picture):
            assert 0 <= float(x) <= 120 and 0 <= float(y) <= 90


SHELTERS = [*forms(), *other_shelters()]


def built(form: Form, **changes: object) -> Build:
    settings = {"figures": 3, "room": "lying", "figure_height_mm": 75.0, "spots": 1, "off_centre": False}
    return build_of(form, **{**settings, "entry": "figure_passes", **changes})


@pytest.mark.parametrize("form", SHELTERS, ids=lambda form: form.id)
def test_every_refuge_that_the_load_check_knows_is_drawn_to_scale(form):
    build = built(form)
    drawn = shelter_drawing(build)
    assert form.label[1:] in drawn.words
    left, up, wide, high = box_of(drawn.picture)
    width, top = width_of(build), build.height_mm
    assert wide > width and high > top and up < -top
    assert left == pytest.approx(-wide / 2, abs=0.01)
    lines = " ".join(re.findall(r' d="([^"]*)"', drawn.picture))
    # The size that is said is the one that is drawn.
    assert f"M{-width / 2:g} " in lines and f"{-top:g}" in drawn.picture


def test_an_arch_is_round_and_poles_meet():
    builds = {form.id: built(form) for form in other_shelters()}
    arch, tent = builds["arch_1"], builds["poles_3"]
    half, high = arch.width_mm / 2, arch.height_mm
    assert f' d="M{-half:g} 0A{half:g} {high:g} 0 0 1 {half:g} 0"' in front_of(arch)
    # The floor is the square inside the circle of the feet, rounded down to a millimetre.
    assert foot_radius(tent) == pytest.approx(FOOT_RADIUS_MM, abs=0.75)
    assert front_of(tent).count(f"L0 {-tent.height_mm:g}") == 1 + tent.legs
    assert floor_of(builds["poles_6"]).count("<circle") == 1 + 6


@pytest.mark.parametrize("form", SHELTERS, ids=lambda form: form.id)
@pytest.mark.parametrize("room", ["lying", "own_50mm"])
@pytest.mark.parametrize(("spots", "off_centre"), [(1, True), (3, False)])
def test_both_views_hold_what_the_build_says(rules, form, room, spots, off_centre):
    build = built(form, room=room, spots=spots, off_centre=off_centre)
    settings = {"figure_count": 3, "load_mass_g": 370.0, "load_item": "bag", "wind_sides": 4}
    drawn = drawing(rules.base.challenges["shelter"], settings, build)
    picture = ElementTree.fromstring(drawn.picture)
    moved = next(g for g in picture.iter("g") if g.get("transform"))
    # A place of its own for each figure, and each spot where the build has it.
    rooms = [r for r in moved.iter("rect") if r.get("class") == "own-room"]
    assert [(float(r.get("width")) + 2, float(r.get("height")) + 2) for r in rooms] == [
        (place.width_mm, place.depth_mm) for place in build.figures
    ]
    marks = [m for m in moved.iter("circle") if m.get("class") == "spot"]
    assert [(float(m.get("cx")), -float(m.get("cy"))) for m in marks] == [
        pytest.approx((spot.x_mm, spot.y_mm), abs=0.01) for spot in build.spots
    ]
    assert ("room for" in drawn.words) == (len(build.figures) < 3)
    # Nothing is cut off: the weight stands on the roof, and both views lie inside the picture.
    left, up, wide, _ = map(float, picture.get("viewBox").split())
    foot = roof_at(build, build.spots[0].x_mm)
    assert 0 < foot <= build.height_mm and up <= -(foot + 40)
    x, y = map(float, re.findall(r"[-\d.]+", moved.get("transform")))
    assert x - width_of(build) / 2 > width_of(build) / 2 and x + width_of(build) / 2 < left + wide
    assert y - depth_of(build) / 2 >= up and y + depth_of(build) / 2 == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("form", SHELTERS, ids=lambda form: form.id)
def test_the_way_in_is_drawn_as_wide_as_it_is(form):
    build = built(form)
    said = re.search(r'd="M(-[\d.]+) [\d.]+h([\d.]+)" class="way-in"', floor_of(build))
    assert float(said[2]) == pytest.approx(build.entry.width_mm) and float(said[1]) == -float(said[2]) / 2
    assert 'class="knob"' in door(built(form, entry="can_be_closed").entry)
    assert door(built(form, entry="open_side").entry) == ""


def test_no_build_is_drawn_where_the_kit_makes_none(rules):
    assert drawing(rules.base.challenges["shelter"], {}, None) is None


@pytest.mark.parametrize("gap", [60, 94, 250, 900])
def test_every_bridge_is_drawn_over_its_gap(gap):
    for form in spans(gap):
        picture = span_drawing(form.id, form.label, gap=gap).picture
        banks = [(float(x), float(w)) for x, w in re.findall(r'<rect x="([-\d.]+)" y="0" width="(\d+)"', picture)]
        assert banks == [(-gap / 2 - 50, 50), (gap / 2, 50)], form.id


@pytest.mark.parametrize("height", [80, 300, 1000])
def test_every_tower_is_drawn_at_least_as_high_as_asked(height):
    for form in towers(height):
        picture = tower_drawing(form.id, form.label, height=height).picture
        assert -box_of(picture)[1] >= height
        posts = re.findall(r'height="([\d.]+)"[^>]*class="post"', picture)
        assert float(posts[0]) % TIER_MM == 0 and height <= float(posts[0]) < height + TIER_MM


def test_every_raft_is_drawn_as_long_as_it_is():
    for raft in rafts(sticks=40, straws=20, cover_cm2=900):
        picture = raft_drawing(raft, raft.label).picture
        assert f"{-raft.length_mm / 2:g}" in picture, raft.id
