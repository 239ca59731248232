"""Adults that the tests in use need, against the adults there are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.challenge import Challenge
from rungwright.domain.section import Section
from rungwright.measure.columns import Columns
from rungwright.measure.queues import needs_adult, station_copies, station_tests
from rungwright.measure.verdicts import CLEAR, NOT_FEASIBLE, UNCERTAIN, Statement


@dataclass(frozen=True)
class AdultsCheck:
    """Adults of n versions."""

    there: int
    needed: NDArray[np.int64]
    """(n,), adults bound to a place while tests run"""
    verdict: NDArray[np.int64]
    """(n,), codes of `verdicts`: not feasible where adults lack, uncertain where none is free for those who wait"""

    @property
    def short(self) -> NDArray[np.int64]:
        """Adults lacking, (n,); none is 0."""
        return np.maximum(self.needed - self.there, 0)


def adults_check(challenge: Challenge, section: Section, cols: Columns, *, other_places: int = 0) -> AdultsCheck:
    """Adults bound to stations at once: one for each copy of a test that needs an adult in the lowest grade's band.

    At own tables and with the whole class watching, the adults go from group to group, so the tests bind one at least.
    Two places never count as one: fan and spray stand apart.

    Parameters: `other_places` >= 0, places besides the tests that need an adult of their own, such as hot glue.
    """
    tests = [t for t in station_tests(challenge) if needs_adult(t, section.band_low)]
    copies = station_copies(challenge, cols)
    at_stations = sum((copies[t.id] for t in tests), np.zeros(cols.n, np.int64))
    queued = cols.is_one_of("test_manner", "stations", "when_ready")
    needed = np.where(queued, at_stations, min(len(tests), 1)) + other_places
    bound = (queued & (at_stations > 0)) | (other_places > 0)
    tight = np.where(bound & (needed == section.adults), UNCERTAIN, CLEAR)
    return AdultsCheck(section.adults, needed, np.where(needed > section.adults, NOT_FEASIBLE, tight))


def adults_statement(check: AdultsCheck, i: int) -> Statement:
    """Version `i` in one sentence, with the numbers behind it."""
    needed = int(check.needed[i])
    there = _adults(check.there)
    numbers = {"needed": needed, "there": check.there, "short": int(check.short[i])}
    if needed == 0:
        return Statement("No test in use needs an adult of its own.", numbers)
    if check.verdict[i] == CLEAR:
        return Statement(
            f"While groups test, {_adults(needed)} must be at hand, and there {_is(check.there)}.", numbers
        )
    if check.verdict[i] == UNCERTAIN:
        return Statement(
            f"The places in use need {_adults(needed)} and there {_is(check.there)}, "
            "so nobody is free for the groups that wait.",
            numbers,
        )
    return Statement(f"The places in use need {_adults(needed)} at once, and this section has {there}.", numbers)


def adults_mend(challenge: Challenge, check: AdultsCheck, cols: Columns, i: int) -> list[str]:
    """What would help version `i`, practical first; empty where it is clear."""
    return [] if check.verdict[i] == CLEAR else challenge.mend_texts("adults", cols.levers, cols.row(i))


def _adults(count: int) -> str:
    return "one adult" if count == 1 else f"{count} adults"


def _is(count: int) -> str:
    return "is one" if count == 1 else f"are {count}"
