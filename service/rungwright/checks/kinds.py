"""The checks and calibrations by name, and how one is asked: data in, answer out.

The model that a body or an options list is checked against is made of the function's own signature, so that a check
is written down once. Functions are keyword-only and pure.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from importlib import import_module
from typing import Any, Literal, get_args, get_type_hints

from pydantic import Field, create_model

from rungwright.checks.fields import Told
from rungwright.checks.quantities import Range, shown_range
from rungwright.checks.result import Calibrated, Checked, CheckSource, Outcome, UsedInput
from rungwright.domain.strict import Strict

Group = Literal["check", "calibrate"]


@dataclass(frozen=True)
class Kind:
    """One check: its name, what it answers in a line, and an example that is fine."""

    name: str
    group: Group
    summary: str
    example: Mapping[str, Any]

    @property
    def _function(self) -> Callable[..., Outcome]:
        return getattr(import_module(f"rungwright.checks.{self.name if self.group == 'check' else 'calibrate'}"), self.name)

    @cached_property
    def told(self) -> dict[str, Told]:
        hints = get_type_hints(self._function, include_extras=True)
        return {
            name: next(m for m in _marks(hints[name]) if isinstance(m, Told))
            for name in inspect.signature(self._function).parameters
            if name != "units"
        }

    @cached_property
    def model(self) -> type[Strict]:
        """What may be asked: a field for each parameter, required where the function gives no usual value."""
        hints = get_type_hints(self._function, include_extras=True)
        fields = {
            p.name: (hints[p.name], ... if p.default is p.empty else p.default)
            for p in inspect.signature(self._function).parameters.values()
        }
        word = "Check" if self.group == "check" else "Calibration"
        return create_model(f"{self.name.title().replace('_', '')}{word}", __base__=Strict, __doc__=self.summary, **fields)

    def answer(self, asked: Strict) -> Checked | Calibrated:
        """The answer to a model of `self.model`. Raises InputError where the inputs do not go together."""
        given = {name: getattr(asked, name) for name in type(asked).model_fields}
        units = given.get("units", "both")
        out = self._function(**given)
        inputs = [
            UsedInput(name=name, label=told.label, text=_said(given[name], told, units), given=name in asked.model_fields_set)
            for name, told in self.told.items()
            if given[name] is not None
        ]
        sources = [
            CheckSource(number=n, id=source, supports=supports, status=status)
            for n, (source, supports, status) in enumerate(out.sources, 1)
        ]
        answer = Checked if self.group == "check" else Calibrated
        told = {name: getattr(out, name) for name in answer.model_fields if name in type(out).model_fields}
        return answer(**{**told, "kind": self.name, "inputs": inputs, "sources": sources})
