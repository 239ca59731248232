"""`rungwright doctor`."""

from __future__ import annotations

import platform
import sys
import time

import typer

from rungwright import __version__
from rungwright.cli.terminal import NOT_SOUND, opened, say, wrapped
from rungwright.engine import available
from rungwright.rulebase import CompiledRules, default_folder, run_cases
from rungwright.settings import DATABASE_FILE, Settings


def run() -> None:
    with opened() as (settings, rules):
        base = rules.base
        started = time.perf_counter()
        cases = run_cases(base, rules.engine)
        seconds = time.perf_counter() - started
    wrong = [case for case in cases if not case.passed]
    say(
        [
            _line("program", f"rungwright {__version__}"),
            _line("python", f"{platform.python_version()} at {sys.executable}"),
            _line("engine", f"{rules.engine}, {_why(settings.engine, rules.engine)}"),
            *(_line("", f"{name}: {_state(state)}") for name, state in available().items() if name != rules.engine),
            _line("rules", str(settings.rules or default_folder())),
            *(_line("pack", str(pack)) for pack in settings.packs),
            _line("rule base", f"version {base.version}, {len(base.rules)} rules, digest {base.digest}"),
            _line("weights", _weights(settings, rules)),
            _line("cases", f"{len(cases) - len(wrong)} of {len(cases)} pass on {rules.engine}, {seconds:.1f} s"),
            *(_line("", f"{case.rule}: {case.case}: {case.detail}") for case in wrong),
            _line("data", _data(settings)),
        ]
    )
    if wrong:
        raise typer.Exit(NOT_SOUND)


def _data(settings: Settings) -> str:
    """Where things are kept; looking makes nothing."""
    if settings.database is None and not (settings.data_folder / DATABASE_FILE).exists():
        return f"nothing is kept yet; `rungwright serve` keeps it in {settings.data_folder}"
    from rungwright.store import Store, StoreError
    from rungwright.store.upgrade import state

    store = None
    try:
        store = Store(settings.database_url)
        found = state(store)
    except StoreError as error:
        found = str(error)
    finally:
        if store is not None:
            store.close()
    where = "PostgreSQL" if settings.database else str(settings.data_folder / DATABASE_FILE)
    return f"{where}: {found}"


def _line(label: str, text: str) -> str:
    return wrapped(text, 12, label)


def _weights(settings: Settings, rules: CompiledRules) -> str:
    if rules.weights is None:
        return "the starting guesses; RUNGWRIGHT_WEIGHTS names learnt ones"
    learned = sum(w.learned_here for w in rules.weights.weights)
    return f"{rules.weights.version} from {settings.weights}, {learned} of {len(rules.weights.weights)} learned here"


def _why(asked: str, used: str) -> str:
    if asked != "auto":
        return f"because RUNGWRIGHT_ENGINE is {asked}"
    return "the first choice" if used == "durable" else "because durable cannot be used here"


def _state(state: bool | str) -> str:
    return "can be used" if state is True else f"cannot be used ({state})"
