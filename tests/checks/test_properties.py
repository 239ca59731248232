"""What must hold for any inputs of the checks."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.checks.test_kinds import answer, number

SOME = settings(max_examples=40, deadline=None)
LENGTHS = st.floats(40, 600)


def mm(value: float) -> str:
    return f"{value:.6f} mm"


def g(value: float) -> str:
    return f"{value:.6f} g"


@SOME
@given(
    sticks=st.integers(0, 40), sheets=st.integers(0, 12), tape=st.floats(0, 150),
    more=st.sampled_from(["sticks", "sheets", "tape"]),
    band=st.sampled_from(["K-2", "3-5", "6-8", "9-12"]), family=st.sampled_from(["shelter", "span", "tower"]),
    place=st.sampled_from(["builder", "tester"]),
)  # fmt: skip
def test_a_better_kit_never_makes_the_surest_form_bear_less(sticks, sheets, tape, more, band, family, place):
    kit = {"sticks": sticks, "sheets": sheets, "tape": tape}
    size = {"span": {"gap": "250 mm"}, "tower": {"height": "300 mm"}, "shelter": {}}[family]

    def surest(kit: dict) -> float:
        asked = {**kit, "tape": f"{kit['tape']:.6f} cm"}
        listed = answer(
            "load", family=family, mass="370 g", band=band, place=place, every_form=True, **size, **asked
        ).forms
        made = [o.bears.low for o in listed if not o.lacks]
        return made[0] if made else 0.0

    better = {**kit, more: kit[more] + (1 if more != "tape" else 10)}
    assert surest(better) >= surest(kit) - 1e-9


@SOME
@given(
    family=st.sampled_from(["span", "tower"]), size=st.floats(80, 800), more=st.floats(0, 100),
    kit=st.fixed_dictionaries({"sticks": st.integers(0, 60), "sheets": st.integers(0, 12)}),
    place=st.sampled_from(["builder", "tester"]),
)  # fmt: skip
def test_a_longer_gap_or_a_taller_tower_never_bears_more(family, size, more, kit, place):
    def bears(size: float) -> dict[str, float]:
        asked = {**kit, "family": family, "mass": "370 g", "place": place, "glue": True, "tape": "2 m"}
        asked |= {"gap": mm(size)} if family == "span" else {"height": mm(size)}
        return {o.id: o.bears.low for o in answer("load", every_form=True, **asked).forms}

    near, far = bears(size), bears(size + more)
    # Sheets are rolled the other way where the short side no longer reaches: with fewer turns, never more
    assert set(far) <= set(near)
    assert all(far[form] <= near[form] * (1 + 1e-9) for form in far)


@SOME
@given(
    name=st.sampled_from([("stick_thickness", 1.0, 3.0), ("paper_thickness", 0.06, 0.2)]), part=st.floats(0, 1),
    thicker=st.floats(1, 1.5), family=st.sampled_from(["shelter", "span", "tower"]),
    place=st.sampled_from(["builder", "tester"]),
)  # fmt: skip
def test_thicker_sticks_or_paper_never_weaken_a_form(name, part, thicker, family, place):
    given_as, low, high = name
    size = {"span": {"gap": "250 mm"}, "tower": {"height": "300 mm"}, "shelter": {}}[family]

    def bears(thick: float) -> dict[str, float]:
        asked = {"family": family, "mass": "370 g", "place": place, given_as: mm(thick), **size}
        return {o.id: o.bears.low for o in answer("load", every_form=True, **asked).forms}

    thin, thick = (bears(t) for t in (low + part * (high - low), (low + part * (high - low)) * thicker))
    assert all(thick[form] >= thin[form] * (1 - 1e-9) for form in thin)


@SOME
@given(mass=st.floats(5, 500), heavier=st.floats(1, 3), width=LENGTHS, depth=LENGTHS, height=st.floats(20, 600))
def test_a_heavier_build_never_moves_sooner(mass, heavier, width, depth, height):
    box = {"width": mm(width), "depth": mm(depth), "height": mm(height)}
    light, heavy = (answer("wind", mass=g(m), **box) for m in (mass, mass * heavier))
    assert heavy.value.low >= light.value.low - 1e-9
    # What it would have to weigh does not depend on what it weighs.
    assert number(heavy, "least_mass").value == pytest.approx(number(light, "least_mass").value, rel=1e-5)


@SOME
@given(mass=st.floats(5, 500), width=LENGTHS, depth=LENGTHS, height=st.floats(20, 600))
def test_turned_by_a_quarter_the_sides_change_places(mass, width, depth, height):
    one = answer("wind", mass=g(mass), width=mm(width), depth=mm(depth), height=mm(height))
    turned = answer("wind", mass=g(mass), width=mm(depth), depth=mm(width), height=mm(height))
    for there, here in (("front", "side"), ("side", "front"), ("corner", "corner")):
        assert number(one, f"slides_{there}").value == pytest.approx(number(turned, f"slides_{here}").value)
    assert (one.verdict, one.value.value) == (turned.verdict, pytest.approx(turned.value.value))


@SOME
@given(strokes=st.integers(1, 200), more=st.integers(0, 200), width=LENGTHS, wider=st.floats(1, 2))
def test_more_strokes_rain_more_and_a_larger_place_less(strokes, more, width, wider):
    def rate(strokes: int, width: float) -> float:
        return answer("rain", strokes=strokes, width=mm(width), depth="150 mm").value.value

    assert rate(strokes + more, width) >= rate(strokes, width) >= rate(strokes, width * wider) - 1e-9


@SOME
@given(mass=st.floats(50, 2000), side=st.floats(60, 400), density=st.floats(30, 900))
def test_snow_of_the_depth_found_weighs_as_much(mass, side, density):
    checked = answer("snow", mass=g(mass), width=mm(side), depth=mm(side), density=f"{density:.6f} kg/m3")
    weighs = checked.value.value * side**2 * density / 1e6
    assert weighs == pytest.approx(mass, rel=1e-4)


@SOME
@given(cargo=st.floats(5, 800), more=st.floats(0, 300), off=st.floats(0, 30), width=st.floats(60, 200))
def test_more_cargo_or_farther_off_is_never_safer(cargo, more, off, width):
    def margin(cargo: float, off: float) -> float:
        raft = {"length": "200 mm", "height": "30 mm", "own_mass": "15 g", "cargo_height": "30 mm"}
        asked = {"width": mm(width), "cargo": g(cargo), "off_centre": mm(off)}
        return number(answer("float", **raft, **asked), "margin").low

    assert margin(cargo + more, off) <= margin(cargo, off) + 1e-6
    assert margin(cargo, off) <= margin(cargo, 0.0) + 1e-6


@SOME
@given(height=st.floats(50, 5000), stop=st.floats(1, 100))
def test_twice_the_stopping_distance_halves_the_push(height, stop):
    near, far = (answer("drop", height=mm(height), mass="80 g", stopping=mm(s)).value.value for s in (stop, 2 * stop))
    assert near == pytest.approx(2 * far, rel=1e-4)


@SOME
@given(
    thick=st.floats(1, 30), material=st.sampled_from(["felt", "card", "wood", "foam"]), minutes=st.floats(1, 120),
    more=st.floats(0, 20),
)  # fmt: skip
def test_more_layers_never_cool_faster(thick, material, minutes, more):
    def ends(thick: float) -> float:
        layers = [f"{material} {mm(thick)}"]
        asked = {"water": "250 ml", "area": "350 cm2", "minutes": f"{minutes:.6f} min"}
        return answer("heat", layers=layers, **asked).value.value

    assert 20 <= ends(thick) <= ends(thick + more) + 1e-9 <= 45 + 1e-6


@SOME
@given(
    figures=st.integers(1, 12), width=st.floats(60, 400), depth=st.floats(60, 400), headroom=st.floats(60, 200),
    roof=st.sampled_from(["flat", "ridge"]),
)  # fmt: skip
def test_a_flat_roof_of_the_same_height_holds_no_fewer(figures, width, depth, headroom, roof):
    asked = {"figures": figures, "width": mm(width), "depth": mm(depth), "headroom": mm(headroom)}
    flat, given_roof = (answer("figures", **asked, roof=r).value.high for r in ("flat", roof))
    assert flat >= given_roof
    assert flat * 2500 <= width * depth + 1e-3


@SOME
@given(length=st.floats(20, 500), longer=st.floats(1, 3), thick=st.floats(0.5, 5))
def test_a_longer_stick_never_bears_more(length, longer, thick):
    def loads(length: float) -> tuple[float, float]:
        stick = {"width": "10 mm", "thickness": mm(thick), "stiffness": "11 GPa", "strength": "85 MPa"}
        checked = answer("member", length=mm(length), **stick)
        return checked.value.value, number(checked, "breaks").value

    assert all(far <= near * (1 + 1e-6) for near, far in zip(loads(length), loads(length * longer), strict=True))
    assert math.isfinite(loads(length)[0])
