"""Pictures of the pages: dots are as many as the groups, drawings are to scale, and each says what it shows."""

import re
import xml.etree.ElementTree as ElementTree
from typing import get_args

import pytest

from rungwright.domain.challenge import Family
from rungwright.domain.recommendation import AllCriteria
from rungwright.measure.forms import forms
from rungwright.measure.other_shelters import FOOT_RADIUS_MM, other_shelters
from rungwright.measure.rafts import rafts
from rungwright.measure.spans import spans
from rungwright.measure.towers import TIER_MM, towers
from rungwright.web.challenge_pictures import family_picture
from rungwright.web.drawing import sizes_of
from rungwright.web.form_drawing import raft_drawing, shelter_drawing, span_drawing, tower_drawing
from rungwright.web.pictures import dots


@pytest.mark.parametrize(("groups", "low", "high"), [(9, 6, 8), (1, 0, 1), (30, 12, 21), (6, 6, 6), (13, 0, 0)])
def test_a_dot_a_group(groups, low, high):
    expected = AllCriteria(share=0.5, low=0.4, high=0.6, groups=groups / 2, groups_likely=(low, high))
    made = dots(expected, groups)
    circles = re.findall(r"<circle\b[^>]*>", made.picture)
    assert len(circles) == groups
    assert made.words == (f"{low} of {groups}" if low == high else f"{low} to {high} of {groups}")
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


@pytest.mark.parametrize("form", [*forms(), *other_shelters()], ids=lambda form: form.id)
def test_every_refuge_that_the_load_check_knows_is_drawn_to_scale(form):
    drawn = shelter_drawing(form.id, form.label)
    assert form.label[1:] in drawn.words
    left, up, wide, high = box_of(drawn.picture)
    width, top = sizes_of(form)
    assert wide > width and high > top and up < -top
    assert left == pytest.approx(-wide / 2, abs=0.01)
    lines = " ".join(re.findall(r' d="([^"]*)"', drawn.picture))
    # The size that is said is the one that is drawn.
    assert f"M{-width / 2:g} " in lines and f"{-top:g}" in drawn.picture


def test_an_arch_is_round_and_poles_meet():
    by_id = {form.id: shelter_drawing(form.id, form.label).picture for form in other_shelters()}
    assert re.search(r' d="M-79 0A79 81 0 0 1 79 0"', by_id["arch_1"])
    assert f"M{-FOOT_RADIUS_MM:g} 0L0 " in by_id["poles_3"]
    assert shelter_drawing("no_such", "nothing") is None


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
