"""What students read is inside their band, in each language."""

from __future__ import annotations

import pytest

from rungwright.domain.grades import Band
from rungwright.domain.lever import setting_key
from rungwright.rulebase import RuleBase, default_folder, load_rule_base
from rungwright.rulebase.checks.sheets import for_groups
from rungwright.rulebase.sheet_words import RULES_LANGUAGE
from rungwright.sheets import SheetName, Wanted, sheets_of
from rungwright.sheets.questions import WHILE_BUILDING
from tests.sheets.reading import (
    HIGHEST_GRADE,
    LEAST_EASE,
    MOST_WORDS,
    flesch_kincaid,
    inflesz,
    sentences,
    syllables_english,
    syllables_spanish,
    word_count,
    words,
)
from tests.sheets.said import sentences_text, texts_of

STUDENT_SHEETS = (
    SheetName.BRIEF,
    SheetName.RECORD,
    SheetName.STATIONS,
    SheetName.CALLS,
    SheetName.QUESTIONS,
    SheetName.DISCUSSION,
)
CALLED = {"test_manner": "stations"}


def test_the_published_english_check():
    # The sentence of Wikipedia's article on the Flesch-Kincaid tests: 13 words, 24 syllables, grade 11.3.
    text = "The Australian platypus is seemingly a hybrid of a mammal and reptilian creature."
    assert len(words(text)) == 13
    assert sum(map(syllables_english, words(text))) == 24
    assert round(flesch_kincaid(text), 1) == 11.3


@pytest.mark.parametrize(
    ("word", "count"),
    # Division by the rules of Spanish spelling (Ortografía, RAE); from memory.
    [
        *[("sol", 1), ("casa", 2), ("lluvia", 2), ("viento", 2), ("país", 2), ("río", 2), ("aéreo", 4), ("cuidado", 3)],
        *[("guía", 2), ("pingüino", 3), ("escaladores", 5), ("construyan", 3), ("ley", 1), ("que", 1), ("día", 2)],
    ],
)
def test_spanish_syllables(word, count):
    assert syllables_spanish(word) == count


def test_the_spanish_formula_by_hand():
    # el ni-ño ve la llu-via gran-de ya: 7 words, 10 syllables, one sentence.
    text = "El niño ve la lluvia grande ya."
    assert inflesz(text) == pytest.approx(206.835 - 62.3 * 10 / 7 - 7)


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("band", list(Band))
@pytest.mark.parametrize("name", STUDENT_SHEETS)
def test_each_sheet_is_inside_its_band(lesson_for, band, name, language):
    [sheet] = sheets_of(lesson_for(band.value, Wanted(languages=(language,)), settings=CALLED), name)
    text = sentences_text(sheet)
    if language == "en":
        assert flesch_kincaid(text) < HIGHEST_GRADE[band], text
    else:
        assert inflesz(text) >= LEAST_EASE[band], text


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("band", list(Band))
@pytest.mark.parametrize("name", STUDENT_SHEETS)
def test_no_sentence_of_a_sheet_is_too_long(lesson_for, band, name, language):
    [sheet] = sheets_of(lesson_for(band.value, Wanted(languages=(language,)), settings=CALLED), name)
    said = [s for text in texts_of(sheet) for s in sentences(text) if s.endswith((".", "?", "!"))]
    assert said and not [s for s in said if word_count(s) > MOST_WORDS[band]]


def every_sentence(base: RuleBase, lesson, band: Band) -> set[str]:
    """All that any setting, caution, prompt, property or label can put before students of a band."""
    [speech] = lesson.speeches
    found = [speech.text(t) for c in speech.challenge.criteria.values() for t in (c.must, c.yes, c.talk)]
    found += [speech.text(story.need) for story in speech.challenge.stories]
    for lever_id, by_setting in speech.challenge.levers.items():
        lever = base.levers[lever_id]
        values = {"none": 0, "one": 1, "many": lever.settings[-1]} if lever.type == "number" else {}
        known = [setting_key(s) for s in lever.settings] if lever.type != "number" else list(by_setting)
        found += [speech.text(by_setting[key], values.get(key)) for key in known]
    for test in speech.challenge.tests.values():
        for steps in (test.steps, *test.by.values()):
            found += [speech.filled(step) for key, texts in steps.items() if key == band for step in texts]
        found.append(speech.text(test.say))
    found += [speech.text(text) for text in speech.common.safety.values()]
    found += [speech.text(p.test) for p in speech.common.properties.values()]
    questions = speech.common.questions
    if speech.language == RULES_LANGUAGE:
        questions = {
            r.id: r.ask.questions
            for r in base.rules.values()
            if r.ask and for_groups(r.id) and r.ask.about not in WHILE_BUILDING
        }
    mine = {Band.K_2: "k_2", Band.G3_5: "3_5", Band.G6_8: "6_", Band.G9_12: "6_and_up"}[band]
    found += [q for rule, asked in questions.items() if mine in rule for q in asked]
    return {s for text in found if text for s in sentences(text)}


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("band", list(Band))
def test_every_sentence_there_is_keeps_the_length_of_its_band(lesson_for, band, language):
    lesson = lesson_for(band.value, Wanted(languages=(language,)))
    said = every_sentence(lesson.base, lesson, band)
    assert len(said) > 60
    assert not [s for s in said if word_count(s) > MOST_WORDS[band]]


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("band", list(Band))
def test_all_sentences_together_are_inside_the_band(lesson_for, band, language):
    """The formulas are made for passages; all that a band can be told is one, whatever a sheet picks from it."""
    lesson = lesson_for(band.value, Wanted(languages=(language,)))
    text = " ".join(sorted(every_sentence(lesson.base, lesson, band)))
    if language == "en":
        assert flesch_kincaid(text) < HIGHEST_GRADE[band]
    else:
        assert inflesz(text) >= LEAST_EASE[band]


def test_a_hard_text_is_told_from_an_easy_one():
    hard = "Structural redundancy notwithstanding, the configuration demonstrates unsatisfactory resistance."
    assert flesch_kincaid(hard) > HIGHEST_GRADE[Band.G9_12]
    assert inflesz("La configuración estructural demuestra insuficiente resistencia al vuelco accidental.") < 55


@pytest.fixture(scope="module")
def base() -> RuleBase:
    return load_rule_base(default_folder())


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_sentence_of_every_band_has_no_more_hard_words_than_its_band(lesson_for, language):
    """For one sentence a formula says little, so words of three and more syllables are counted (four in Spanish, whose
    words are longer; agreed here)."""
    most = {Band.K_2: 1, Band.G3_5: 3, Band.G6_8: 5, Band.G9_12: 6}
    count, hard = (syllables_english, 3) if language == "en" else (syllables_spanish, 4)
    for band in Band:
        lesson = lesson_for(band.value, Wanted(languages=(language,)))
        over = [
            s for s in every_sentence(lesson.base, lesson, band) if sum(count(w) >= hard for w in words(s)) > most[band]
        ]
        assert not over, band
