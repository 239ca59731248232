"""What is set from outside, read once and passed on; nothing else reads the environment."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rungwright.domain.weights import Weights
    from rungwright.rulebase import CompiledRules
    from rungwright.store import Store

DATABASE_FILE = "rungwright.sqlite3"
ENGINES = ("auto", "durable", "clips")


class SettingsError(ValueError):
    """A setting that cannot be used. The message names the variable and what it may be."""


@dataclass(frozen=True)
class Settings:
    """`rules` None is the built-in rule base; `packs` are a school's own folders laid over it, in order.

    `weights` is a document of learnt weights; None is the starting guesses of the rule base.
    `data` None is the usual folder of this user; `database` None is a SQLite file in the data folder.
    `calls_a_minute`: what one key may ask. `keep_days`: after how many days runs, lessons, kept answers, archived
    sections and the log are forgotten; None: never by themselves.
    """

    engine: str = "auto"
    rules: Path | None = None
    packs: tuple[Path, ...] = ()
    weights: Path | None = None
    data: Path | None = None
    database: str | None = None
    calls_a_minute: int = 600
    keep_days: int | None = None

    @classmethod
    def from_env(cls, environ: Mapping[str, str] | None = None) -> Settings:
        """Read RUNGWRIGHT_ENGINE, _RULES, _PACKS, _DATA, _DATABASE_URL, _CALLS_A_MINUTE and _KEEP_DAYS.

        Raises SettingsError.
        """
        environ = os.environ if environ is None else environ
        engine = environ.get("RUNGWRIGHT_ENGINE", "").strip() or "auto"
        if engine not in ENGINES:
            raise SettingsError(f"RUNGWRIGHT_ENGINE is {engine!r}; use one of {', '.join(ENGINES)}")
        rules = environ.get("RUNGWRIGHT_RULES", "").strip()
        weights = environ.get("RUNGWRIGHT_WEIGHTS", "").strip()
        packs = [p.strip() for p in environ.get("RUNGWRIGHT_PACKS", "").split(os.pathsep) if p.strip()]
        data = environ.get("RUNGWRIGHT_DATA", "").strip()
        return cls(
            engine,
            _folder("RUNGWRIGHT_RULES", rules) if rules else None,
            tuple(_folder("RUNGWRIGHT_PACKS", pack) for pack in packs),
            _file("RUNGWRIGHT_WEIGHTS", weights) if weights else None,
            Path(data).expanduser() if data else None,
            environ.get("RUNGWRIGHT_DATABASE_URL", "").strip() or None,
            _count("RUNGWRIGHT_CALLS_A_MINUTE", environ) or 600,
            _count("RUNGWRIGHT_KEEP_DAYS", environ),
        )

    @property
    def data_folder(self) -> Path:
        if self.data is not None:
            return self.data
        from platformdirs import user_data_path

        return user_data_path("rungwright", appauthor=False)

    @property
    def database_url(self) -> str:
        return self.database or f"sqlite:///{self.data_folder / DATABASE_FILE}"


def _count(variable: str, environ: Mapping[str, str]) -> int | None:
    text = environ.get(variable, "").strip()
    if text and not (text.isascii() and text.isdigit() and 1 <= int(text) <= 1_000_000):
        raise SettingsError(f"{variable} is {text[:40]!r}; give a whole number of at least 1")
    return int(text) if text else None


def _folder(variable: str, text: str) -> Path:
    path = Path(text).expanduser()
    if not path.is_dir():
        raise SettingsError(f"{variable} names {text!r}, but there is no such folder")
    return path


def _file(variable: str, text: str) -> Path:
    path = Path(text).expanduser()
    if not path.is_file():
        raise SettingsError(f"{variable} names {text!r}, but there is no such file")
    return path


def open_weights(path: Path) -> Weights:
    """Read a document of learnt weights. Raises SettingsError that says what is wrong with it, OSError."""
    from pydantic import ValidationError

    from rungwright.domain.weights import Weights

    try:
        return Weights.model_validate_json(path.read_bytes())
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        at = "/".join(str(part) for part in first["loc"])
        raise SettingsError(
            f"{path} is no document of learnt weights{f' (at {at})' if at else ''}: {first['msg']}; "
            "make one with `rungwright learn`"
        ) from None


def open_rules(settings: Settings) -> CompiledRules:
    """Load, check and prepare the rule base, with learnt weights where the settings name some.

    Raises RuleBaseError, EngineError, SettingsError, OSError. Close it when done with.
    """
    # Imported here: reading settings must not cost the start-up time of the engines.
    from rungwright.rulebase import CompiledRules, default_folder, load_rule_base

    weights = open_weights(settings.weights) if settings.weights else None
    return CompiledRules(load_rule_base(settings.rules or default_folder(), settings.packs), settings.engine, weights)


def open_store(settings: Settings, *, as_it_is: bool = False) -> Store:
    """The database of these settings, made or brought up to date unless `as_it_is`. Close it when done with.

    Raises WrongVersion, StoreUnavailable, SettingsError.
    """
    from rungwright.store import Store, prepare

    if settings.database is None:
        try:
            settings.data_folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            # Made here, so that from its first moment only its owner may read it.
            (settings.data_folder / DATABASE_FILE).touch(mode=0o600)
        except OSError as error:
            raise SettingsError(
                f"the data folder {settings.data_folder} cannot be used ({error.strerror}); "
                "give another by RUNGWRIGHT_DATA"
            ) from None
    store = Store(settings.database_url)
    try:
        if not as_it_is:
            prepare(store)
    except BaseException:
        store.close()
        raise
    return store
