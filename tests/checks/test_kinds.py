"""Every check and calibration: its example, its sources, and that its physics is that of the recommendations."""

from __future__ import annotations

import json
import math
import re

import numpy as np
import pytest
import yaml

from rungwright.checks.kinds import CALIBRATIONS, CHECKS
from rungwright.checks.making import how_to_make
from rungwright.checks.refuge import NUMBERS, WORDS, refuge_columns
from rungwright.checks.result import InputError
from rungwright.domain.grades import Band
from rungwright.domain.readings import Readings
from rungwright.measure.constants import WORKMANSHIP
from rungwright.measure.form import TAPE_SHARES, capacity
from rungwright.measure.forms import forms
from rungwright.measure.load import load_check
from rungwright.measure.other_shelters import other_shelters
from rungwright.measure.rafts import rafts
from rungwright.measure.spans import spans
from rungwright.measure.towers import towers
from tests.measure.refuge import RULES, levers

KINDS = {**CHECKS, **CALIBRATIONS}
FORMS = {f.id: f for f in forms()}


def answer(name: str, **inputs):
    kind = KINDS[name]
    return kind.answer(kind.model.model_validate(inputs))


def number(checked, name: str):
    return next(a for a in (checked.value, *checked.amounts) if a.name == name)


@pytest.mark.parametrize("name", KINDS)
def test_the_example_is_answered_in_full(name):
    kind = KINDS[name]
    checked = answer(name, **kind.example)
    assert checked.kind == name
    assert checked.text.endswith(".") and "nan" not in checked.text
    for a in (checked.value, *checked.amounts):
        assert math.isfinite(a.value) and a.low <= a.value <= a.high, a
        assert a.label and a.text
    assert {i.name for i in checked.inputs if i.given} == set(kind.example)
    assert checked.sources and [s.number for s in checked.sources] == list(range(1, len(checked.sources) + 1))
    names = [a.name for a in (checked.value, *checked.amounts)]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("name", KINDS)
def test_sources_are_named_in_the_rule_base(name):
    listed = yaml.safe_load((RULES / "sources.yaml").read_text(encoding="utf-8"))
    for source in answer(name, **KINDS[name].example).sources:
        assert source.id in listed, source


def test_what_a_source_says_of_a_check_is_so():
    listed = yaml.safe_load((RULES / "sources.yaml").read_text(encoding="utf-8"))
    for source, entry in listed.items():
        for module in re.findall(r"checks/(\w+)", entry.get("used_by", "")):
            named = [k for k in KINDS.values() if k.function.partition(":")[0] == module]
            used = {s.id for k in named for s in answer(k.name, **k.example).sources}
            assert source in used, (source, module)


@pytest.mark.parametrize("name", KINDS)
@pytest.mark.parametrize("units", ["metric", "us", "both"])
def test_units_change_words_only(name, units):
    said, metric = (answer(name, **KINDS[name].example, units=u) for u in (units, "metric"))
    assert said.value.model_dump(exclude={"text", "value_text"}) == metric.value.model_dump(
        exclude={"text", "value_text"}
    )
    assert getattr(said, "verdict", None) == getattr(metric, "verdict", None)


def test_the_levers_of_one_refuge_are_those_of_the_rule_base():
    for name, words in WORDS.items():
        assert levers()[name].settings == list(words)
    assert all(levers()[name].type == "number" for name in NUMBERS)


@pytest.mark.parametrize("band", list(Band))
@pytest.mark.parametrize("place", ["builder", "tester"])
def test_load_is_that_of_the_recommendations(band, place):
    # The same forms, margins, verdicts and choice as measure.load gives, computed there on arrays of settings
    kit = {"rigid_pieces": 12, "sheets": 6, "joiner_length_cm": 31.0, "load_mass_g": 370, "load_positions": 1}
    cols = refuge_columns(**kit, load_place=place, load_item="bag", figure_count=3, room_each="lying")
    kit = {"mass": "370 g", "sticks": 12, "sheets": 6, "tape": "31 cm", "figures": 3, "room": "lying"}
    checked = answer("load", **kit, band=band.value, place=place, every_form=True)
    options = {o.id: o for o in checked.forms}
    assert checked.forms_left == 0
    for form in forms():
        if form.id in options:
            # Independent: between the tabulated tape shares by numpy, and the median times the band's median
            share = min(31.0 / form.tape_cm, 1.0)
            ideal = np.interp(share, TAPE_SHARES, capacity(form).grams[:, int(place == "tester"), 1])
            assert options[form.id].bears.value == pytest.approx(ideal * WORKMANSHIP[band].mid), form.id
    lacking = {o.id for o in checked.forms if o.lacks}
    assert lacking & set(FORMS) == {f.id for f in forms() if f.id in options and (f.rigid > 12 or f.sheets > 6)}
    found = load_check(cols, band, figure_height_mm=75)
    assert forms()[found.form[0]].label in checked.text
    margin = number(checked, "margin")
    assert (margin.low, margin.value, margin.high) == pytest.approx(
        (found.margin_low[0], found.margin_mid[0], found.margin_high[0])
    )


@pytest.mark.parametrize("sticks", [0, 12])
@pytest.mark.parametrize("mass", ["100 g", "370 g", "4 kg"])
def test_the_best_few_hold_all_that_is_named(sticks, mass):
    kit = {"mass": mass, "sticks": sticks, "sheets": 5, "tape": "80 cm"}
    few, every = answer("load", **kit), answer("load", **kit, every_form=True)
    assert len(few.forms) < 10 and len(few.forms) + few.forms_left == len(every.forms)
    assert (few.text, few.value, few.mend) == (every.text, every.value, every.mend)
    assert [o for o in every.forms if o in few.forms] == few.forms
    named = [o for o in every.forms if any(o.label in said for said in (few.text, *few.mend))]
    assert all(o in few.forms for o in named)


def test_soft_only_can_be_done_and_how():
    checked = answer("load", mass="370 g", sticks=12, sheets=5, tape="80 cm", band="6-8", every_form=True)
    soft = [o for o in checked.forms if o.soft_only and not o.lacks]
    assert soft[0].verdict == "clear" and soft[0].sticks == 0 and soft[0].sheets <= 5
    assert "With paper and tape alone" in checked.text
    none = answer("load", mass="370 g", sticks=0, sheets=0, tape="0 cm", every_form=True)
    assert none.verdict == "not_feasible" and "makes none" in none.text
    assert any("more sheet" in lack for o in none.forms for lack in o.lacks)


@pytest.mark.parametrize(("item", "on_a_ridge"), [("bag", True), ("can", False), ("bottle", False)])
def test_only_a_bag_rests_on_a_ridge(item, on_a_ridge):
    checked = answer("load", mass="370 g", sticks=12, sheets=5, tape="80 cm", item=item, every_form=True)
    tent = next(o for o in checked.forms if o.id == "leaning_2")
    assert tent.lacks == ([] if on_a_ridge else [f"a flat place for a {item}"])


def test_every_form_says_how_it_is_made():
    structures = {s.id for gap in (80.0, 250.0, 900.0) for s in spans(gap)} | {s.id for s in towers(300.0)}
    boats = {r.id for r in rafts(sticks=20, straws=20, cover_cm2=600)}
    for name in {f.id for f in (*forms(), *other_shelters())} | structures | boats:
        assert how_to_make(name).endswith("."), name
    with pytest.raises(KeyError):
        how_to_make("dome")


def test_bridges_and_towers_have_their_forms():
    bridge = answer("load", family="span", mass="500 g", sticks=30, sheets=5, tape="1 m", gap="250 mm", every_form=True)
    assert {o.id for o in bridge.forms} >= {"span_truss", "span_box", "span_layers_taped", "span_rolls_2"}
    assert all("glue" in " ".join(o.lacks) for o in bridge.forms if o.glue)
    tower = answer(
        "load", family="tower", mass="500 g", sticks=45, sheets=0, tape="2 m", height="300 mm", every_form=True
    )
    assert {o.id for o in tower.forms} == {"tower_4_plain", "tower_4_braced", "tower_3_braced", "tower_rolls"}
    assert "diagonal" in next(o for o in tower.forms if not o.lacks).label
    for family, missing in (("span", "gap"), ("tower", "height")):
        with pytest.raises(InputError) as error:
            answer("load", family=family, mass="500 g")
        assert error.value.field == missing


def test_measured_sticks_count():
    kit = {"mass": "370 g", "sticks": 12, "sheets": 5, "tape": "80 cm", "family": "span", "gap": "80 mm"}
    usual, thin = (
        answer("load", **kit, every_form=True),
        answer("load", **kit, every_form=True, stick_thickness="1.6 mm"),
    )
    # Bending goes with the square of the thickness: 1.6 against the middle of 1.6 to 2.0 mm
    flat = [next(o.bears.value for o in c.forms if o.id == "span_flat") for c in (usual, thin)]
    assert flat[1] / flat[0] == pytest.approx((1.6 / 1.8) ** 2, rel=0.02)
    assert any("stick_thickness" in s.supports for s in thin.sources)


def test_rain_softens_paper_only():
    dry, wet = (
        answer("load", mass="370 g", sticks=12, sheets=8, tape="80 cm", wet=w, every_form=True) for w in (False, True)
    )
    # BioResources 14(4) 8345: wet paper loses 70 to 90 % of its compressive strength
    for before in dry.forms:
        after = next(o for o in wet.forms if o.id == before.id)
        part = after.bears.value / before.bears.value
        assert part == pytest.approx(0.2 if before.sticks == 0 or "rolled" in before.label else 1.0), before.id


def test_wind_by_hand():
    # Derived: 50 g, 150 mm cube: slides at 2.98 m/s with friction .3 and drag 1.2, tips at 5.44
    checked = answer(
        "wind", mass="50 g", width="150 mm", depth="150 mm", height="150 mm", friction=0.3, drag=1.2, speed="2 m/s"
    )
    assert number(checked, "slides_front").value == pytest.approx(2.98, abs=0.01)
    assert number(checked, "tips_front").value == pytest.approx(5.44, abs=0.01)
    least = number(checked, "least_mass").value
    # At that mass the wind of 2 m/s just moves it.
    again = answer(
        "wind",
        mass=f"{least} g",
        width="150 mm",
        depth="150 mm",
        height="150 mm",
        friction=0.3,
        drag=1.2,
        speed="2 m/s",
    )
    assert again.value.value == pytest.approx(2)
    assert any("Uplift" in text for text in checked.not_covered)


def test_wind_anchor_by_hand():
    # Derived: 5 m/s on 150 x 150 mm, drag 1.2: push 0.4134 N; friction .3 holds 0.3 x 0.4905 N; the corner is worse
    checked = answer(
        "wind", mass="50 g", width="150 mm", depth="150 mm", height="150 mm", friction=0.3, drag=1.2, speed="5 m/s"
    )
    push = 0.6125 * 25 * 0.0225 * 1.2 * math.sqrt(2) * 0.8 / 1.05
    assert number(checked, "anchor").value == pytest.approx(push - 0.3 * 0.4905)
    assert checked.verdict == "not_feasible" and any("strips of tape" in m for m in checked.mend)


def test_rain_by_hand():
    # Derived: 10 x 1 ml in a minute on 200 x 200 mm: 0.25 mm, 15 mm/h, heavy in AMS terms
    checked = answer("rain", strokes=10, stroke="1 ml", width="200 mm", depth="200 mm")
    assert (number(checked, "depth").value, checked.value.value) == (pytest.approx(0.25), pytest.approx(15))
    assert "heavy rain in US terms, a heavy shower in UK terms" in checked.text
    # IPX1: 1 mm a minute is 60 mm/h: a dropper of 800 drops of 0.05 ml on the same area
    assert answer("rain", way="dropper", drops=800, width="200 mm", depth="200 mm").value.value == pytest.approx(60)


def test_rain_through_holes_by_hand():
    # Torricelli: 50 mm of water: 0.990 m/s; ten holes of 1 mm: 467 ml/min with no losses, 0.6 to 0.8 of it through
    checked = answer("rain", way="holes", holes=10, hole="1 mm", head="50 mm", width="200 mm", depth="200 mm")
    water = number(checked, "water")
    assert 0.6 * 466.7 < water.low < water.value < water.high < 0.8 * 466.7
    assert water.value == pytest.approx(0.7 * 466.7, rel=0.01)


def test_cover_of_a_sloping_roof():
    # Derived: 150 x 150 mm at 60 degrees is twice as large developed; a tenth more for overlaps: 495 cm2
    checked = answer("rain", strokes=10, width="150 mm", depth="150 mm", slope="60 deg", cover="495 cm2")
    assert number(checked, "cover_needed").value == pytest.approx(495)
    assert checked.verdict == "clear"
    less = answer("rain", strokes=10, width="150 mm", depth="150 mm", slope="60 deg", cover="490 cm2")
    assert less.verdict == "uncertain" and less.mend


def test_snow_by_hand():
    # Derived: a 510 g bottle on 150 x 150 mm is 222 Pa, 0.23 m of snow of 100 kg/m3
    checked = answer("snow", mass="510 g", width="150 mm", depth="150 mm", density="100 kg/m3", ground_load="25 psf")
    assert number(checked, "pressure").value == pytest.approx(222, abs=0.5)
    assert checked.value.value == pytest.approx(227, abs=1)
    assert number(checked, "roof_snow").value == pytest.approx(17.5 * 47.880, rel=1e-4)
    assert "does not say that a full-size roof would survive" in checked.text


def test_snow_of_a_story():
    for depth, verdict in (("10 cm", "clear"), ("25 cm", "uncertain"), ("40 cm", "not_feasible")):
        asked = {"mass": "370 g", "width": "150 mm", "depth": "150 mm", "snow": "fresh", "wanted_depth": depth}
        assert answer("snow", **asked).verdict == verdict
    # Derived: 25 cm of 50 to 100 kg/m3 on 150 x 150 mm weigh 0.0225 x 0.25 x 50 to 100 kg
    story = number(answer("snow", **{**asked, "wanted_depth": "25 cm"}), "mass_of_story")
    assert (story.low, story.high) == (pytest.approx(281.25), pytest.approx(562.5))


def test_figures_by_hand():
    # Derived: 75 mm figure on a 30 mm base tips at 21.8 degrees and, of card, at 1.37 m/s; 10 years: 1 to 18.4
    checked = answer("figures", figures=4, width="150 mm", depth="150 mm", headroom="100 mm")
    assert checked.value.high == 9
    assert number(checked, "tilt").value == pytest.approx(21.8, abs=0.05)
    assert number(checked, "tips").value == pytest.approx(1.37, abs=0.01)
    assert number(checked, "scale").value == pytest.approx(18.44, abs=0.01)
    # Sphere Handbook: 3.5 m2 a person; at 1 to 18.4 that is 103 cm2
    assert number(checked, "floor_each").value == pytest.approx(103.4, abs=1)


def test_figures_under_a_ridge_stand_only_where_it_is_high_enough():
    # Derived: under a ridge of 150 mm over 200 mm, 75 mm figures have the middle 100 mm: two rows of 50 mm
    inside = {"figures": 4, "width": "200 mm", "depth": "150 mm", "headroom": "150 mm"}
    assert answer("figures", **inside, roof="ridge").value.high == 2 * 3
    assert answer("figures", **inside, roof="flat").value.high == 4 * 3
    low = answer("figures", **{**inside, "headroom": "70 mm"})
    assert low.verdict == "not_feasible" and "none fits" in low.text


@pytest.mark.parametrize(
    ("width", "height", "goes"), [(35, 80, True), (34, 80, False), (80, 35, True), (60, 60, False)]
)
def test_the_way_in(width, height, goes):
    inside = {"figures": 1, "width": "150 mm", "depth": "150 mm", "headroom": "100 mm"}
    checked = answer("figures", **inside, entry_width=f"{width} mm", entry_height=f"{height} mm")
    assert (checked.verdict == "clear") is goes


def test_float_by_hand():
    # Derived: 180 x 120 x 30 mm, 12 g, 200 g: draught 9.81 mm, capacity 648 - 12 g to the rim, 540 - 12 with 5 mm left
    checked = answer(
        "float", length="180 mm", width="120 mm", height="30 mm", own_mass="12 g", cargo="200 g", cargo_height="30 mm"
    )
    assert number(checked, "draught").value == pytest.approx(212_000 / 21_600, rel=0.01)
    assert checked.value.value == pytest.approx(528, rel=0.03)
    kg = (12 * 15 + 200 * 30) / 212
    t = 212_000 / 21_600
    assert number(checked, "metacentric_height").value == pytest.approx(t / 2 + 120**2 / (12 * t) - kg, rel=0.02)


def test_a_tall_cargo_falls_over_and_a_heavy_one_sinks():
    raft = {"length": "180 mm", "width": "60 mm", "height": "30 mm", "own_mass": "10 g", "straws": 30}
    tall = answer("float", **raft, cargo="150 g", cargo_height="120 mm")
    assert tall.verdict == "not_feasible" and "does not stand upright" in tall.text and tall.mend
    heavy = answer("float", **raft, cargo="900 g", cargo_height="10 mm")
    assert heavy.verdict == "not_feasible"
    assert [f.id for f in heavy.forms] == ["raft_straws"]
    with pytest.raises(InputError):
        answer("float", **raft, cargo="50 g", off_centre="31 mm")


def test_drop_by_hand():
    # Derived: 2 m on a cushion that gives 20 mm: 6.264 m/s, 100 times its weight on the mean, up to 200 at the peak
    checked = answer("drop", height="2 m", mass="80 g", stopping="20 mm", limit=250)
    assert number(checked, "speed").value == pytest.approx(6.264, abs=1e-3)
    assert number(checked, "mean_stop").value == pytest.approx(100)
    assert 100 <= checked.value.low < checked.value.high <= 200
    assert checked.verdict == "clear"
    slower = answer("drop", height="2 m", mass="80 g", stopping="20 mm", face="900 cm2")
    assert number(slower, "speed").high < 6.264


def test_heat_by_hand():
    # Derived: 10 mm of .04 to .057 W/mK felt and still air at one surface, 250 ml through 350 cm2 for 20 min
    checked = answer("heat", layers=["felt 10 mm"], water="250 ml", area="350 cm2", minutes="20 min", keep="40 C")
    best, worst = 1 / (0.01 / 0.04 + 0.17), 1 / (0.01 / 0.057 + 0.10)
    assert best < number(checked, "u_value").low < number(checked, "u_value").high < worst
    ends = [20 + 25 * math.exp(-20 * 60 * u * 0.035 / (250 * 4.18)) for u in (worst, best)]
    assert ends[0] < checked.value.low < checked.value.high < ends[1]
    assert checked.verdict == "clear"
    blown = answer("heat", layers=["felt 10 mm"], water="250 ml", area="350 cm2", minutes="20 min", fanned=True)
    assert blown.value.value < checked.value.value
    for wrong, field in (({"start": "20 C"}, "start"), ({"keep": "50 C"}, "keep"), ({"keep": "15 C"}, "keep")):
        with pytest.raises(InputError) as error:
            answer("heat", layers=["felt 10 mm"], water="250 ml", area="350 cm2", **wrong)
        assert error.value.field == field


@pytest.mark.parametrize(
    ("inputs", "verdict"),
    [
        ({"item": "bag", "roof": "ridge"}, "clear"),
        ({"item": "can", "roof": "ridge"}, "not_feasible"),
        ({"item": "can", "slope": "5 deg"}, "clear"),
        ({"item": "can", "slope": "20 deg"}, "uncertain"),
        ({"item": "bottle", "slope": "25 deg"}, "not_feasible"),
        ({"item": "can", "spots": 2}, "clear"),
        ({"item": "can", "spots": 3}, "not_feasible"),
        ({"item": "bag", "width": "180 mm", "spots": 3}, "clear"),
        ({"item": "bag", "feet": "leaning"}, "not_feasible"),
        ({"item": "bag", "feet": "leaning", "friction": "0.5 to 0.7"}, "uncertain"),
        ({"item": "bag", "feet": "tied"}, "clear"),
    ],
)
def test_rest(inputs, verdict):
    checked = answer("rest", **{"width": "118 mm", "depth": "118 mm", **inputs})
    assert checked.verdict == verdict
    assert bool(checked.mend) == (verdict != "clear")


def test_feet_by_hand():
    # Derived: ridge load alone at 60 degrees needs a friction of 0.577; the panels' own weight brings it down a little
    checked = answer("rest", item="bag", width="118 mm", depth="118 mm", feet="leaning", lean="60 deg", mass="10 kg")
    assert number(checked, "friction_needed").value == pytest.approx(0.577, abs=2e-3)


@pytest.mark.parametrize(
    ("ends", "kilonewtons"), [("pin_pin", 62.2), ("fix_free", 15.6), ("fix_pin", 127), ("fix_fix", 249)]
)
def test_member_of_a_textbook(ends, kilonewtons):
    # Gere and Goodno, 7th ed., 11.4-2: steel pipe, E 210 GPa, d 40/36 mm, L 1.2 m
    pipe = {"shape": "tube", "outer": "40 mm", "wall": "2 mm", "length": "1.2 m", "stiffness": "210 GPa"}
    checked = answer("member", **pipe, ends=ends)
    assert checked.value.value / 1e3 == pytest.approx(kilonewtons, rel=4e-3)
    assert number(checked, "inertia").value == pytest.approx(43.22e3, rel=2e-4)


def test_member_of_a_benchmark_in_its_own_units():
    # AISC benchmark 1: I 484 in4, L 336 in, E 29 000 ksi, w 0.2 kip/ft, P 300 kip: M 313 kip in, d 0.261 in
    column = {"inertia": "484 in4", "length": "336 in", "stiffness": "29000 ksi"}
    checked = answer("member", **column, load="300 kip", push="0.2 kip/ft")
    assert number(checked, "moment").value / (4448.2216 * 25.4) == pytest.approx(313, abs=1)
    assert number(checked, "pushed_sag").value / 25.4 == pytest.approx(0.261, abs=5e-4)
    tip = answer("member", **column, ends="fix_free", load="150 kip", tip_push="1 kip")
    assert number(tip, "moment").value / (4448.2216 * 25.4) == pytest.approx(598, abs=1)


@pytest.mark.parametrize(
    ("inputs", "field"),
    [
        ({"shape": "tube", "outer": "6 mm"}, "wall"),
        ({"shape": "tube", "outer": "6 mm", "wall": "4 mm"}, "wall"),
        ({"shape": "folded", "width": "20 mm", "thickness": "0.1 mm"}, "fold_depth"),
        ({"width": "10 mm"}, "thickness"),
        ({"inertia": "7 mm4", "strength": "85 MPa"}, "strength"),
        ({"inertia": "7 mm4", "load": "99 N", "push": "0.1 N/mm"}, "load"),
        ({"inertia": "7 mm4", "ends": "fix_fix", "push": "0.1 N/mm"}, "push"),
        ({"inertia": "7 mm4", "tip_push": "1 N"}, "tip_push"),
    ],
)
def test_member_says_what_is_missing(inputs, field):
    with pytest.raises(InputError) as error:
        answer("member", length="114 mm", stiffness="11 GPa", **inputs)
    assert error.value.field == field


def test_calibrations_by_hand():
    # Derived: tan 20 = .364; 19 g in 20 strokes .95 ml; 19 mm of ten sticks 1.9 mm; 500 ml and 10 g: 510 g
    assert answer("friction", angle="20 deg").value.value == pytest.approx(0.364, abs=5e-4)
    assert answer("sprayer", mass="19 g", strokes=20).value.value == pytest.approx(0.95)
    stick = answer("stick", stack="19 mm", count=10)
    assert stick.value.value == pytest.approx(1.9)
    # A stick of 1.6 mm against one of 2 mm: buckling x 0.51, breaking x 0.64
    thin = answer("stick", stack="16 mm", count=10)
    assert [round(a.value, 2) for a in thin.amounts] == [0.51, 0.64]
    assert answer("weight", contents="500 ml", empty="10 g").value.value == pytest.approx(510)
    assert answer("fan", reading="2 to 3 m/s").value.low == 2
    # A box of 20 g, friction .3, drag about 1.15, on 150 x 110 mm: sqrt(.3 x .1962 / (.6125 x 1.15 x .0165)) = 2.25 m/s
    assert answer("fan", box_mass="20 g", box_friction=0.3).value.value == pytest.approx(2.25, abs=0.01)


@pytest.mark.parametrize("name", CALIBRATIONS)
def test_a_calibration_is_used_as_it_says(name):
    for use in answer(name, **CALIBRATIONS[name].example).use:
        kind = CHECKS[use.check]
        inputs = {**kind.example, use.input: use.value}
        used = next(i for i in answer(use.check, **inputs).inputs if i.name == use.input)
        assert used.given


def test_every_reading_of_a_section_has_its_calibration():
    kept = [answer(name, **kind.example).keep for name, kind in CALIBRATIONS.items()]
    assert sorted(name for fields in kept for name in fields) == sorted(Readings.model_fields)
    for fields in kept:
        given = Readings.model_validate_json(json.dumps(fields))
        assert given.model_dump(exclude_none=True) == fields


def test_what_is_kept_is_what_was_measured():
    # Derived, as above: 19 mm of ten sticks by a ruler of 1 mm; 500 ml of water and 10 g; tan 20 to tan 23 degrees
    assert answer("stick", stack="19 mm", count=10).keep == {"stick_thickness_mm": [1.85, 1.95]}
    assert answer("weight", contents="500 ml", empty="10 g").keep == {"weight_g": 510}
    assert answer("friction", angle="20 deg to 23 deg").keep == {"friction": [0.364, 0.424]}
    # A ream of 500 sheets 50 mm high: 0.1 mm a sheet
    assert answer("paper", stack="50 mm", count=500).keep == {"paper_thickness_mm": [0.099, 0.101]}


@pytest.mark.parametrize(
    ("name", "inputs", "field"),
    [
        ("paper", {"stack": "100 mm", "count": 100}, "stack"),
        ("fan", {}, "reading"),
        ("fan", {"reading": "2 m/s", "box_mass": "20 g"}, "reading"),
        ("weight", {}, "scale"),
        ("stick", {"stack": "200 mm", "count": 10}, "stack"),
    ],
)
def test_calibrations_that_do_not_go_together(name, inputs, field):
    with pytest.raises(InputError) as error:
        answer(name, **inputs)
    assert error.value.field == field
