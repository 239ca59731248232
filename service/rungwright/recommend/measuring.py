"""Everything that is computed for settings, many at once: checks, difficulty, expected share, demand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.build import Build
from rungwright.domain.recommendation import CheckResult
from rungwright.domain.strict import Setting
from rungwright.measure.adults import adults_check, adults_mend, adults_statement
from rungwright.measure.build import BuildChecks
from rungwright.measure.columns import Columns, minutes_of, only_rows
from rungwright.measure.figures import room_statement
from rungwright.measure.forms import forms
from rungwright.measure.kit import kit_check, kit_mend, kit_statement
from rungwright.measure.load import LoadCheck, load_statement
from rungwright.measure.phases import WORK_SHARES
from rungwright.measure.rain import paper_carries_and_cover_small, rain_statement
from rungwright.measure.shape import build_of_settings
from rungwright.measure.time import people_mend, time_check, time_mend, time_statement
from rungwright.measure.verdicts import NOT_FEASIBLE, VERDICTS, Statement
from rungwright.measure.wind import wind_statement
from rungwright.readiness.outcome import Expected, Versions, demand, expected, share_all
from rungwright.recommend.model import Model, checks_of, parts_of, versions_of
from rungwright.recommend.resolve import Case

FEW_HELD = 0.5
"""Part of the builds up to which last time's count is told beside what a careful build could bear; agreed here."""
HARD = ("load", "room", "time", "kit", "adults")
"""Checks that a proposal may not newly fail; wind and rain are told, and act through the difficulty."""


@dataclass(frozen=True)
class Measured:
    """Checks and expectations of n versions of the settings; every array is over the versions."""

    case: Case
    model: Model
    cols: Columns
    build: BuildChecks
    checks: Mapping[str, object]
    """check -> its arrays, see `rungwright.measure`; all checks of one version are of the same form"""
    order_paper: NDArray[np.bool_]
    moved: NDArray[np.float64]
    """(versions, weights): what each weight of the difficulty added beyond the preset [logit]"""
    versions: Versions

    def only(self, rows: Sequence[int]) -> Measured:
        """These versions, in this order."""
        over = ("cols", "build", "checks", "order_paper", "moved", "versions")
        return replace(self, **{name: only_rows(getattr(self, name), rows) for name in over})

    @cached_property
    def share(self) -> NDArray[np.float64]:
        """Expected share of groups that meet every criterion by the end: the mean over what the class may be like."""
        return share_all(self.case.prior, self.model.ready, self.versions)

    @cached_property
    def demand(self) -> NDArray[np.float64]:
        return demand(self.case.prior, self.versions)

    @cached_property
    def middle_share(self) -> NDArray[np.float64]:
        """The share for a class in the middle of what it may be like: as likely passed as missed.

        What is not known pulls the expected share toward a half. A lesson pitched by that mean lands too easy.
        """
        return share_all(self.case.prior, self.model.ready.middle, self.versions)

    @cached_property
    def preparation_minutes(self) -> NDArray[np.float64]:
        return minutes_of(self.cols, "preparation_minutes")

    @property
    def pieces(self) -> NDArray[np.float64]:
        """Pieces and sheets to count out for a group: a tie-break for the teacher's sake."""
        return self.cols["rigid_pieces"] + self.cols["sheets"]

    def verdict(self, check: str, i: int) -> int:
        return int(self.checks[check].verdict[i])

    def worse_than(self, before: Measured, at: int = 0) -> dict[str, NDArray[np.bool_]]:
        """Hard check -> where a version newly fails it, or fails it by more than `before` did at version `at`."""
        worse = {}
        for name in HARD:
            fails = self.checks[name].verdict == NOT_FEASIBLE
            if fails.any() and before.checks[name].verdict[at] == NOT_FEASIBLE:
                fails &= _shortfall(self, name) > _shortfall(before, name)[at] + 1e-6
            worse[name] = fails
        return worse

    def any_worse_than(self, before: Measured, at: int = 0) -> NDArray[np.bool_]:
        return np.logical_or.reduce(list(self.worse_than(before, at).values()))

    def better_than(self, before: Measured, i: int = 0, at: int = 0) -> bool:
        """Whether some hard check that was not clear got a better verdict or lacks less."""
        return any(
            before.checks[name].verdict[at] > 0
            and (
                self.checks[name].verdict[i] < before.checks[name].verdict[at]
                or _shortfall(self, name)[i] < _shortfall(before, name)[at] - 1e-6
            )
            for name in HARD
        )

    def expected(self, i: int = 0) -> Expected:
        """Shares, their ranges and counts of version `i`."""
        spread = self.case.difficulty.spread(self.moved)[i]
        prior, groups = self.case.prior, self.case.section.groups
        return expected(prior, self.model.ready, self.versions, i, groups, spread, float(self.share[i]))

    def drawn(self, i: int = 0) -> Build | None:
        """The form that every check of version `i` looks at; None where the kit makes none."""
        load: LoadCheck = self.checks["load"]
        if not load.can_be_made[i]:
            return None
        form, height = forms()[load.form[i]], self.case.challenge.figure_height_mm
        settings, off = self.cols.row(i), bool(load.off_centre[i])
        return build_of_settings(form, settings, figure_height_mm=height, off_centre=off)

    def results(self, i: int = 0) -> list[CheckResult]:
        """Every check of version `i`, as an answer tells it."""
        return [self._result(check, i) for check in self.checks]

    def _trimmed(self, i: int) -> bool:
        """Whether groups have less time to work than is usual."""
        row, usual = self.cols.row(i), self.case.preset
        return any(row[name] < usual[name] for name in WORK_SHARES if name in usual)

    def _result(self, check: str, i: int) -> CheckResult:
        said, verdict = self.statement(check, i), VERDICTS[self.verdict(check, i)]
        return CheckResult(kind=check, verdict=verdict, text=said.text, numbers=said.numbers, mend=self.mend(check, i))

    def statement(self, check: str, i: int) -> Statement:
        """One sentence and the numbers behind it."""
        units, arrays = self.case.request.units.value, self.checks
        if check == "load":
            said = load_statement(arrays["load"], i, units=units)
            return replace(said, text=said.text + self._held_last_time())
        if check == "wind":
            return wind_statement(arrays["wind"], arrays["load"], i, units=units)
        if check == "rain":
            return rain_statement(arrays["rain"], i, units=units)
        if check == "room":
            return room_statement(arrays["room"], arrays["load"], i, units=units)
        if check == "time":
            return time_statement(arrays["time"], i)
        if check == "kit":
            return kit_statement(self.case.challenge, self.case.base.materials, arrays["kit"], i)
        return adults_statement(arrays["adults"], i)

    def _held_last_time(self) -> str:
        """What could be beside what was, where they are far apart."""
        runs = self.case.own_runs
        first, end = runs[-1].tallies().get("load", (None, None)) if runs else (None, None)
        last = end or first
        if last is None or not last.of or last.met > FEW_HELD * last.of:
            return ""
        return f" Last time {last.met} of {last.of} builds held."

    def mend(self, check: str, i: int) -> list[str]:
        """What would help, practical first; empty where the check is clear and nothing was cut to make it so."""
        if self.verdict(check, i) == 0 and not (check == "time" and self._trimmed(i)):
            return []
        if check == "time":
            told = self.case.challenge, self.case.section, self.checks["time"], self.cols, i
            paper = bool(self.order_paper[i])
            return [*people_mend(*told, order_paper=paper), *time_mend(*told, order_paper=paper)]
        if check == "kit":
            return kit_mend(self.case.challenge, self.checks["kit"], self.cols, i)
        if check == "adults":
            return adults_mend(self.case.challenge, self.checks["adults"], self.cols, i)
        return self.case.challenge.mend_texts(check, self.case.levers, self.cols.row(i))


def _shortfall(measured: Measured, check: str) -> NDArray[np.float64]:
    """How much a check lacks; larger is worse."""
    arrays = measured.checks[check]
    if check == "load":
        return -arrays.margin_mid
    if check == "room":
        return -arrays.spare.astype(float)
    if check == "time":
        return -np.minimum(arrays.spare, 0) + np.maximum(arrays.build_at_least - arrays.build, 0)
    if check == "kit":
        return sum(arrays.short.values())
    return arrays.short.astype(float)


def measure(
    case: Case, model: Model, base: Mapping[str, Setting], changes: Sequence[Mapping[str, Setting]]
) -> Measured:
    """Measure a version for each of the changes of `base`, which has a value for every lever of the case."""
    return measure_columns(case, model, Columns(case.levers, base, changes))


def measure_columns(case: Case, model: Model, cols: Columns) -> Measured:
    challenge, section = case.challenge, case.section
    build = checks_of(case, cols)
    order_paper = paper_carries_and_cover_small(cols, build.load)
    checks = {
        **vars(build),
        "time": time_check(challenge, section, cols, order_paper, set_aside=case.set_aside),
        "kit": kit_check(challenge, section, case.stock, cols),
        "adults": adults_check(challenge, section, cols),
    }
    moved = parts_of(case, cols, build) - model.zero
    return Measured(case, model, cols, build, checks, order_paper, moved, versions_of(case, cols, moved))
