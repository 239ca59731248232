"""Reference forms beside each other: which can do it with what the kit allows, and how many pieces each takes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from rungwright.checks.making import how_to_make
from rungwright.checks.quantities import MASS
from rungwright.checks.result import FormOption, amount
from rungwright.domain.build import Build
from rungwright.domain.grades import Band
from rungwright.domain.recommendation import Verdict
from rungwright.domain.units import Units
from rungwright.measure.constants import LEAST_TAPE_CM, WORKMANSHIP
from rungwright.measure.form import Form, capacity
from rungwright.measure.quantiles import Materials, Points, combined
from rungwright.measure.rafts import Raft, rafts
from rungwright.measure.rest import ITEMS
from rungwright.measure.structure import Structure, bears_g
from rungwright.measure.verdicts import VERDICTS, verdict_of

WET_PAPER = (0.1, 0.2, 0.3)
"""part of its dry strength that wet paper keeps: a loss of 70 to 90 % in under half an hour, BioResources 14(4) 8345"""

MOST_FORMS, MOST_LACKING = 4, 2
"""Forms that are listed unasked: made of the kit, and beyond it."""


@dataclass(frozen=True)
class Kit:
    """What a group has."""

    sticks: int
    sheets: int
    tape_cm: float
    glue: bool = False


@dataclass(frozen=True)
class Candidate:
    """A form, and what an ideally made one of this kit's tape bears [g] (5 %, 50 %, 95 %) before it first fails."""

    id: str
    label: str
    grams: np.ndarray
    fails_first: str
    sticks: int
    sheets: int
    tape_cm: float
    glue: bool
    paper_carries: bool
    unfit: str | None = None
    """what it has not, however much is in the kit"""
    refuge: Form | None = None

    @property
    def soft_only(self) -> bool:
        return self.sticks == 0 and not self.glue


def shelter(form: Form, materials: Materials, *, tape_cm: float, off_centre: bool, item: str) -> Candidate:
    """A refuge; linear between the tabulated parts of its tape. Only a bag rests on a ridge, see `rest`."""
    able = capacity(form, materials)
    share = tape_cm / form.tape_cm
    grams, first = (find(share, off_centre=off_centre) for find in (able.at, able.fails_first))
    unfit = None if form.flat_roof or ITEMS[item].drapes else f"a flat place for a {item}"
    return Candidate(
        form.id, form.label, grams, first, form.rigid, form.sheets, form.tape_cm, False, form.paper_carries, unfit,
        form,
    )  # fmt: skip


def structure(of: Structure, m: Points, *, tape_cm: float, off_centre: bool) -> Candidate:
    """A bridge or a tower."""
    grams, first = bears_g(of, m, tape_cm=tape_cm, off_centre=off_centre)
    return Candidate(of.id, of.label, grams, first, of.sticks, of.sheets, of.tape_cm, of.glue, of.soft_only)


@dataclass(frozen=True)
class Rated:
    """A candidate against the weight: what a build of a band bears of it [g] (5 %, 50 %, 95 %), and what it lacks."""

    candidate: Candidate
    bears: np.ndarray
    verdict: Verdict
    lacks: list[str]


def rated(candidates: Sequence[Candidate], kit: Kit, *, band: Band, mass_g: float, wet: bool) -> list[Rated]:
    """Those that the kit makes, by the low end of what they bear; then those for which it lacks something."""
    if not candidates:
        return []
    bears = _by_a_band(candidates, band, wet)
    verdicts = verdict_of(bears[:, 0] / mass_g, bears[:, 2] / mass_g)
    found = [
        Rated(c, row, VERDICTS[verdict], _lacks(kit, c))
        for c, row, verdict in zip(candidates, bears, verdicts, strict=True)
    ]
    return sorted(found, key=lambda r: (bool(r.lacks), -r.bears[0], r.candidate.id))


def best_few(of: Sequence[Rated], *named: Rated | None) -> list[Rated]:
    """The surest that the kit makes, a few that it nearly makes, and those that are named; in their order."""
    could = [r for r in of if r.verdict != Verdict.NOT_FEASIBLE]
    chosen = [r for r in could if not r.lacks][:MOST_FORMS] + [r for r in could if r.lacks][:MOST_LACKING]
    chosen += [r for r in named if r is not None]
    kept = {id(r) for r in chosen} or {id(r) for r in of[:1]}
    return [r for r in of if id(r) in kept]


def option(of: Rated, units: Units, build: Callable[[Form], Build]) -> FormOption:
    """As it is told; `build` gives the sizes of a refuge."""
    c = of.candidate
    return FormOption(
        id=c.id,
        label=c.label,
        verdict=of.verdict,
        bears=amount("bears", "a build of this band bears", of.bears, MASS, units),
        fails_first=c.fails_first,
        how=how_to_make(c.id),
        sticks=c.sticks,
        sheets=c.sheets,
        straws=0,
        tape_cm=c.tape_cm,
        glue=c.glue,
        soft_only=c.soft_only,
        lacks=of.lacks,
        build=build(c.refuge) if c.refuge else None,
    )


def _by_a_band(candidates: Sequence[Candidate], band: Band, wet: bool) -> np.ndarray:
    """(candidates, 3): the range of the materials, the workmanship of the band and wet paper, together."""
    low, mid, high = np.stack([c.grams for c in candidates], axis=1)
    paper = wet & np.array([c.paper_carries for c in candidates])
    kept = [np.where(paper, part, 1.0) for part in WET_PAPER]
    work = WORKMANSHIP[band]
    middle = mid * work.mid * kept[1]
    least = combined(middle, low / mid, work.low / work.mid, kept[0] / kept[1])
    most = combined(middle, high / mid, work.high / work.mid, kept[2] / kept[1])
    return np.stack([least, middle, most], axis=1)


def _lacks(kit: Kit, candidate: Candidate) -> list[str]:
    """With little tape a build is weaker, which its strength says; with next to none it is not made."""
    lacks = [candidate.unfit] if candidate.unfit else []
    if candidate.sticks > kit.sticks:
        lacks.append(_counted(candidate.sticks - kit.sticks, "stick"))
    if candidate.sheets > kit.sheets:
        lacks.append(_counted(candidate.sheets - kit.sheets, "sheet"))
    if kit.tape_cm < LEAST_TAPE_CM:
        lacks.append("tape")
    if candidate.glue and not kit.glue:
        lacks.append("white glue and a night to dry")
    return lacks


def _counted(count: int, noun: str) -> str:
    return f"{count} more {noun}" + ("" if count == 1 else "s")


def raft_options(*, cargo_g: float, sticks: int, straws: int, cover_cm2: float, units: Units) -> list[FormOption]:
    """Forms of a raft that use this kit up, the surest first."""
    made = [_raft(r, cargo_g, units) for r in rafts(sticks=sticks, straws=straws, cover_cm2=cover_cm2)]
    return sorted(made, key=lambda o: (-o.bears.low, o.id))


def _raft(raft: Raft, cargo_g: float, units: Units) -> FormOption:
    low, _, high = raft.bears_g
    return FormOption(
        id=raft.id,
        label=f"{raft.label}, {raft.length_mm:.0f} x {raft.width_mm:.0f} mm",
        verdict=VERDICTS[int(verdict_of(np.float64(low / cargo_g), np.float64(high / cargo_g)))],
        bears=amount("bears", "cargo it bears, set in the middle", np.array(raft.bears_g), MASS, units),
        fails_first=raft.fails_first,
        how=how_to_make(raft.id),
        sticks=raft.sticks,
        sheets=0,
        straws=raft.straws,
        tape_cm=raft.tape_cm,
        glue=False,
        soft_only=raft.sticks == 0 and raft.straws == 0,
        lacks=[],
        build=None,
    )
