"""The one port through which rules are run, whatever the engine."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from importlib import import_module
from typing import Protocol, Self

from rungwright.engine.check import PlannedRule, plan
from rungwright.engine.errors import EngineError
from rungwright.engine.form import Fact, Firing, Rule, Schema
from rungwright.engine.session import Matcher, StagedProgram

_matchers = {
    "durable": ("rungwright.engine.durable", "DurableMatcher"),
    "clips": ("rungwright.engine.clips", "ClipsMatcher"),
    "plain": ("rungwright.engine.plain", "PlainMatcher"),
}
engine_names = ("auto", *_matchers)
"""What `choose` and `compile_rules` take. `auto` is durable where it imports, else clips."""


class Program(Protocol):
    """A compiled rule base. Any thread may use it; see `session.StagedProgram` for what is returned and raised."""

    def run(self, facts: Iterable[Fact]) -> list[Firing]: ...

    def close(self) -> None: ...

    def __enter__(self) -> Self: ...

    def __exit__(self, *error: object) -> None: ...


def compile_rules(stages: Sequence[str], schema: Schema, rules: Sequence[Rule], engine: str = "auto") -> Program:
    """Compile rules for one engine. Each engine gives the same answer. Close the program when it is done with.

    A stage sees the facts given and what earlier stages made. On a reload, compile the new rules, swap, then close
    the old program.

    Raises:
        RuleError: a schema or rule that the engines cannot all answer alike.
        EngineError: the engine is unknown, is not there, or did not take the rules.
    """
    planned = plan(stages, schema, rules)
    make = _load(choose(engine))
    matchers: list[Matcher] = []
    try:
        for stage in planned:
            matchers.append(make(stage.rules))
    except BaseException:
        for matcher in matchers:
            matcher.close()
        raise
    return StagedProgram(schema, planned, matchers)


def choose(name: str = "auto") -> str:
    """The engine that a setting means: itself, or for `auto` durable where it imports, else clips.

    Raises:
        EngineError: the name is unknown, or its engine cannot be imported here.
    """
    if name not in engine_names:
        raise EngineError(f"engine {name!r} is not one of {', '.join(engine_names)}")
    if name == "auto":
        name = "durable" if _reason("durable") is None else "clips"
    reason = _reason(name)
    if reason is not None:
        raise EngineError(f"engine {name} is not usable here ({reason}); set another engine, or auto")
    return name


def available() -> dict[str, bool | str]:
    """For each engine True, or the reason why it cannot be used here."""
    return {name: _reason(name) or True for name in _matchers}


def _reason(name: str) -> str | None:
    try:
        _load(name)
    except ImportError as error:  # also an extension module that was built for another Python
        return str(error) or type(error).__name__
    return None


def _load(name: str) -> Callable[[Sequence[PlannedRule]], Matcher]:
    """An engine's library is imported when first asked for: start-up stays fast and none is needed to import this."""
    module, attribute = _matchers[name]
    return getattr(import_module(module), attribute)
