"""Settings are read from the environment once, and a wrong one says what to do."""

import os
from pathlib import Path

import pytest

from rungwright.settings import Settings, SettingsError


def test_nothing_set_is_the_built_in_rule_base_on_the_first_engine():
    assert Settings.from_env({}) == Settings(engine="auto", rules=None, packs=())
    assert Settings.from_env({"RUNGWRIGHT_ENGINE": " ", "RUNGWRIGHT_RULES": "", "RUNGWRIGHT_PACKS": ""}) == Settings()


def test_everything_set(tmp_path: Path):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    (tmp_path / "weights.json").touch()
    settings = Settings.from_env(
        {
            "RUNGWRIGHT_ENGINE": "clips",
            "RUNGWRIGHT_RULES": str(tmp_path),
            "RUNGWRIGHT_PACKS": os.pathsep.join([str(tmp_path / "b"), str(tmp_path / "a")]),
            "RUNGWRIGHT_WEIGHTS": str(tmp_path / "weights.json"),
        }
    )
    assert settings == Settings("clips", tmp_path, (tmp_path / "b", tmp_path / "a"), tmp_path / "weights.json")


@pytest.mark.parametrize(
    ("variable", "value", "told"),
    [
        ("RUNGWRIGHT_ENGINE", "drools", "use one of auto, durable, clips"),
        ("RUNGWRIGHT_ENGINE", "plain", "use one of auto, durable, clips"),
        ("RUNGWRIGHT_RULES", "nowhere", "no such folder"),
        ("RUNGWRIGHT_PACKS", "nowhere", "no such folder"),
        ("RUNGWRIGHT_WEIGHTS", "nowhere", "no such file"),
    ],
)
def test_a_wrong_value_names_its_variable(variable: str, value: str, told: str):
    with pytest.raises(SettingsError, match=rf"^{variable} .*{told}"):
        Settings.from_env({variable: value})
