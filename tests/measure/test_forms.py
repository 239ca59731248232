"""Reference forms: capacities against an independent draw and the figures worked through by hand, geometry, needs."""

import numpy as np
import pytest

from rungwright.measure import members
from rungwright.measure.constants import MATERIAL
from rungwright.measure.form import FLOORS, TAPE_SHARES, capacity
from rungwright.measure.forms import forms
from rungwright.measure.quantiles import POINTS, combined, lattice, low_mid_high, material_points, spread_over

FORMS = {f.id: f for f in forms()}


def grams(form: str) -> np.ndarray:
    """(centre/off, quantiles) with all the tape it needs."""
    return capacity(FORMS[form]).grams[-1]


@pytest.mark.parametrize(
    ("form", "centre", "off"),
    [
        ("frame_1_0", 3660, 2200),
        ("posts_sticks_4_110_110", 5000, 3240),
        ("posts_folded_2_110_110", 1230, 770),
        ("posts_folded_3_110_110", 2760, 1720),
        ("posts_rolls_2_110_110", 5600, 5600),
        ("leaning_3", 3500, 1700),
        ("leaning_free", 5, 5),
    ],
)
def test_medians_worked_through_before(form, centre, off):
    # Worked with 4000 random draws over the same ranges: agreed here
    assert grams(form)[:, 1] == pytest.approx([centre, off], rel=0.02, abs=1)


def test_lattice_gives_the_quantiles_of_a_large_draw():
    # Independent: 200 000 random draws through a formula written out again
    m, draw = material_points(), np.random.default_rng(5)
    n = 200_000
    t, b, strength = draw.uniform(1.6, 2.0, n), draw.uniform(9.5, 10.5, n), draw.uniform(60, 110, n)
    breaks = strength * b * t**2 / 6 / (104 / 4 - 60 / 8)
    assert low_mid_high(members.stick_beam(m, 104)) == pytest.approx(np.quantile(breaks, [0.05, 0.5, 0.95]), rel=0.02)
    corner = 4 * np.minimum(2 * 2.4 * draw.uniform(2, 3, n), 480 * np.exp(draw.uniform(np.log(0.05), np.log(0.15), n)))
    points = 4 * np.minimum(2 * members.peel(m), members.lap(m, 20))
    assert low_mid_high(points) == pytest.approx(np.quantile(corner, [0.05, 0.5, 0.95]), rel=0.02)


def test_lattice_covers_every_dimension_evenly():
    points = lattice(len(MATERIAL))
    assert points.shape == (POINTS, len(MATERIAL))
    for column in points.T:
        assert np.sort(column) == pytest.approx((np.arange(POINTS) + 0.5) / POINTS)
    correlation = np.corrcoef(points.T) - np.eye(len(MATERIAL))
    assert np.abs(correlation).max() < 0.08


def test_ranges_are_kept():
    for name, values in spread_over(MATERIAL).items():
        q = MATERIAL[name]
        assert q.low < values.min() < values.max() < q.high
        middle = np.sqrt(q.low * q.high) if q.log else (q.low + q.high) / 2
        assert np.median(values) == pytest.approx(middle, rel=1e-6)


def test_every_number_has_unit_source_and_status():
    known = {"found", "second hand", "from memory", "derived", "starting guess"}
    for q in MATERIAL.values():
        assert q.unit and q.source and q.status in known and 0 < q.low < q.high


def test_combined_spread_is_that_of_lognormal_factors():
    # Independent: product of two lognormals by random draws
    z = np.random.default_rng(3).normal(size=(2, 400_000))
    product = np.exp(0.3 * z[0]) * np.exp(0.5 * z[1])
    low, high = np.exp(-1.6449 * np.array([0.3, 0.5])), np.exp(1.6449 * np.array([0.3, 0.5]))
    assert combined(np.array(1.0), *low) == pytest.approx(np.quantile(product, 0.05), rel=0.01)
    assert combined(np.array(1.0), *high) == pytest.approx(np.quantile(product, 0.95), rel=0.01)
    with pytest.raises(ValueError):
        combined(np.array(1.0), 0.5, 2.0)


@pytest.mark.parametrize("form", forms(), ids=lambda f: f.id)
def test_capacity_is_orderly(form):
    g = capacity(form).grams
    assert np.all(np.diff(g, axis=2) >= 0), "quantiles rise"
    assert np.all(np.diff(g, axis=0) >= 0), "more tape never weakens"
    assert np.all(g[:, 1] <= g[:, 0] * (1 + 1e-9)), "off the centre is never stronger"


@pytest.mark.parametrize("form", forms(), ids=lambda f: f.id)
def test_geometry_is_makeable(form):
    assert 0 <= form.rigid <= 30 and 1 <= form.sheets <= 10 and 15 <= form.tape_cm <= 60
    assert form.floor in FLOORS and 75 <= form.headroom < 112
    if form.kind == "stick_frame" or form.roof == "sticks":
        assert form.floor.width <= 114, "a stick is 114 mm long"
    assert form.mass_g < 60
    cover = form.floor.outer_width * form.floor.outer_depth / 100
    assert form.roof_area_cm2 >= 1.1 * cover - 1e-9


def test_identity_and_label_are_its_own():
    labels = [f.label for f in forms()]
    assert len(FORMS) == len(forms()) and len(set(labels)) == len(labels)


def test_floors_are_ordered_by_face():
    faces = [f.face_mm2 for f in FLOORS]
    assert faces == sorted(faces)


def test_a_wider_span_is_never_stronger():
    for name in ("flat", "folded_1", "folded_2", "folded_3", "rolls_2", "rolls_4"):
        spans = [f for f in forms() if f.id.startswith(f"posts_{name}_")]
        spans.sort(key=lambda f: (f.width, f.depth))
        medians = np.array([grams(f.id)[:, 1] for f in spans])
        assert np.all(np.diff(medians, axis=0) <= 1e-9)


def test_what_fails_first_is_named():
    assert capacity(FORMS["frame_1_0"]).fails_first(1.0, off_centre=False) == "the tape of the roof sheet peels"
    assert capacity(FORMS["posts_rolls_2_110_110"]).fails_first(1.0, off_centre=True) == "a roll kinks"
    assert capacity(FORMS["leaning_free"]).fails_first(1.0, off_centre=False) == "the feet slide apart"
    five = FORMS["leaning_2"]
    assert capacity(five).fails_first(1.0, off_centre=False) == "the ridge stick breaks"
    assert capacity(five).fails_first(0.3, off_centre=False) == "the tape at the ridge peels"


def test_short_tape_weakens_joints_in_proportion_and_nothing_else():
    frame, rolls = FORMS["frame_1_0"], FORMS["posts_rolls_2_110_110"]
    shares = capacity(frame).grams[:, 0, 1] / capacity(frame).grams[-1, 0, 1]
    assert shares == pytest.approx(TAPE_SHARES, rel=0.01)
    assert np.ptp(capacity(rolls).grams, axis=0).max() == 0
