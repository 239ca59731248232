"""Settings are read from the environment once, and a wrong one says what to do."""

import os
from pathlib import Path

import pytest

from rungwright.settings import Settings, SettingsError


def test_nothing_set_is_the_built_in_rule_base_on_the_first_engine():
    assert Settings.from_env({}) == Settings(engine="auto", rules=None, packs=(), data=None, database=None)
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
            "RUNGWRIGHT_DATA": str(tmp_path / "new"),
            "RUNGWRIGHT_DATABASE_URL": "postgresql://app@/school",
            "RUNGWRIGHT_CALLS_A_MINUTE": "30",
            "RUNGWRIGHT_KEEP_DAYS": "400",
        }
    )
    packs, weights = (tmp_path / "b", tmp_path / "a"), tmp_path / "weights.json"
    data, database = tmp_path / "new", "postgresql://app@/school"
    assert settings == Settings("clips", tmp_path, packs, weights, data, database, 30, 400)


def test_the_data_is_one_file_in_a_folder_of_this_user(tmp_path: Path):
    assert Settings(data=tmp_path).database_url == f"sqlite:///{tmp_path / 'rungwright.sqlite3'}"
    assert Settings().data_folder.name == "rungwright"
    assert Settings(data=tmp_path, database="postgresql://a@/b").database_url == "postgresql://a@/b"


@pytest.mark.parametrize(
    ("variable", "value", "told"),
    [
        ("RUNGWRIGHT_ENGINE", "other", "use one of auto, durable, clips"),
        ("RUNGWRIGHT_ENGINE", "plain", "use one of auto, durable, clips"),
        ("RUNGWRIGHT_RULES", "nowhere", "no such folder"),
        ("RUNGWRIGHT_PACKS", "nowhere", "no such folder"),
        ("RUNGWRIGHT_WEIGHTS", "nowhere", "no such file"),
        ("RUNGWRIGHT_CALLS_A_MINUTE", "0", "whole number of at least 1"),
        ("RUNGWRIGHT_CALLS_A_MINUTE", "many", "whole number of at least 1"),
        ("RUNGWRIGHT_KEEP_DAYS", "-1", "whole number of at least 1"),
    ],
)
def test_a_wrong_value_names_its_variable(variable: str, value: str, told: str):
    with pytest.raises(SettingsError, match=rf"^{variable} .*{told}"):
        Settings.from_env({variable: value})
