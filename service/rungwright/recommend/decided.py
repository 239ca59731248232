"""What the steps before have settled, for the parts of an answer to tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rungwright.domain.strict import Setting
from rungwright.readiness.outcome import Expected
from rungwright.recommend.choose import Choice
from rungwright.recommend.infer import Inference
from rungwright.recommend.measuring import Measured
from rungwright.recommend.resolve import Case
from rungwright.recommend.start import Start
from rungwright.rulebase import Considered, RuleFiring
from rungwright.rulebase.words import say_setting


@dataclass(frozen=True)
class Decided:
    case: Case
    start: Start
    before: Measured
    expected_before: Expected
    direction: str
    inference: Inference
    choice: Choice
    after: Measured
    expected_after: Expected
    advice: Sequence[RuleFiring]
    considered: Sequence[Considered]

    def say(self, lever: str, value: Setting) -> str:
        return say_setting(self.case.levers[lever], value, self.case.request.units.value)
