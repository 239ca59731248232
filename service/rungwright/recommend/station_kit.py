"""What lies at each station: what the section has and may use to make a test with, and what goes with it."""

from __future__ import annotations

from collections.abc import Collection

from rungwright.domain.challenge import Test
from rungwright.recommend.resolve import Case

SETS_A_FAN = ("reference_box", "spare_batteries")
"""What only a fan needs."""
FANS = ("hand_fan", "desk_fan")


def station_things(case: Case) -> dict[str, list[str]]:
    """test -> its things, as they are for this section."""
    out = {*(case.section.exclusions or ()), *case.banned}
    tests = {test.id: test for test in case.challenge.tests}
    return {test: _things(case, tests[test], things, out) for test, things in case.challenge.station_kit.items()}


def _things(case: Case, test: Test, things: list[str], out: Collection[str]) -> list[str]:
    maker = made_with(case, test, out)
    made = [thing for thing in things if thing not in test.made_with]
    if test.made_with and maker not in FANS:
        made = [thing for thing in made if thing not in SETS_A_FAN]
    return [thing for thing in ([maker] if maker else []) + made if thing not in out]


def made_with(case: Case, test: Test, out: Collection[str]) -> str | None:
    """The tool that makes the test: of those that may be used the first that was told to be there.

    Where no tools were told, or none of these, it is the usual one, which is then to get first (the answer says so, see
    `facts.not_there`); the simplest, the last, where the usual one is ruled out. None where all are ruled out, or the
    test needs none.
    """
    may = [tool for tool in test.made_with if tool not in out]
    if not may:
        return None
    there = [tool for tool in may if tool in (case.section.tools or ())]
    usual = test.made_with[0]
    return there[0] if there else usual if usual in may else may[-1]
