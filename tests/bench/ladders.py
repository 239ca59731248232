"""What ladders and their 16,000 settings cost: python tests/bench/ladders.py

Times are of this process, the least of a few calls, told as they are and as parts of sorting a million numbers in the
same run. The aim is 16,000 settings under a second.
"""

from __future__ import annotations

import numpy as np
from timing import least_seconds

from rungwright.domain.ask import Units
from rungwright.domain.ladder import UsualClass
from rungwright.domain.ladder_request import LadderDraftRequest
from rungwright.ladders.draft import draft
from rungwright.ladders.frame import frame, scale_of
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base

SETTINGS = 16_000
SPANS = (("KG", "02"), ("03", "05"), ("06", "08"), ("KG", "12"))


def main() -> None:
    numbers = np.random.default_rng(1).random(1_000_000)
    sorting = least_seconds(lambda: np.sort(numbers), times=10)
    print(f"sorting a million numbers: {1000 * sorting:.1f} ms")

    def told(what: str, took: float) -> None:
        print(f"{what:<44}{took:>7.2f} s {took / sorting:>7.1f}")

    rules = CompiledRules(load_rule_base(default_folder()))
    where = scale_of(frame("shelter", rules, Units.BOTH, "/challenge"), "05", UsualClass(), {})
    random, levers = np.random.default_rng(1), where.case.levers
    chosen = [name for name in where.begun.settings if len(levers[name].settings) > 1]
    rows = [
        {name: levers[name].settings[random.integers(len(levers[name].settings))] for name in chosen}
        for _ in range(SETTINGS)
    ]

    def checked() -> None:
        cols = where.columns(rows)
        measured = where.measure(cols)
        assert np.isfinite(measured.demand).all()
        where.broken(cols)

    told(f"{SETTINGS:,} settings: checks, limits and demand", least_seconds(checked, times=3))
    for low, high in SPANS:
        request = LadderDraftRequest(challenge="shelter", grades=[low, high])
        made = draft(request, rules)
        took = least_seconds(lambda r=request: draft(r, rules), times=3)
        told(f"ladder {low} to {high}, {made.settings_tried:,} settings", took)
    rules.close()


if __name__ == "__main__":
    main()
