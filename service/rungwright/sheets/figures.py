"""Figures to cut out at true scale, as many as the setting asks, with a bar to check the printer by."""

from __future__ import annotations

import math

from rungwright.domain.units import length_mm
from rungwright.sheets.bands import points
from rungwright.sheets.blocks import Block, Cutouts, Line, Lines, Ruler, Sheet
from rungwright.sheets.drawings import POSES, figure
from rungwright.sheets.paper import Paper
from rungwright.sheets.speech import Speech

CHECK_BAR_MM = 100.0
_GAP_MM = 2.0
_HEAD_MM = 66.0  # title, how to print and fold, check bar, foot of the page
_LARGE_HEAD_MM = 130.0


def figures(speech: Speech, *, large: bool, paper: Paper) -> Sheet | None:
    """None where the challenge has no figures. A page holds whole sets of one group, so that it is cut once."""
    wanted = speech.answer.kit.figures
    if wanted is None:
        return None
    tall = wanted.height_mm + (wanted.base_mm or 0) / 2
    columns = int((paper.width - 2 * paper.margin + _GAP_MM) // (wanted.width_mm + _GAP_MM))
    rows = max(1, int((paper.height - 2 * paper.margin - (_LARGE_HEAD_MM if large else _HEAD_MM)) // (tall + _GAP_MM)))
    sets_here = max(1, columns * rows // wanted.each_group)
    groups = speech.answer.section.groups
    copies = math.ceil(groups * wanted.sets / sets_here)
    here = sets_here * wanted.each_group
    label, said = speech.label, []
    total = groups * wanted.sets * wanted.each_group
    said.append(("copies", label("copies_one", total=total) if copies == 1 else label("copies", n=copies, total=total)))
    if wanted.sets > 1:
        said.append(("sets", label("two_sets")))
    said.append(("true", label("print_true")))
    foot = {"base_given": "fold", "lying": "lying"}.get(wanted.standing, "no_base")
    said.append((foot, label(foot)))
    said.append(("scale", label("scale", scale=round(wanted.scale), age=round(wanted.age_years))))
    bar = speech.quantity(CHECK_BAR_MM, "length_mm")
    blocks: list[Block] = [
        Lines(lines=[Line(id=f"figures/{name}", text=text or "") for name, text in said]),
        Ruler(length=CHECK_BAR_MM, text=label("check_bar", length=bar) or "", alt=length_mm(CHECK_BAR_MM, "metric")),
        Cutouts(
            svgs=[
                figure(
                    (i % wanted.each_group + i // wanted.each_group) % POSES,
                    story=speech.story,
                    height=wanted.height_mm,
                    width=wanted.width_mm,
                    foot=wanted.base_mm,
                )
                for i in range(here)
            ],
            alt=f"{here} {speech.told.figures}",
            width=wanted.width_mm,
            height=tall,
            columns=columns,
        ),
    ]
    return Sheet(
        name="figures",
        language=speech.language,
        title=label("figures") or "",
        section=speech.answer.section.label,
        blanks=[],
        points=min(points(speech.band, large=large), 18 if large else 11),
        blocks=blocks,
    )
