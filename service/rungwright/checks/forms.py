"""Reference forms beside each other: which can do it with what the kit allows, and how many pieces each takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rungwright.checks.quantities import MASS
from rungwright.checks.result import FormOption, amount
from rungwright.domain.grades import Band
from rungwright.domain.units import Units
from rungwright.measure.constants import LEAST_TAPE_CM, WORKMANSHIP
from rungwright.measure.form import TAPE_SHARES, Form, capacity, capacity_with
from rungwright.measure.quantiles import Points, combined, material_points
from rungwright.measure.rafts import Raft, rafts
from rungwright.measure.structure import Structure, bears_g
from rungwright.measure.verdicts import VERDICTS, verdict_of

WET_PAPER = (0.1, 0.2, 0.3)
"""part of its dry strength that wet paper keeps: a loss of 70 to 90 % in under half an hour, BioResources 14(4) 8345"""


@dataclass(frozen=True)
class Kit:
    """What a group has."""

    sticks: int
    sheets: int
    tape_cm: float
    glue: bool = False


def shelter_bears(form: Form, m: Points, *, tape_cm: float, off_centre: bool) -> tuple[np.ndarray, str]:
    """As `structure.bears_g`, for a refuge: linear between the tabulated parts of its tape."""
    able = capacity(form) if m is material_points() else capacity_with(m, form)
    share = float(np.clip(tape_cm / form.tape_cm, TAPE_SHARES[0], 1.0))
    grams = [np.interp(share, TAPE_SHARES, able.grams[:, int(off_centre), q]) for q in range(3)]
    return np.array(grams), able.fails_first(share, off_centre=off_centre)


def shelter_option(
    form: Form, m: Points, kit: Kit, *, band: Band, mass_g: float, off_centre: bool, wet: bool, units: Units
) -> FormOption:
    grams, first = shelter_bears(form, m, tape_cm=kit.tape_cm, off_centre=off_centre)
    return _option(
        form.id, form.label, grams, first, kit, sticks=form.rigid, sheets=form.sheets, tape_cm=form.tape_cm, glue=False,
        paper=form.paper_carries, band=band, mass_g=mass_g, wet=wet, units=units,
    )  # fmt: skip


def structure_option(
    structure: Structure, m: Points, kit: Kit, *, band: Band, mass_g: float, off_centre: bool, wet: bool, units: Units
) -> FormOption:
    grams, first = bears_g(structure, m, tape_cm=kit.tape_cm, off_centre=off_centre)
    return _option(
        structure.id, structure.label, grams, first, kit, sticks=structure.sticks, sheets=structure.sheets,
        tape_cm=structure.tape_cm, glue=structure.glue, paper=structure.soft_only, band=band, mass_g=mass_g, wet=wet,
        units=units,
    )  # fmt: skip


def _option(
    name: str, label: str, grams: np.ndarray, first: str, kit: Kit, *, sticks: int, sheets: int, tape_cm: float,
    glue: bool, paper: bool, band: Band, mass_g: float, wet: bool, units: Units,
) -> FormOption:  # fmt: skip
    work = WORKMANSHIP[band]
    low, mid, high = grams
    # What a build of this band bears: the material's range and its workmanship, and wet paper, together.
    kept = WET_PAPER if wet and paper else (1.0, 1.0, 1.0)
    middle = mid * work.mid * kept[1]
    bears = np.array(
        [
            combined(middle, low / mid, work.low / work.mid, kept[0] / kept[1]),
            middle,
            combined(middle, high / mid, work.high / work.mid, kept[2] / kept[1]),
        ]
    )
    return FormOption(
        id=name,
        label=label,
        verdict=VERDICTS[int(verdict_of(bears[0] / mass_g, bears[2] / mass_g))],
        bears=amount("bears", "a build of this band bears", bears, MASS, units),
        fails_first=first,
        sticks=sticks,
        sheets=sheets,
        straws=0,
        tape_cm=tape_cm,
        glue=glue,
        soft_only=sticks == 0 and not glue,
        lacks=_lacks(kit, sticks=sticks, sheets=sheets, glue=glue),
    )


def _lacks(kit: Kit, *, sticks: int, sheets: int, glue: bool) -> list[str]:
    """With little tape a build is weaker, which its strength says; with next to none it is not made."""
    lacks = []
    if sticks > kit.sticks:
        lacks.append(_counted(sticks - kit.sticks, "stick"))
    if sheets > kit.sheets:
        lacks.append(_counted(sheets - kit.sheets, "sheet"))
    if kit.tape_cm < LEAST_TAPE_CM:
        lacks.append("tape")
    if glue and not kit.glue:
        lacks.append("white glue and a night to dry")
    return lacks


def _counted(count: int, noun: str) -> str:
    return f"{count} more {noun}" + ("" if count == 1 else "s")


def surest_first(options: Sequence[FormOption]) -> list[FormOption]:
    """Those that the kit makes, by the low end of what they bear; then those for which it lacks something."""
    return sorted(options, key=lambda o: (bool(o.lacks), -o.bears.low, o.id))


def raft_options(*, cargo_g: float, sticks: int, straws: int, cover_cm2: float, units: Units) -> list[FormOption]:
    """Forms of a raft that use this kit up."""
    return surest_first([_raft(r, cargo_g, units) for r in rafts(sticks=sticks, straws=straws, cover_cm2=cover_cm2)])


def _raft(raft: Raft, cargo_g: float, units: Units) -> FormOption:
    low, _, high = raft.bears_g
    return FormOption(
        id=raft.id,
        label=raft.label,
        verdict=VERDICTS[int(verdict_of(np.float64(low / cargo_g), np.float64(high / cargo_g)))],
        bears=amount("bears", "cargo it bears, set in the middle", np.array(raft.bears_g), MASS, units),
        fails_first=raft.fails_first,
        sticks=raft.sticks,
        sheets=0,
        straws=raft.straws,
        tape_cm=raft.tape_cm,
        glue=False,
        soft_only=raft.sticks == 0 and raft.straws == 0,
        lacks=[],
    )
