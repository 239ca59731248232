"""Quantities as a teacher reads them: metric, US customary, or metric with US beside it."""

from __future__ import annotations

import math
from typing import Literal

Units = Literal["metric", "us", "both"]

_GRAMS_PER_OUNCE = 28.349523125
_MM_PER_INCH = 25.4
_MPH_PER_M_S = 3600 / 1609.344
_QUARTERS = ("", "¼", "½", "¾")


def _plain(x: float) -> str:
    """Whole, with a thousands comma from 10,000 on."""
    n = math.floor(x + 0.5)
    return f"{n:,}" if n >= 10_000 else str(n)


def _tenth(x: float) -> str:
    return f"{x:.1f}".removesuffix(".0")


def _quarters(inches: float) -> str:
    """To the nearest quarter, with a vulgar fraction; anything above nothing is at least a quarter."""
    n = math.floor(inches * 4 + 0.5)
    if n == 0 and inches > 0:
        n = 1
    whole, part = divmod(n, 4)
    return (str(whole) if whole or not part else "") + _QUARTERS[part]


def _said(metric: str, us: str, units: Units) -> str:
    return {"metric": metric, "us": us, "both": f"{metric} ({us})"}[units]


def mass(g: float, units: Units = "both") -> str:
    """`370 g (13 oz)`: whole grams from 10 g on; ounces whole above 3 oz, else one decimal. ValueError below 0."""
    _not_negative(g)
    ounces = g / _GRAMS_PER_OUNCE
    grams = _plain(g) if g >= 10 else _tenth(g)
    return _said(f"{grams} g", f"{_plain(ounces) if ounces > 3 else _tenth(ounces)} oz", units)


def length_mm(mm: float, units: Units = "both") -> str:
    """`70 mm (2¾ in)`: whole millimetres, quarter inches. ValueError below 0."""
    _not_negative(mm)
    return _said(f"{_plain(mm)} mm", f"{_quarters(mm / _MM_PER_INCH)} in", units)


def thickness_mm(low: float, high: float, units: Units = "both") -> str:
    """`1.85 to 1.95 mm (0.073 to 0.077 in)`: three figures, thousandths of an inch. ValueError below 0."""
    return _said(f"{_ends(low, high, '.3g')} mm", f"{_ends(low / _MM_PER_INCH, high / _MM_PER_INCH, '.3f')} in", units)


def speed_m_s(low: float, high: float, units: Units = "both") -> str:
    """`2.4 to 3.1 m/s (5.4 to 6.9 mph)`: one decimal. ValueError below 0."""
    return _said(
        f"{_ends(low, high, '.1f')} m/s", f"{_ends(low * _MPH_PER_M_S, high * _MPH_PER_M_S, '.1f')} mph", units
    )


def _ends(low: float, high: float, form: str) -> str:
    """Both ends of a range, or one where they are said alike."""
    _not_negative(low)
    _not_negative(high)
    first, last = f"{low:{form}}", f"{high:{form}}"
    return last if first == last else f"{first} to {last}"


def length_m(m: float, units: Units = "both") -> str:
    """`56 m (184 ft)`: one decimal under 10 m; whole feet. ValueError below 0."""
    _not_negative(m)
    return _said(f"{_plain(m) if m >= 10 else _tenth(m)} m", f"{_plain(m * 1000 / _MM_PER_INCH / 12)} ft", units)


def area_m2(m2: float, units: Units = "both") -> str:
    """`5.7 m² (61 sq ft)`: one decimal under 10 m²; whole square feet. ValueError below 0."""
    _not_negative(m2)
    feet = m2 * 1e6 / (_MM_PER_INCH * 12) ** 2
    return _said(f"{_plain(m2) if m2 >= 10 else _tenth(m2)} m²", f"{_plain(feet)} sq ft", units)


def length_cm(cm: float, units: Units = "both") -> str:
    """`30 cm (11¾ in)`: whole centimetres, one decimal under 10; quarter inches. ValueError below 0."""
    _not_negative(cm)
    return _said(f"{_plain(cm) if cm >= 10 else _tenth(cm)} cm", f"{_quarters(cm * 10 / _MM_PER_INCH)} in", units)


def area_cm2(cm2: float, units: Units = "both") -> str:
    """`450 cm² (70 sq in)`: whole numbers. ValueError below 0."""
    _not_negative(cm2)
    return _said(f"{_plain(cm2)} cm²", f"{_plain(cm2 * 100 / _MM_PER_INCH**2)} sq in", units)


def _not_negative(x: float) -> None:
    if not (math.isfinite(x) and x >= 0):
        raise ValueError(f"a quantity must be a finite number of 0 or more, not {x!r}")
