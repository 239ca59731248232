"""The kit against the cupboard."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rungwright.measure.kit import kit_check, kit_lines, kit_mend, kit_statement, stock_of
from rungwright.measure.verdicts import CLEAR, NOT_FEASIBLE, UNCERTAIN
from tests.measure.refuge import RULES, challenge, levers, materials, read, section, versions

FULL = [
    {"material": "craft_stick", "quantity": 200},
    {"material": "copy_paper", "quantity": 100},
    {"material": "masking_tape", "quantity": 1},
    {"material": "foil", "quantity": 1},
    {"material": "index_card", "quantity": 50},
]


def check(of, *changes: dict, banned: tuple[str, ...] = ()):
    return kit_check(challenge(), of, stock_of(of, materials(), banned=banned), versions(of, *changes))


def lines_of(of, *changes: dict, banned: tuple[str, ...] = ()):
    return kit_lines(challenge(), of, stock_of(of, materials(), banned=banned), versions(of, *changes), 0)


def test_need_of_nine_groups_with_and_without_a_repair_kit() -> None:
    made = check(section(materials=FULL), {}, {"repair_kit": False})
    assert made.need["rigid_piece"].tolist() == [108, 108]
    assert made.need["sheet"].tolist() == [9 * 6, 9 * 5]
    assert made.need["joiner_tape"].tolist() == [9 * 100, 9 * 80]
    assert made.verdict.tolist() == [CLEAR, CLEAR]


def test_a_tenth_is_kept_back_and_rolls_are_turned_into_lengths() -> None:
    made = check(section(materials=FULL))
    assert made.there == {"rigid_piece": 180, "sheet": 90, "joiner_tape": 4500, "cover": 27000}
    assert made.each == {"rigid_piece": 20, "sheet": 10, "joiner_tape": 500, "cover": 3000}
    assert made.left_over["rigid_piece"].tolist() == [72]


def test_the_verdict_turns_where_the_last_piece_is_missing() -> None:
    # 120 sticks less a tenth are 108, the need of nine groups of 12.
    just = [{"material": "craft_stick", "quantity": 120}, *FULL[1:]]
    one_less = [{"material": "craft_stick", "quantity": 119}, *FULL[1:]]
    assert check(section(materials=just)).verdict.tolist() == [CLEAR]
    made = check(section(materials=one_less))
    assert made.verdict.tolist() == [NOT_FEASIBLE]
    assert made.short["rigid_piece"] == pytest.approx([0.9])
    assert kit_statement(challenge(), materials(), made, 0).text == (
        "For all 9 groups the cupboard is short of stiff pieces (1), with a tenth kept back."
    )


def test_a_cupboard_that_was_not_told_is_said_and_an_empty_one_holds_nothing() -> None:
    untold, empty = check(section()), check(section(materials=[]))
    assert untold.verdict.tolist() == [UNCERTAIN]
    assert untold.each["cover"] is None and untold.short["cover"].tolist() == [0]
    assert "was not told" in kit_statement(challenge(), materials(), untold, 0).text
    assert empty.verdict.tolist() == [NOT_FEASIBLE] and empty.lines_short.tolist() == [4]
    told = kit_statement(challenge(), materials(), empty, 0)
    assert told.text == (
        "For all 9 groups the cupboard is short of stiff pieces (108), paper (54 sheets), tape (900 cm) and "
        "waterproof cover (8,100 cm²), with a tenth kept back."
    )
    assert told.numbers["short_cover"] == 8100


def test_nothing_is_short_of_what_is_not_asked() -> None:
    made = check(section(materials=FULL[1:]), {}, {"rigid_pieces": 0})
    assert made.lines_short.tolist() == [1, 0]


@pytest.mark.parametrize(
    ("out", "tools", "gone"),
    [
        (["skewer"], None, "skewer"),
        (["latex"], None, "rubber_band"),
        (["food_packaging"], None, "egg_carton"),
        (["stapler"], None, "staples"),
        (None, [], "staples"),
        (["blades"], None, "foam_board"),
    ],
)
def test_exclusions_by_material_allergen_and_tool(out: list | None, tools: list | None, gone: str) -> None:
    assert gone in stock_of(section(), materials()).allowed
    of = section(exclusions=out, tools=tools)
    assert gone not in stock_of(of, materials()).allowed
    assert {"craft_stick", "copy_paper", "masking_tape"} <= set(stock_of(of, materials()).allowed)


def test_banned_material_and_tool_are_not_in_the_kit() -> None:
    of = section(materials=[{"material": "skewer", "quantity": 500}, {"material": "staples", "quantity": 5}])
    assert stock_of(of, materials(), banned=("skewer", "stapler")).held == {}
    lines = lines_of(of, banned=("skewer",))
    assert not [line for line in lines if "skewer" in (line.material, *line.also, *line.instead)]


@given(st.permutations([*FULL, {"material": "skewer", "quantity": 7.3}, {"material": "skewer", "quantity": 0.1}]))
@settings(max_examples=20, deadline=None)
def test_order_of_the_cupboard_changes_nothing(stock: list[dict]) -> None:
    made = check(section(materials=stock))
    assert made.there is not None and made.there["rigid_piece"] == pytest.approx(180 + 7.4 * 0.9)
    of = section(materials=stock)
    assert lines_of(of)[0].material == "craft_stick"


def test_lines_take_what_there_is_most_of_and_then_the_rest() -> None:
    stock = [
        {"material": "craft_stick", "quantity": 90},
        {"material": "skewer", "quantity": 50},
        {"material": "pencil", "quantity": 10},
    ]
    of = section(materials=stock)
    lines = {line.role: line for line in lines_of(of)}
    sticks = lines["rigid_piece"]
    assert (sticks.material, sticks.also, sticks.instead) == ("craft_stick", ("skewer",), ("pencil",))
    assert (sticks.per_group, sticks.for_class, sticks.there, sticks.short) == (12, 108, 135, 0)
    tape = lines["joiner_tape"]
    assert (tape.material, tape.label, tape.short) == (None, "tape", 900)
    assert tape.instead == ("clear_tape", "masking_tape")
    assert (tape.per_group, tape.for_class) == (80, 900)


def test_second_figures_need_card() -> None:
    of = section(materials=FULL)
    card = lines_of(of)[-1]
    # Three figures twice, two a card, nine groups.
    assert (card.lever, card.material, card.per_group, card.for_class) == (None, "index_card", 3, 27)


def test_a_usual_cupboard_starts_from_the_usual_materials() -> None:
    of = section()
    lines = lines_of(of)
    assert [line.material for line in lines] == ["craft_stick", "copy_paper", "masking_tape", "foil", "index_card"]
    assert all(line.there is None and line.short == 0 for line in lines)


def test_a_line_with_nothing_in_it_is_left_out() -> None:
    of = section("10", materials=FULL)
    roles = [line.role for line in lines_of(of, {"rigid_pieces": 0})]
    assert "rigid_piece" not in roles


def test_only_the_lines_that_are_short_give_way() -> None:
    of = section(materials=FULL[1:])
    cols = versions(of, {}, {"rigid_pieces": 0})
    made = kit_check(challenge(), of, stock_of(of, materials()), cols)
    assert kit_mend(challenge(), made, cols, 0) == ["Give each group fewer stiff pieces."]
    assert kit_mend(challenge(), made, cols, 1) == []


def test_more_in_a_kit_never_helps_the_cupboard() -> None:
    grid = [{"sheets": s} for s in levers()["sheets"].settings]
    short = check(section(materials=[{"material": "copy_paper", "quantity": 50}]), *grid).short["sheet"]
    assert np.all(np.diff(short) <= 0)


def test_every_material_can_be_served_by_one_with_its_role() -> None:
    for name, material in materials().items():
        assert material.substitute, name
        for other in material.substitute:
            assert materials()[other].role == material.role, (name, other)
        for key, prop in material.properties.items():
            assert prop.low <= prop.value <= prop.high, (name, key)


def test_challenge_names_only_what_the_rule_base_has() -> None:
    sources, tools, standards = (read(RULES / f"{n}.yaml") for n in ("sources", "tools", "standards"))
    for preset in challenge().presets.values():
        assert set(preset) == set(levers())
        assert all(levers()[name].accepts(value) for name, value in preset.items())
    for moved in challenge().fitting:
        assert all(levers()[moved.lever].accepts(to) for to in moved.to)
    for mend in challenge().mend:
        assert mend.to is None or levers()[mend.lever].accepts(mend.to)
    for things in challenge().station_kit.values():
        assert set(things) <= {*tools, *materials()}
    for codes in challenge().standards.values():
        assert set(codes) <= set(standards)
    named = {p.source for m in materials().values() for p in m.properties.values()}
    named |= {m.source for m in challenge().margins} | {challenge().readiness.source}
    named |= {t.source for lever in levers().values() for t in lever.difficulty}
    named |= {s["source"] for s in standards.values()}
    assert named <= set(sources)
