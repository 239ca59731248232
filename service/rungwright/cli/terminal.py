"""The edges of the command line: errors as one clear line, words that fit the window, signs that it can show."""

from __future__ import annotations

import os
import shutil
import sys
import textwrap
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer
from typer.core import TyperGroup

if TYPE_CHECKING:
    from rungwright.rulebase import CompiledRules
    from rungwright.settings import Settings
    from rungwright.store import Store

_PLAIN = {
    "→": "->", "·": "-", "—": "-", "²": "2", "³": "3", "⁴": "4", "¼": " 1/4", "½": " 1/2", "¾": " 3/4", "°C": "C",
    "°F": "F", "°": " deg", "±": "+-",
}  # fmt: skip
"""Signs that a terminal may lack, in the order in which they are replaced."""

BAD_INPUT = 2
NOT_SOUND = 1


class BadInput(Exception):
    """What was given cannot be used; one line for each thing that is wrong."""

    def __init__(self, *lines: str):
        super().__init__("\n".join(lines))
        self.lines = lines


class Commands(TyperGroup):
    """Tells failures in plain lines on the error stream, never as a traceback."""

    def invoke(self, ctx: Any) -> Any:
        try:
            return super().invoke(ctx)
        except BadInput as error:
            for line in error.lines:
                typer.echo(line, err=True)
            raise typer.Exit(BAD_INPUT) from None
        except BrokenPipeError:
            # The reader has gone, for example `| head`. Python would complain once more when it flushes at exit.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            raise typer.Exit(NOT_SOUND) from None
        except Exception as error:
            # What the library raises to end a command carries its exit code; only other failures are ours.
            if hasattr(error, "exit_code") or isinstance(error, typer.Abort) or os.environ.get("RUNGWRIGHT_TRACEBACK"):
                raise
            typer.echo(
                f"Something went wrong inside rungwright: {type(error).__name__}: {error}. "
                "This is a fault of the program; RUNGWRIGHT_TRACEBACK=1 shows where.",
                err=True,
            )
            raise typer.Exit(NOT_SOUND) from None


@contextmanager
def opened(weights: Path | None = None) -> Iterator[tuple[Settings, CompiledRules]]:
    """The settings and rules of this computer, closed at the end. Raises BadInput for those that cannot be used.

    `weights` is a document of learnt weights, instead of the one that the settings name.
    """
    from rungwright.engine import EngineError
    from rungwright.rulebase import RuleBaseError
    from rungwright.settings import Settings, SettingsError, open_rules

    try:
        settings = Settings.from_env()
        if weights:
            settings = replace(settings, weights=weights)
        rules = open_rules(settings)
    except RuleBaseError as error:
        raise BadInput(*map(str, error.problems)) from None
    except (SettingsError, EngineError, OSError) as error:
        raise BadInput(str(error)) from None
    try:
        yield settings, rules
    finally:
        rules.close()


@contextmanager
def opened_store(*, as_it_is: bool = False) -> Iterator[Store]:
    """The database of this computer's settings, brought up to date or `as_it_is`, closed at the end.

    Raises BadInput for one that cannot be used, whenever that shows, and for what is not there or not allowed.
    """
    from rungwright.settings import Settings, SettingsError, open_store
    from rungwright.store import StoreError

    try:
        store = open_store(Settings.from_env(), as_it_is=as_it_is)
    except (SettingsError, StoreError) as error:
        raise BadInput(str(error)) from None
    try:
        yield store
    except StoreError as error:
        raise BadInput(str(error)) from None
    finally:
        store.close()


def width() -> int:
    return max(40, min(100, shutil.get_terminal_size((88, 24)).columns))


def wrapped(text: str, indent: int = 0, first: str | None = None) -> str:
    """Text wrapped to the window; `first` stands before its first line, in the space of the indent."""
    lead = " " * indent if first is None else first.ljust(indent)
    return textwrap.fill(
        text,
        width(),
        initial_indent=lead,
        subsequent_indent=" " * indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def can_show(signs: str) -> bool:
    try:
        signs.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def say(lines: Sequence[str]) -> None:
    """Print; signs that the terminal cannot show are replaced, never an error."""
    text = "\n".join(lines)
    if not can_show(text):
        for sign, plain in _PLAIN.items():
            text = text.replace(sign, plain)
        text = text.encode(sys.stdout.encoding or "ascii", "replace").decode(sys.stdout.encoding or "ascii")
    typer.echo(text)
