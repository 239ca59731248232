"""What the sheets say: all care, nothing ruled out, no support, the settings of the answer and nothing else."""

from __future__ import annotations

import re
from itertools import product

import pytest

from rungwright.domain.grades import Band
from rungwright.recommend.wording import without_school_rules
from rungwright.rulebase import default_folder, load_rule_base
from rungwright.rulebase.checks.sheets import for_groups
from rungwright.sheets import NotNeeded, NotPrintable, SheetName, Wanted, lines_of, printed, sheets_of
from rungwright.sheets.drawings import picture
from rungwright.sheets.speech import NO_BREAK
from tests.sheets.said import texts_of

CLASS_SHEETS = [n for n in SheetName if n not in (SheetName.TEACHER, SheetName.KIT)]


def said(lesson, name: SheetName) -> str:
    return " ".join(t for sheet in sheets_of(lesson, name) for t in texts_of(sheet)).replace(NO_BREAK, " ")


@pytest.mark.parametrize("band", list(Band))
@pytest.mark.parametrize("language", ["en", "es"])
def test_every_safety_line_is_on_the_brief_in_child_words_and_on_the_teachers_page_in_full(lesson_for, band, language):
    cupboard = [
        {"material": m, "quantity": 400} for m in ("rubber_band", "skewer", "plastic_bag", "straw_pp", "egg_carton")
    ]
    cupboard += [{"material": m, "quantity": 400} for m in ("craft_stick", "copy_paper", "masking_tape")]
    section = {"materials": cupboard, "tools": ["hand_fan", "desk_fan", "sprayer", "stapler", "scissors"]}
    lesson = lesson_for(band.value, Wanted(languages=(language,)), section=section)
    cautions = lesson.answer.cautions
    assert len(cautions) > 5
    [brief] = sheets_of(lesson, SheetName.BRIEF)
    on_brief = {line.id: line for line in lines_of(brief)}
    for caution in cautions:
        if for_groups(caution.rule.id):
            line = on_brief[f"safety/{caution.rule.id}"]
            assert line.text and line.fixed
    full = said(lesson, SheetName.TEACHER)
    # That the school's rules come first is said once for all of them, before the first.
    texts = [without_school_rules(caution.text) for caution in cautions]
    assert all(text in full for text in texts)
    assert full.index("Your school's safety rules come first") < min(full.index(text) for text in texts)
    assert on_brief["safety/rules_first"].text


def test_each_station_card_has_the_care_of_its_own_test(lesson_for):
    [sheet] = sheets_of(lesson_for("3-5"), SheetName.STATIONS)
    framed = [b for b in sheet.blocks if b.kind == "lines" and b.marker == "care"]
    ids = [{line.id for line in block.lines} for block in framed]
    room, wind, rain, load = ids
    assert "safety/caution/hair_and_cords_tied_back" in wind
    assert "safety/caution/hair_and_cords_tied_back" not in room | load
    assert "safety/caution/water_only_sprayers" in rain
    assert "safety/caution/lower_the_weight_slowly" in load
    assert all("safety/rules_first" in here for here in ids)


# What is ruled out, with the words that would betray it.
EXCLUDED = {
    "foil": ("foil", "aluminio"),
    "masking_tape": ("masking tape", "paper tape", "cinta de papel"),
    "craft_stick": ("craft stick", "palito de madera"),
    "plastic_bag": ("plastic bag", "bolsa de plástico"),
    "hand_fan": ("hand fan", "the fan", "ventilador de mano", "batteries", "pilas"),
    "sprayer": ("spray", "rociador"),
    "hot_glue": ("hot glue", "pistola"),
    "blades": ("craft knives", "navaja"),
    "index_card": ("index card", "tarjeta"),
}


@pytest.mark.parametrize(("what", "band"), list(product(EXCLUDED, ["K-2", "6-8"])))
def test_what_is_excluded_stands_on_no_sheet(lesson_for, what, band):
    # Big craft sticks are another material, but share the words that are looked for.
    out = [what, "jumbo_stick"] if what == "craft_stick" else [what]
    section = {"exclusions": out, "tools": ["hand_fan", "sprayer", "hot_glue", "blades", "scissors"]}
    lesson = lesson_for(band, Wanted(languages=("en", "es")), section=section)
    for name in SheetName:
        try:
            text = said(lesson, name).lower()
        except NotNeeded:
            continue
        assert not [word for word in EXCLUDED[what] if word in text], (name, what)


def test_without_the_exclusion_those_words_are_there(lesson_for):
    """Else the test above could not fail."""
    section = {"tools": ["hand_fan", "sprayer", "hot_glue", "blades"]}
    lesson = lesson_for("6-8", Wanted(languages=("en", "es")), section=section)
    text = " ".join(said(lesson, name) for name in SheetName).lower()
    for what in ("foil", "masking_tape", "craft_stick", "hand_fan", "sprayer", "hot_glue", "blades", "index_card"):
        assert any(word in text for word in EXCLUDED[what]), what


def test_no_support_is_on_any_sheet(lesson_for):
    kinds = ("fine_motor", "reading", "new_to_language", "mobility", "sensory", "attention", "may_mouth_objects")
    supports = {kind: 7 for kind in kinds}
    with_needs = lesson_for("3-5", section={"supports": supports})
    for name in SheetName:
        text = said(with_needs, name).lower() if name is not SheetName.LETTER else ""
        for word in ("fine motor", "newcomer", "mobility", "sensory", "attention", "mouth", "support", "quiet corner"):
            assert word not in text, (name, word)


def kept(lesson_for, settings):
    """A lesson in which no change is proposed to these settings."""
    return lesson_for("3-5", settings=settings, ask={"direction": "fit", "pinned": list(settings)})


@pytest.mark.parametrize(
    ("settings", "there", "not_there"),
    [
        ({"load_positions": 1}, "It goes on one spot.", "spots, one after the other"),
        ({"load_positions": 3, "figure_count": 4}, "It goes on 3 spots, one after the other.", "one spot"),
        ({"hold_seconds": 30}, "It stays on for 30 seconds.", "10 seconds."),
        ({"load_mass_g": 510, "load_item": "bottle"}, "a full bottle, 510 g (18 oz)", "bag of rice"),
        ({"redesign_minutes": 0}, "Counts as yes", "you improve the refuge"),
        ({"repair_kit": False}, "what you have left", "small repair kit"),
        ({"base_tray": False}, "You build on the table", "on a tray"),
        ({"roles": True}, "Each of you has a job", "no set roles"),
        ({"room_each": "own_50mm"}, "50 mm (2 in) wide", "a place to lie down"),
    ],
)
def test_the_brief_says_the_settings(lesson_for, settings, there, not_there):
    text = said(kept(lesson_for, settings), SheetName.BRIEF)
    assert there in text
    assert not_there not in text


def test_the_youngest_read_of_things_and_not_of_grams(lesson_for):
    text = said(lesson_for("K-2"), SheetName.BRIEF)
    assert "The weight is a bag of rice." in text
    assert " g " not in text and "oz" not in text


def test_the_record_counts_spots_held_of_those_tested(lesson_for):
    one, two = (said(lesson_for("6-8", settings={"load_positions": n}), SheetName.RECORD) for n in (1, 2))
    assert "2 of 2 1 of 2 0 of 2" in two
    assert "of 2" not in one
    assert "Our guess before the test" in two
    assert "guess" not in said(lesson_for("3-5"), SheetName.RECORD)


def test_a_lesson_without_a_second_try_has_one_column_of_results(lesson_for):
    with_one, with_two = (kept(lesson_for, {"redesign_minutes": n}) for n in (0, 8))
    assert "Last test" not in said(with_one, SheetName.RECORD)
    assert "Last test" in said(with_two, SheetName.RECORD)


def test_the_tally_has_a_row_a_group_and_no_room_for_names(lesson_for):
    lesson = lesson_for("3-5", section={"students": 25, "group_size": 3})
    [sheet] = sheets_of(lesson, SheetName.RECORD)
    tally = sheet.blocks[-1]
    assert len(tally.rows) == lesson.answer.section.groups + 1
    for name in SheetName:
        try:
            text = said(lesson, name)
        except NotNeeded:
            continue
        assert not any(word in text.lower() for word in ("name:", "nombre", "student name"))


def test_the_second_story_tells_of_its_own_figures(lesson_for):
    lesson = lesson_for("3-5", Wanted(languages=("en", "es"), story=2))
    for name in (SheetName.BRIEF, SheetName.STATIONS):
        text = said(lesson, name).lower()
        assert "animal" in text
        assert "mountain" not in text
    for name in CLASS_SHEETS:
        told = " ".join(line.text for sheet in sheets_of(lesson, name) for line in lines_of(sheet)).lower()
        assert "climber" not in told and "escalador" not in told, name


@pytest.mark.parametrize("band", list(Band))
@pytest.mark.parametrize("language", ["en", "es"])
def test_where_builds_are_tested_once_no_sheet_speaks_of_a_second_time(lesson_for, band, language):
    ask = {"direction": "fit", "pinned": ["redesign_minutes"]}
    lesson = lesson_for(band.value, Wanted(languages=(language,)), settings={"redesign_minutes": 0}, ask=ask)
    assert lesson.answer.after.settings["redesign_minutes"] == 0
    twice = {
        "en": ("last test", "last time", "last mark", "you changed", "we changed", "we fixed", "test again"),
        "es": ("última prueba", "primera prueba", "la última", "otra marca", "cambiamos", "cambiaron", "mejoramos"),
    }
    for name in (SheetName.BRIEF, SheetName.RECORD, SheetName.DISCUSSION):
        text = said(lesson, name).lower()
        assert not [word for word in twice[language] if word in text], name


def test_no_rule_tells_the_story_of_a_challenge():
    """A challenge that is copied tells its own, and its figures are called otherwise."""
    base = load_rule_base(default_folder())
    names = {name for challenge in base.challenges.values() for name in (challenge.figure, challenge.figures)}
    for rule in base.rules.values():
        text = rule.model_dump_json().lower()
        assert not [name for name in names if name in text], rule.id


def test_the_properties_are_of_the_materials_in_the_kit(lesson_for):
    lesson = lesson_for("3-5", settings={"cover_cm2": 900, "rigid_pieces": 12})
    text = said(lesson, SheetName.DISCUSSION)
    assert "stiffness" in text and "shedding water" in text
    bare = said(lesson_for("9-12", settings={"rigid_pieces": 0, "sheets": 10}), SheetName.DISCUSSION)
    assert "stiffness" not in bare


def test_the_teachers_page_has_each_change_with_its_reason(lesson_for):
    lesson = lesson_for("3-5", ask={"direction": "harder"})
    text = said(lesson, SheetName.TEACHER)
    answer = lesson.answer
    assert answer.proposals
    for proposal in answer.proposals:
        assert proposal.reason.text in text
        assert proposal.to_text in text
    assert all(standard.code in text and standard.text in text for standard in answer.standards)
    assert all(standard.caution in text for standard in answer.standards if standard.caution)
    assert answer.timetable.late in text
    assert answer.summary.headline in text


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_calling_order_calls_every_group_to_every_test(lesson_for, language):
    lesson = lesson_for("3-5", Wanted(languages=(language,)), settings={"test_manner": "stations"})
    [sheet] = sheets_of(lesson, SheetName.CALLS)
    table = sheet.blocks[-1]
    called = [cell.text for row in table.rows for cell in row[1:] if cell.text]
    groups = lesson.answer.section.groups
    tests = len({c.test for c in lesson.answer.timetable.calls})
    assert sorted(called) == sorted(str(g) for g in range(1, groups + 1) for _ in range(tests))
    names = {"en": ["Minute", "Wind", "Weight"], "es": ["Minuto", "Viento", "Peso"]}[language]
    assert [name for name in names if name not in [c.title for c in table.columns]] == []
    assert "stands on the sheet Calling order" in said(lesson, SheetName.TEACHER)


@pytest.mark.parametrize(
    ("band", "changes"),
    [("K-2", {}), ("3-5", {"section": {"students": 2, "group_size": 2}, "settings": {"test_manner": "stations"}})],
)
def test_own_tables_and_one_group_need_no_calling_order(lesson_for, band, changes):
    lesson = lesson_for(band, **changes)
    assert bool(lesson.answer.timetable.calls) == (band == "3-5")
    assert not sheets_of(lesson, SheetName.CALLS)
    assert "Calling order" not in said(lesson, SheetName.TEACHER)


def test_every_question_for_groups_stands_on_the_sheet_of_questions_in_each_language(lesson_for):
    lesson = lesson_for("3-5", Wanted(languages=("en", "es")))
    english, spanish = sheets_of(lesson, SheetName.QUESTIONS)
    told = [q for p in lesson.answer.prompts if for_groups(p.rule.id) for q in p.questions]
    here, there = ([line for line in lines_of(sheet) if line.id != "ask/line"] for sheet in (english, spanish))
    assert told and {line.text for line in here} == set(told)
    assert [line.id for line in here] == [line.id for line in there]
    assert not {line.text for line in here} & {line.text for line in there}
    headings = [block.heading for block in spanish.blocks if block.kind == "lines"]
    assert headings[0] == "Antes de construir" and headings[-1] == "Si terminan antes"


def test_rain_that_comes_once_is_last_in_every_order_and_has_one_mark(lesson_for):
    once, twice = (
        kept(lesson_for, {"first_round": way, "redesign_minutes": 8, "test_manner": "stations"})
        for way in ("dry_tests", "all")
    )
    assert once.answer.timetable.order[-1] == "rain"
    assert "wind, weight and rain." in said(once, SheetName.BRIEF)
    assert "wind, rain and weight." in said(twice, SheetName.BRIEF)
    assert "every group also takes this test: rain." in said(once, SheetName.CALLS)
    assert "every group also takes" not in said(twice, SheetName.CALLS)
    for lesson, marks in ((once, 0), (twice, 3)):
        [sheet] = sheets_of(lesson, SheetName.RECORD)
        results, tally = (b for b in sheet.blocks if b.kind == "table")
        rain = next(row for row in results.rows if row[0].text == "Rain")
        assert [len(cell.boxes) for cell in rain[1:]] == [marks, 3]
        column = next(i for i, c in enumerate(tally.columns) if c.title == "Rain")
        assert tally.rows[0][column].text == ("/" if marks else "")


def test_no_prompts_means_no_question_on_any_sheet(lesson_for):
    """The extra for early groups stays: it is no help. Figures that are `prompted` bring questions of their own."""
    lesson = kept(lesson_for, {"hints": "none", "rigid_pieces": 12})
    assert {p.about for p in lesson.answer.prompts if for_groups(p.rule.id)} == {"finished_early"}
    brief = said(lesson, SheetName.BRIEF)
    assert "Think about it" not in brief and "If you finish early" in brief
    assert "Think about it" in said(kept(lesson_for, {"hints": "questions"}), SheetName.BRIEF)
    prompted = kept(lesson_for, {"hints": "none", "figure_standing": "prompted"})
    assert {p.about for p in prompted.answer.prompts if for_groups(p.rule.id)} == {"stand", "finished_early"}
    assert "Some questions will help you." in said(prompted, SheetName.BRIEF)
    alone = kept(lesson_for, {"hints": "none", "figure_standing": "own_solution"})
    assert {p.about for p in alone.answer.prompts if for_groups(p.rule.id)} == {"finished_early"}


def test_rain_falls_from_a_dropper_where_no_sprayer_may_be_used(lesson_for):
    def things(**section):
        return next(s.things for s in lesson_for("3-5", section=section).answer.kit.stations if s.test == "rain")

    assert "sprayer" in things() and "dropper" not in things()
    assert things(exclusions=["sprayer"])[0] == "dropper"
    # Where tools were told: what is there; where nothing is that makes rain, the usual is named, to get first.
    assert things(tools=["hand_fan", "dropper"])[0] == "dropper" == things(tools=["dropper"])[0]
    assert things(tools=["dropper", "sprayer"])[0] == "sprayer" == things(tools=["hand_fan"])[0]
    assert not {"sprayer", "dropper"} & set(things(tools=["scissors"], exclusions=["sprayer", "dropper"]))
    assert not {"sprayer", "dropper"} & set(things(exclusions=["sprayer", "dropper"]))


@pytest.mark.parametrize("band", ["K-2", "3-5", "9-12"])
def test_a_dropper_is_what_every_sheet_and_the_answer_tell_of(lesson_for, band):
    tools = ["dropper", "scissors", *([] if band == "K-2" else ["desk_fan"])]
    lesson = lesson_for(band, Wanted(languages=("en", "es")), section={"tools": tools})
    for name in SheetName:
        if made := sheets_of(lesson, name):
            text = " ".join(t for sheet in made for t in texts_of(sheet)).lower()
            assert "spray" not in text and "rociador" not in text, name
    assert "dropper" in said(lesson, SheetName.KIT) and "gotero" in said(lesson, SheetName.STATIONS)
    cautions = {caution.rule.id for caution in lesson.answer.cautions}
    assert "caution/droppers_for_water_only" in cautions and "caution/water_only_sprayers" not in cautions
    assert "sprayer" not in lesson.answer.model_dump_json()
    if band != "K-2":
        assert "Desk fan" in said(lesson, SheetName.KIT) and "Hand fan" not in said(lesson, SheetName.KIT)


@pytest.mark.parametrize("band", list(Band))
def test_no_article_is_wrong_before_those_of_a_story(lesson_for, band):
    lesson = lesson_for(band.value, Wanted(story=2), settings={"figure_standing": "own_solution"})
    text = " ".join(said(lesson, n) for n in (SheetName.BRIEF, SheetName.STATIONS, SheetName.DISCUSSION))
    assert "animal" in text
    assert not re.search(r"\ba animal", text, re.IGNORECASE)


def test_eye_protection_that_the_care_asks_for_is_on_the_kit_list(lesson_for):
    lesson = lesson_for("3-5")
    assert "goggles" in said(lesson, SheetName.BRIEF)
    assert "eye protection" in said(lesson, SheetName.KIT).lower()
    without = lesson_for("3-5", section={"exclusions": ["goggles"]})
    assert "eye protection:" not in said(without, SheetName.KIT).lower()


def test_the_kit_counts_covers_in_pieces_and_card_in_pieces_of_card(lesson_for):
    stock = [{"material": m, "quantity": 300} for m in ("craft_stick", "copy_paper", "masking_tape")]
    lesson = lesson_for(
        "3-5", section={"materials": [*stock, {"material": "foil", "quantity": 1}]}, settings={"cover_cm2": 900}
    )
    [sheet] = sheets_of(lesson, SheetName.KIT)
    rows = {
        row[1].text: [cell.text for cell in row[2:]] for row in next(b for b in sheet.blocks if b.kind == "table").rows
    }
    assert rows["kitchen foil"][1:] == ["8 such pieces", "30 such pieces", ""]  # 27,000 cm2 after a tenth kept back
    assert rows["card for the figures"] == ["3 pieces", "24 pieces", "0 pieces", "24 pieces"]
    assert "3 pieces of card for the figures" in lesson.answer.brief.kit


def test_a_kit_that_is_short_promises_no_mixed_lot(lesson_for):
    sticks = [{"material": "craft_stick", "quantity": 30}, {"material": "skewer", "quantity": 30}]
    rest = [{"material": m, "quantity": 500} for m in ("copy_paper", "foil", "masking_tape", "index_card")]
    lesson = lesson_for(
        "6-8",
        section={"materials": [*sticks, *rest]},
        settings={"rigid_pieces": 12},
        ask={"direction": "fit", "pinned": ["rigid_pieces"]},
    )
    text = said(lesson, SheetName.KIT)
    assert "craft sticks for 2, blunted skewers for 2; 4 left with less than a whole lot" in text


def test_a_card_makes_the_wind_of_the_youngest(lesson_for):
    lesson = lesson_for("K-2")
    [sheet] = sheets_of(lesson, SheetName.STATIONS)
    texts = " ".join(line.text for line in lines_of(sheet) if line.id.startswith("station/wind"))
    assert "stiff card" in texts and "fan with a guard" not in texts


def test_a_full_cupboard_needs_no_letter(lesson_for):
    plenty = [
        {"material": m, "quantity": 500} for m in ("craft_stick", "copy_paper", "foil", "masking_tape", "index_card")
    ]
    with pytest.raises(NotNeeded, match="no letter"):
        printed(lesson_for("3-5", section={"materials": plenty}), SheetName.LETTER)


@pytest.mark.parametrize(
    ("language", "never", "nobody", "day", "card"),
    [
        (
            "en",
            ("glass", "cut cans", "nuts", "egg", "cleaner"),
            "Nobody needs to buy anything.",
            "by Tuesday, December 1, 2026.",
            "about 24 pieces as big as a postcard",
        ),
        (
            "es",
            ("vidrio", "latas cortadas", "nueces", "huevo", "limpieza"),
            "Nadie tiene que comprar nada.",
            "para el martes 1 de diciembre de 2026.",
            "más o menos 24 pedazos como una postal",
        ),
    ],
)
def test_the_letter_asks_for_what_lacks_and_says_what_never(lesson_for, language, never, nobody, day, card):
    from datetime import date

    few = [{"material": "craft_stick", "quantity": 10}, {"material": "straw_paper", "quantity": 40}]
    wanted = Wanted(languages=(language,), needed_by=date(2026, 12, 1))
    lesson = lesson_for("3-5", wanted, section={"materials": few})
    text = said(lesson, SheetName.LETTER)
    assert all(word in text for word in never)
    assert nobody in text and day in text
    assert card in text  # three figures, two sets, eight groups, two on a card
    [sheet] = sheets_of(lesson, SheetName.LETTER)
    asked = {line.id for line in lines_of(sheet)}
    assert all(f"letter/{i.lever}" in asked for i in lesson.answer.kit.items if i.short > 0 and i.lever)


@pytest.mark.parametrize(
    ("wanted", "field"),
    [
        (Wanted(languages=("fr",)), "language"),
        (Wanted(languages=("en", "en")), "language"),
        (Wanted(languages=()), "language"),
        (Wanted(story=3), "story"),
    ],
)
def test_what_cannot_be_printed_is_told(lesson_for, wanted, field):
    with pytest.raises(NotPrintable) as caught:
        lesson_for("3-5", wanted)
    assert caught.value.field == field


def test_priced_materials_come_with_their_prices_and_a_budget(lesson_for):
    lesson = lesson_for("6-8", Wanted(languages=("en", "es")), settings={"budget": True})
    priced = lesson.answer.kit.price_list
    assert priced is not None
    text = said(lesson, SheetName.BRIEF)
    assert f"You may spend {priced.budget} coins." in text and f"Pueden gastar {priced.budget} monedas." in text
    assert all(str(price.price) in text for price in priced.prices)
    assert lesson_for("6-8").answer.kit.price_list is None


def test_a_mixed_cupboard_is_shared_in_whole_lots(lesson_for):
    sticks = [{"material": "craft_stick", "quantity": 60}, {"material": "skewer", "quantity": 60}]
    rest = [{"material": m, "quantity": 500} for m in ("copy_paper", "foil", "masking_tape", "index_card")]
    lesson = lesson_for(
        "6-8",
        section={"materials": [*sticks, *rest]},
        settings={"rigid_pieces": 12},
        ask={"direction": "fit", "pinned": ["rigid_pieces"]},
    )
    item = next(i for i in lesson.answer.kit.items if i.lever == "rigid_pieces")
    # A tenth kept back: 54 of each, four lots of twelve.
    assert [(s.material, s.groups) for s in item.shares] == [("craft_stick", 4), ("skewer", 4)]
    assert "craft sticks for 4, blunted skewers for 4" in said(lesson, SheetName.KIT)


def test_every_criterion_has_a_drawing(lesson_for):
    for layout in lesson_for("3-5").base.layouts.values():
        for criterion in layout.criteria.values():
            assert picture(criterion.picture).startswith("<svg")


def test_the_teachers_page_names_grades_as_teachers_do(lesson_for):
    def first(**section):
        return said(lesson_for("3-5", section=section), SheetName.TEACHER)

    assert "Grades 2, 3 and 4: 24 students" in first(grades=["02", "03", "04"])
    assert "Kindergarten: 1 student, 1 group of 1" in first(grades=["KG"], students=1, group_size=1)
