"""A teacher's own lines: kept over a new answer, never at the cost of care."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rungwright.sheets import Edits, Lesson, NotPrintable, SheetName, Wanted, lines_of, printed, sheets_of, waiting
from rungwright.sheets.edits import Added

BRIEF = ("brief", "en")


def with_edits(lesson: Lesson, **changes) -> Lesson:
    edits = Edits(**changes)
    return replace(lesson, wanted=replace(lesson.wanted, edits={BRIEF: edits}))


def brief_lines(lesson: Lesson) -> dict[str, str]:
    [sheet] = sheets_of(lesson, SheetName.BRIEF)
    return {line.id: line.text for line in lines_of(sheet)}


def test_reworded_taken_out_and_added(lesson_for):
    lesson = lesson_for("3-5")
    before = brief_lines(lesson)
    first, second = [i for i in before if i.startswith("question/")][:2]
    edits = {
        "reword": {first: "What do you think?", "criterion/load/yes": "It holds."},
        "remove": [second],
        "add": [
            Added(after="kit/rigid_pieces", text="1 pencil"),
            Added(after="criterion/wind/must", text="Mind the door."),
        ],
    }
    edited_lesson = with_edits(lesson, **edits)
    after = brief_lines(edited_lesson)
    assert after[first] == "What do you think?"
    assert after["criterion/load/yes"] == "It holds."
    assert second not in after
    ids = list(after)
    assert after[ids[ids.index("kit/rigid_pieces") + 1]] == "1 pencil"
    assert "Mind the door." in after.values()
    unchanged = {i: t for i, t in before.items() if i not in (first, second, "criterion/load/yes")}
    assert {i: after[i] for i in unchanged} == unchanged
    assert printed(edited_lesson, SheetName.BRIEF) != printed(lesson, SheetName.BRIEF)


def test_they_stay_when_the_answer_is_another(lesson_for):
    edits = {"reword": {"need": "Our own story."}, "add": [Added(after="need", text="It is cold.")]}
    for settings in ({"load_positions": 1}, {"load_positions": 2}):
        assert (
            brief_lines(with_edits(lesson_for("3-5", settings=settings), **edits))["need"]
            == "Our own story. It is cold."
        )


@pytest.mark.parametrize("how", ["reword", "remove"])
def test_a_line_that_keeps_people_safe_stays(lesson_for, how):
    line = "safety/caution/lower_the_weight_slowly"
    changes = {"reword": {line: "Drop it."}} if how == "reword" else {"remove": [line]}
    with pytest.raises(NotPrintable, match="keeps people safe"):
        sheets_of(with_edits(lesson_for("3-5"), **changes), SheetName.BRIEF)


def test_a_line_that_is_not_there_now_waits(lesson_for):
    lesson = with_edits(lesson_for("3-5"), remove=["kit/no_such"], reword={"need": "Ours."})
    [sheet] = sheets_of(lesson, SheetName.BRIEF)
    assert waiting(sheet, lesson.wanted.edits[BRIEF]) == ["kit/no_such"]
    assert brief_lines(lesson)["need"] == "Ours."


def test_parts_taken_out_in_one_language_only_cannot_stand_side_by_side(lesson_for):
    lesson = lesson_for("3-5", Wanted(languages=("en", "es")))
    [english, _] = sheets_of(lesson, SheetName.BRIEF)
    kit = [line.id for line in lines_of(english) if line.id.startswith("kit/")]
    with pytest.raises(NotPrintable, match="both languages"):
        sheets_of(with_edits(lesson, remove=kit), SheetName.BRIEF)


def test_every_line_has_an_id_of_its_own(lesson_for):
    for band in ("K-2", "9-12"):
        lesson = lesson_for(band, settings={})
        for name in (SheetName.BRIEF, SheetName.TEACHER, SheetName.KIT, SheetName.FIGURES):
            [sheet] = sheets_of(lesson, name)
            ids = [line.id for line in lines_of(sheet)]
            assert len(ids) == len(set(ids)), name
