"""Words of the sheets: a missing or a needless one is an error at its place, in every language."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from rungwright.domain.grades import Band
from rungwright.rulebase import RuleBaseError, default_folder, load_rule_base
from rungwright.rulebase.sheet_words import by_band
from tests.rulebase.conftest import edit


@pytest.fixture
def whole(tmp_path: Path) -> Path:
    """The rules themselves, to spoil."""
    return Path(shutil.copytree(default_folder(), tmp_path / "rules"))


def said_of(folder: Path) -> list[str]:
    with pytest.raises(RuleBaseError) as caught:
        load_rule_base(folder)
    return [f"{p.path.relative_to(folder)}: {p.message}" for p in caught.value.problems]


SPOILED = [
    (
        "es/common.yaml",
        "  caution/one_straw_each:",
        "  caution/two_straws_each:",
        "the caution 'caution/one_straw_each' has no words",
    ),
    ("es/common.yaml", "  craft_stick:", "  kraft_stick:", "the material 'craft_stick' has no words here"),
    ("en/common.yaml", "  sprayer:", "  spraier:", "there is no tool 'spraier'; did you mean 'sprayer'?"),
    ("es/common.yaml", "prompt/stand/k_2:", "prompt/stand/k_3:", "the prompt 'prompt/stand/k_2' has no words here"),
    ("es/common.yaml", '["¿Se resbaló o se cayó?", ', "[", "prompt/wind/it_slid_k_2 asks 3 questions, and here are 2"),
    (
        "es/common.yaml",
        "  finished_early:",
        "  finished:",
        "the moment of the lesson 'finished_early' has no words here",
    ),
    ("en/common.yaml", "  calls_line:", "  calls_lime:", "'labels.calls_line' is missing"),
    ("en/common.yaml", "  talk_line:", "  talk_lane:", "'labels.talk_line' is missing"),
    ("en/shelter.yaml", "    drawn:", "    drown:", "the setting 'drawn' has no words here"),
    ("es/shelter.yaml", "  hold_seconds:", "  hold_second:", "the lever 'hold_seconds' has no words here"),
    ("en/shelter.yaml", "{load_mass_g}", "{load_mass}", "there is no slot 'load_mass'; did you mean 'load_mass_g'?"),
    ("es/shelter.yaml", "  stand:\n    name:", "  stnad:\n    name:", "the criterion 'stand' has no words here"),
    ("shelter.yaml", "levers: [entry]", "levers: [entrance]", "there is no lever 'entrance'; did you mean 'entry'?"),
    ("es/shelter.yaml", "  wind_sides:\n    four: {name", "  wind_side:\n    four: {name", "'wind_sides' has no words"),
    ("es/shelter.yaml", "    own_70mm: {name", "    own_71mm: {name", "the step 'own_70mm' has no words here"),
    ("es/shelter.yaml", "first_rung:\n  name: Primer refugio\n", "first_rung:\n  name: ''\n", "first_rung"),
    ("properties.yaml", "roles: [cover]", "roles: [cower]", "there is no role 'cower'; did you mean 'cover'?"),
    ("en/shelter.yaml", 'name: {"K-2": "Weight", ', "name: {", "every text starts with the words of K-2"),
]


@pytest.mark.parametrize(("file", "old", "new", "told"), SPOILED)
def test_a_mistake_is_told_in_its_file(whole, file, old, new, told):
    edit(whole / "words" / file, old, new)
    said = said_of(whole)
    assert any(line.startswith(f"words/{file}") and told in line for line in said), said


@pytest.mark.parametrize("file", ["es/shelter.yaml", "en/common.yaml", "shelter.yaml", "properties.yaml"])
def test_a_missing_file_is_told(whole, file):
    (whole / "words" / file).unlink()
    assert f"words/{file}: this file is missing" in said_of(whole)


def test_a_language_that_is_promised_must_be_there(whole):
    edit(whole / "about.yaml", "[en, es]", "[en, es, pt]")
    assert "words/pt/common.yaml: this file is missing" in said_of(whole)


def test_words_of_a_language_that_is_not_promised_are_not_passed_over(whole):
    edit(whole / "about.yaml", "[en, es]", "[en]")
    assert any("es/common.yaml: nothing reads this file" in line for line in said_of(whole))


def test_a_band_without_words_takes_those_of_the_band_below():
    texts = {Band.K_2: "a hut", Band.G6_8: "a refuge"}
    assert [by_band(texts, band) for band in Band] == ["a hut", "a hut", "a refuge", "a refuge"]
    assert by_band({Band.G3_5: "later"}, Band.K_2) is None
