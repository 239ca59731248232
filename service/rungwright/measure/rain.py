"""Strokes of a sprayer as rain, and the waterproof cover against the roof.

Sources: 1 L/m2 is 1 mm; AMS Glossary of Meteorology, rain; Met Office, showers (second hand).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rungwright.domain.readings import Readings
from rungwright.domain.units import Units, area_cm2
from rungwright.measure.columns import Columns
from rungwright.measure.forms import sizes
from rungwright.measure.load import LoadCheck
from rungwright.measure.measured import stroke_of
from rungwright.measure.verdicts import CLEAR, UNCERTAIN, Statement

Array = NDArray[np.float64]

AMS_RAIN = ((2.5, "light"), (7.6, "moderate"), (np.inf, "heavy"))
UK_SHOWERS = ((2.0, "slight"), (10.0, "moderate"), (50.0, "heavy"), (np.inf, "violent"))
"""Upper end [mm/h], inclusive, and the word."""
SOAKING_ML = 20.0
"""Water on a roof from which bare paper soaks; starting guess."""


def rain_depth_mm(*, millilitres: float, area_mm2: float) -> float:
    """Depth on an area: 1 ml on 1000 mm2 is 1 mm. ValueError for negative water or no area."""
    if not (millilitres >= 0 and area_mm2 > 0):
        raise ValueError("millilitres must be 0 or more and area_mm2 above 0")
    return millilitres * 1000 / area_mm2


def rain_rate_mm_h(*, depth_mm: float, minutes: float) -> float:
    """Rate that gives a depth in some minutes above 0."""
    if not (depth_mm >= 0 and minutes > 0):
        raise ValueError("depth_mm must be 0 or more and minutes above 0")
    return depth_mm * 60 / minutes


def rain_word(rate_mm_h: float) -> str:
    """AMS word for a rate [mm/h]."""
    return next(word for top, word in AMS_RAIN if rate_mm_h <= top)


def shower_word(rate_mm_h: float) -> str:
    """Met Office word for a shower of a rate [mm/h]."""
    return next(word for top, word in UK_SHOWERS if rate_mm_h <= top)


@dataclass(frozen=True)
class RainCheck:
    """Arrays over n versions."""

    roof_cm2: Array
    """developed roof area with overlap"""
    cover_cm2: Array
    cover_ratio: Array
    strokes: Array
    catches_cm2: Array
    """roof area as the rain from above sees it"""
    paper_carries: NDArray[np.bool_]
    verdict: NDArray[np.int64]
    """clear where the cover is as large as the roof, else uncertain: slope and seams decide, and are not computed"""
    stroke_ml: tuple[float, float, float]
    """water in a stroke: low, middle, high"""
    stroke_measured: bool


def rain_check(cols: Columns, load: LoadCheck, measured: Readings | None = None) -> RainCheck:
    """The cover of every version against the roof of its form; the strokes as usual or as they were measured."""
    roof, catches = sizes().roof_cm2[load.form], sizes().catches_cm2[load.form]
    ratio = cols["cover_cm2"] / roof
    verdict = np.where(np.round(ratio, 6) >= 1, CLEAR, UNCERTAIN)
    return RainCheck(
        roof, cols["cover_cm2"], ratio, cols["rain_strokes"], catches, load.paper_carries, verdict,
        stroke_of(measured), bool(measured and measured.stroke_ml),
    )  # fmt: skip


def paper_carries_and_cover_small(cols: Columns, load: LoadCheck) -> NDArray[np.bool_]:
    """Where paper is the structure and the cover does not reach over the roof: the weight then goes before the rain."""
    return load.paper_carries & (rain_check(cols, load).cover_ratio < 1)


def rain_statement(check: RainCheck, i: int, *, units: Units = "metric") -> Statement:
    """Version `i` in one sentence, with the numbers behind it."""
    strokes, area = int(check.strokes[i]), float(check.catches_cm2[i]) * 100
    low, mid, high = (rain_depth_mm(millilitres=strokes * ml, area_mm2=area) for ml in check.stroke_ml)
    rate = rain_rate_mm_h(depth_mm=mid, minutes=1)
    given = area_cm2(float(check.cover_cm2[i]), units)
    if check.verdict[i] == CLEAR:
        cover = f"A cover of {given} reaches over the whole roof with its overlaps"
    elif check.cover_cm2[i] == 0:
        cover = "With no cover, slope and layers of paper have to shed the water"
        if check.paper_carries[i] and strokes * check.stroke_ml[1] >= SOAKING_ML:
            cover += ", and wet rolled paper may lose most of its strength"
    else:
        share = float(check.cover_ratio[i])
        part = "more than half" if share > 0.55 else "about half" if share > 0.45 else "less than half"
        cover = f"A cover of {given} reaches over {part} of the roof, so slope and seams decide"
    first, _, last = (f"{ml:.3g}" for ml in check.stroke_ml)
    each = (
        f" of {first if first == last else f'{first} to {last}'} ml, as you measured," if check.stroke_measured else ""
    )
    text = f"{cover}; {strokes} strokes{each} in a minute fall like a {shower_word(rate)} shower."
    numbers = {
        "cover_cm2": float(check.cover_cm2[i]),
        "roof_cm2": round(float(check.roof_cm2[i]), 1),
        "cover_ratio": round(float(check.cover_ratio[i]), 2),
        "strokes": strokes,
        "stroke_ml": check.stroke_ml[1],
        "depth_mm_low": round(low, 2),
        "depth_mm_high": round(high, 2),
        "rate_mm_h": round(rate, 1),
        "rain": rain_word(rate),
        "shower": shower_word(rate),
    }
    return Statement(text, numbers)
