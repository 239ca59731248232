"""The load check: the form that is drawn, margins, verdicts, what feeds the difficulty, and that all run one way."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rungwright.domain.grades import Band
from rungwright.measure.build import MANY, build_checks
from rungwright.measure.columns import Columns, columns
from rungwright.measure.constants import KNOWS_TO_ROLL, WORKMANSHIP
from rungwright.measure.form import capacity
from rungwright.measure.forms import forms
from rungwright.measure.load import LoadCheck, load_check, load_statement
from rungwright.measure.verdicts import CLEAR, NOT_FEASIBLE, UNCERTAIN
from tests.measure.refuge import challenge, levers

FORMS = {f.id: f for f in forms()}


def versions(*changes: dict, band: Band) -> Columns:
    return columns(levers(), [{**challenge().presets[band], **change} for change in changes])


def checked(*changes: dict, band: Band = Band.G3_5) -> LoadCheck:
    return load_check(versions(*changes, band=band), band, figure_height_mm=75)


def drawn(load: LoadCheck) -> list[str]:
    return [forms()[i].id for i in load.form]


@pytest.mark.parametrize("band", list(Band))
def test_presets_can_be_built(band):
    load = checked({}, band=band)
    assert load.verdict[0] == CLEAR and load.holds_figures[0]
    assert 2 < load.typical_margin[0] < 6


def test_margin_is_capacity_times_workmanship_over_the_weight():
    load = checked({}, band=Band.G3_5)
    grams, work = capacity(FORMS["frame_1_4"]).grams[-1, 0], WORKMANSHIP[Band.G3_5]
    assert drawn(load) == ["frame_1_4"]
    assert load.margin_mid[0] == pytest.approx(grams[1] * work.mid / 370)
    # Independent: the product of two lognormals of these spreads, drawn at random
    z = np.random.default_rng(11).normal(size=(2, 400_000))
    spread = np.log([grams[1] / grams[0], work.mid / work.low]) / 1.6449
    product = load.margin_mid[0] * np.exp(-np.abs(spread[0]) * z[0] - np.abs(spread[1]) * z[1])
    assert load.margin_low[0] == pytest.approx(np.quantile(product, 0.05), rel=0.01)


def test_the_plainest_form_that_clearly_holds_is_drawn():
    sticks = [20, 12, 10, 8, 5, 3, 0]
    load = checked(*({"rigid_pieces": r} for r in sticks), band=Band.K_2)
    assert drawn(load) == [
        "frame_1_4", "frame_1_4", "frame_1_2", "frame_1_0",
        "posts_sticks_4_110_110", "posts_sticks_2_110_110", "posts_rolls_2_110_110",
    ]  # fmt: skip


def test_a_tent_is_drawn_only_where_the_weight_may_lie_on_its_ridge():
    tent = {"rigid_pieces": 7, "sheets": 3, "load_mass_g": 150}
    load = checked(tent, {**tent, "load_item": "can"}, {**tent, "load_place": "tester"}, band=Band.K_2)
    assert drawn(load)[0] == "leaning_3" and not load.flat_roof[0]
    assert load.flat_roof[1:].all()


@pytest.mark.parametrize("band", list(Band))
def test_feet_free_is_never_feasible(band):
    # Derived: at 60 degrees a load slides the feet apart wherever friction is under .577, and .2 to .5 is usual
    assert capacity(FORMS["leaning_free"]).grams[-1, 0, 2] * WORKMANSHIP[band].high < 150
    assert "leaning_free" not in drawn(checked({"load_mass_g": 150}, {"load_mass_g": 150, "sheets": 2}, band=band))


def test_worst_place():
    load = checked(
        {"load_place": "builder"}, {"load_place": "marked"}, {"load_place": "drawn"}, {"load_place": "tester"},
        {"load_place": "marked", "load_positions": 2},
    )  # fmt: skip
    assert list(load.off_centre) == [False, False, True, True, True]


def test_three_verdicts():
    soft = {"rigid_pieces": 0, "sheets": 3}
    load = checked({}, {**soft, "load_mass_g": 370}, {**soft, "load_mass_g": 750, "load_positions": 2})
    assert list(load.verdict) == [CLEAR, UNCERTAIN, NOT_FEASIBLE]


def test_short_tape_weakens_but_does_not_forbid():
    full, short = checked({"joiner_length_cm": 80, "sheets": 4}, {"joiner_length_cm": 20, "sheets": 4}).margin_mid
    assert 0 < short <= full


def test_no_form_at_all():
    # Less than the levers allow, so built by hand
    load = load_check(
        columns(levers(), [{**challenge().presets[Band.G3_5], "joiner_length_cm": 14}]), Band.G3_5, figure_height_mm=75
    )
    assert not load.can_be_made[0] and load.verdict[0] == NOT_FEASIBLE
    assert load.margin_high[0] == load.typical_margin[0] == load.fits[0] == 0
    assert "none of the forms" in load_statement(load, 0).text


@pytest.mark.parametrize("band", list(Band))
def test_typical_margin_without_sticks(band):
    # Half of those who think of it fold, half roll; the others lay a flat sheet. 6 sheets, a 110 mm floor.
    row = {"rigid_pieces": 0, "sheets": 6, "figure_count": 2, "room_each": "lying", "load_mass_g": 370}
    grams = {name: capacity(FORMS[f"posts_{name}_110_110"]).grams[-1, 0, 1] for name in ("flat", "folded_3", "rolls_2")}
    know = KNOWS_TO_ROLL[band]
    typical = know * (grams["folded_3"] + grams["rolls_2"]) / 2 + (1 - know) * grams["flat"]
    margin = checked(row, band=band).typical_margin[0]
    assert margin == pytest.approx(typical * WORKMANSHIP[band].mid / 370)


def test_thresholds_of_sticks():
    many, some, few, none = checked(*({"rigid_pieces": r} for r in (20, 12, 3, 0))).typical_margin
    assert many == pytest.approx(some, rel=0.02)
    assert none < few < 0.8 * some


KIT = ("rigid_pieces", "sheets", "joiner_length_cm")
ASKED = ("load_mass_g", "figure_count")
WORDS = ("room_each", "load_place", "load_item")


def within(name: str, low: int | None = None, high: int | None = None):
    bounds = levers()[name].bounds
    return st.integers(int(bounds[0]) if low is None else low, int(bounds[1]) if high is None else high)


rows = st.fixed_dictionaries(
    {name: within(name) for name in (*KIT, *ASKED, "load_positions")}
    | {name: st.sampled_from(levers()[name].settings) for name in WORDS}
)
bands = st.sampled_from(list(Band))


@settings(max_examples=150, deadline=None)
@given(band=bands, row=rows, lever=st.sampled_from(KIT), data=st.data())
def test_a_better_kit_never_lowers_the_typical_margin(band, row, lever, data):
    better = {**row, lever: data.draw(within(lever, low=row[lever]))}
    margin = checked(row, better, band=band).typical_margin
    assert margin[1] >= margin[0] - 1e-12


@settings(max_examples=150, deadline=None)
@given(band=bands, row=rows, lever=st.sampled_from([*ASKED, "room_each"]), data=st.data())
def test_asking_for_more_never_raises_the_typical_margin(band, row, lever, data):
    if lever == "room_each":
        order = list(levers()[lever].settings)
        harder = {**row, lever: data.draw(st.sampled_from(order[order.index(row[lever]) :]))}
    else:
        harder = {**row, lever: data.draw(within(lever, low=row[lever]))}
    margin = checked(row, harder, band=band).typical_margin
    assert margin[1] <= margin[0] + 1e-12


@settings(max_examples=150, deadline=None)
@given(band=bands, row=rows, lever=st.sampled_from(["load_mass_g", "load_positions"]), data=st.data())
def test_a_harder_test_never_makes_a_build_feasible(band, row, lever, data):
    harder = {**row, lever: data.draw(within(lever, low=row[lever]))}
    load = checked(row, harder, band=band)
    assert (load.verdict[1] == NOT_FEASIBLE) >= (load.verdict[0] == NOT_FEASIBLE)


@settings(max_examples=150, deadline=None)
@given(band=bands, row=rows, lever=st.sampled_from(KIT), data=st.data())
def test_a_better_kit_never_loses_the_verdict_on_the_same_floor(band, row, lever, data):
    better = {**row, lever: data.draw(within(lever, low=row[lever]))}
    load = checked(row, better, band=band)
    same_floor = forms()[load.form[0]].floor == forms()[load.form[1]].floor
    both = load.holds_figures.all()
    if same_floor and both:
        assert load.verdict[1] <= load.verdict[0]


@settings(max_examples=100, deadline=None)
@given(band=bands, row=rows)
def test_the_drawn_form_is_of_the_kit_and_holds_the_figures(band, row):
    load = checked(row, band=band)
    form = forms()[load.form[0]]
    assert load.can_be_made[0]
    assert form.rigid <= row["rigid_pieces"] and form.sheets <= row["sheets"]
    assert bool(load.holds_figures[0]) == bool(load.fits[0] >= row["figure_count"])
    assert load.margin_low[0] <= load.margin_mid[0] <= load.margin_high[0]


def test_access_and_practical_levers_change_no_typical_margin():
    same = [{"load_item": item, "test_manner": "stations", "joiner_form": "pre_cut"} for item in ("bag", "can")]
    assert np.ptp(checked({}, *same).typical_margin) == 0


def test_sentences():
    soft = {"rigid_pieces": 0, "sheets": 3}
    load = checked({}, {**soft, "load_mass_g": 370}, {**soft, "load_mass_g": 750, "load_positions": 2})
    clear, uncertain, never = (load_statement(load, i, units="both") for i in range(3))
    assert clear.text == (
        "A carefully made four-post stick frame with paper walls and four sticks across the roof could hold about "
        "2 to 7 times 370 g (13 oz) at the marked spot; the corners slip first."
    )
    assert uncertain.text.startswith("A build on four rolled-paper posts with a plain flat paper roof could hold from ")
    assert "by how well it is made" in uncertain.text
    assert never.text.startswith("Even well made, a build on four rolled-paper posts")
    assert never.text.endswith("at the weakest tested spot; the roof sheet pulls in first.")
    for said, i in ((clear, 0), (uncertain, 1), (never, 2)):
        assert said.numbers["margin"] == round(float(load.margin_mid[i]), 2)


def test_many_versions_at_once_are_checked_as_each_few_are():
    """Each lever varies by itself, so one that the check reads and `LOAD_LEVERS` leaves out shows here."""
    draw = np.random.default_rng(5)
    domains = {name: levers()[name].settings for name in challenge().presets[Band.G6_8]}
    starts = [{name: domain[int(draw.integers(len(domain)))] for name, domain in domains.items()} for _ in range(20)]
    changes = [{**start, name: to} for start in starts for name, domain in domains.items() for to in domain]
    assert len(changes) > MANY
    many, one_by_one = (
        [build_checks(versions(*part, band=Band.G6_8), Band.G6_8, figure_height_mm=75).load for part in parts]
        for parts in ([changes], [changes[i : i + 50] for i in range(0, len(changes), 50)])
    )
    (whole,) = many
    for name, found in vars(whole).items():
        if isinstance(found, np.ndarray):
            assert np.array_equal(found, np.concatenate([getattr(part, name) for part in one_by_one])), name
