"""The drawn form as data: everything lies where the checks count it."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rungwright.domain.build import Build
from rungwright.measure.constants import LYING_MM
from rungwright.measure.forms import forms, sizes
from rungwright.measure.other_shelters import other_shelters
from rungwright.measure.room import SQUARES_MM, figures_in
from rungwright.measure.shape import build_of

EVERY = (*forms(), *other_shelters())
ROOMS = ("lying", *SQUARES_MM)


def drawn(form, **how) -> Build:
    asked = {"figures": 3, "room": "lying", "figure_height_mm": 75.0, "spots": 1, "off_centre": False, **how}
    return build_of(form, **asked)


@pytest.mark.parametrize("form", EVERY, ids=lambda f: f.id)
def test_every_form_has_what_a_drawing_needs(form):
    build = drawn(form, spots=2, off_centre=True, entry="figure_passes")
    assert (build.form, build.label, build.headroom_mm) == (form.id, form.label, form.headroom)
    assert build.inside_width_mm < build.width_mm and build.inside_depth_mm < build.depth_mm
    assert build.headroom_mm <= build.height_mm
    assert build.entry.width_mm <= build.inside_width_mm and build.entry.height_mm <= build.headroom_mm
    # No more pieces are drawn than it takes: sticks, and half sheets rolled into posts
    pieces = form.rigid + (2 * form.sheets if form.kind == "rolled_posts" else 0)
    assert build.legs + build.across <= pieces
    assert Build.model_validate_json(build.model_dump_json()) == build


@settings(max_examples=200, deadline=None)
@given(
    form=st.sampled_from(EVERY), room=st.sampled_from(ROOMS), height=st.floats(40, 130), wanted=st.integers(1, 12),
    spots=st.integers(1, 3), off=st.booleans(),
)  # fmt: skip
def test_figures_and_spots_lie_inside_and_apart(form, room, height, wanted, spots, off):
    build = drawn(form, figures=wanted, room=room, figure_height_mm=height, spots=spots, off_centre=off)
    # As many as the room check counts, each inside, none on another, to a tenth of a millimetre
    assert len(build.figures) == min(wanted, figures_in(form, room, figure_height_mm=height))
    for p in build.figures:
        assert abs(p.x_mm) + p.width_mm / 2 <= build.inside_width_mm / 2 + 0.05
        assert abs(p.y_mm) + p.depth_mm / 2 <= build.inside_depth_mm / 2 + 0.05
    for p, q in itertools.combinations(build.figures, 2):
        apart_x = abs(p.x_mm - q.x_mm) >= (p.width_mm + q.width_mm) / 2 - 0.11
        assert apart_x or abs(p.y_mm - q.y_mm) >= (p.depth_mm + q.depth_mm) / 2 - 0.11
    assert len({(s.x_mm, s.y_mm) for s in build.spots}) == spots
    assert all(abs(s.x_mm) < build.width_mm / 2 and abs(s.y_mm) < build.depth_mm / 2 for s in build.spots)
    # Symmetric: spots lie alike on both sides, but for one that is off the centre
    if spots > 1 or not off:
        assert sum(s.x_mm for s in build.spots) == pytest.approx(0) == sum(s.y_mm for s in build.spots)


def test_by_hand():
    # A floor of 110 mm: three that lie, 75 x 30 mm; two spots of a 110 mm roof 27.5 mm from its middle
    frame = next(f for f in forms() if f.id == "frame_1_4")
    build = drawn(frame, spots=2, entry="can_be_closed")
    assert {(p.width_mm, p.depth_mm) for p in build.figures} == {LYING_MM}
    assert sorted(p.y_mm for p in build.figures) == [-36.7, 0, 36.7]
    assert [s.x_mm for s in build.spots] == [-27.5, 27.5]
    assert (build.width_mm, build.height_mm, build.legs, build.across) == (118, 112, 4, 4)
    assert (build.entry.width_mm, build.entry.height_mm) == (35, 80)
    assert drawn(frame, entry="open_side").entry.width_mm == 110


def test_sizes_are_those_of_the_forms():
    s = sizes()
    for i, form in enumerate(forms()):
        assert s.face_mm2[i] == max(form.floor.outer_width, form.floor.outer_depth) * 112
        assert s.roof_cm2[i] == form.roof_area_cm2 and s.flat_roof[i] == form.flat_roof
    # Derived: half a circle of 158 mm is 248 mm of sheet; the cone on the circle of 54.7 mm radius of three poles
    arch = next(f for f in other_shelters() if f.id == "arch_1")
    assert arch.roof_area_cm2 == pytest.approx(np.pi / 2 * 158 * 158 / 100 * 1.1)
    poles = next(f for f in other_shelters() if f.id == "poles_3")
    assert poles.roof_area_cm2 == pytest.approx(np.pi * 54.74 * 114 / 100 * 1.1, rel=0.02)
