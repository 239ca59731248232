"""What can go wrong in the engine layer. Every message says what, where and what to do."""

from __future__ import annotations


class RuleError(ValueError):
    """A schema or a rule that the engines cannot all answer alike. Found when rules are compiled."""


class FactError(ValueError):
    """A fact whose kind or value the schema does not allow. Found when a program runs."""


class EngineError(RuntimeError):
    """An engine that is not there, is closed, was given too much, or did not finish its work."""
