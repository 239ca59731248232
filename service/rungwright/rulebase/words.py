"""How a setting, a fact and a name are said to a teacher."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rungwright.domain import units as u
from rungwright.domain.lever import Lever, setting_key
from rungwright.domain.strict import Setting


def number(value: float) -> str:
    """Whole numbers plain, others with one decimal."""
    return str(int(value)) if float(value).is_integer() else f"{value:.1f}"


def counted(value: float, one: str, many: str | None = None) -> str:
    """`1 group`, `9 groups`; `many` where it is not `one` with an s."""
    return f"{number(value)} {one if value == 1 else many or one + 's'}"


def quantity(value: float, kind: str, units: u.Units) -> str:
    """A number of a lever's quantity or a fact's unit."""
    if kind in ("mass_g", "g"):
        return u.mass(value, units)
    if kind in ("length_cm", "cm"):
        return u.length_cm(value, units)
    if kind in ("length_mm", "mm"):
        return u.length_mm(value, units)
    if kind in ("area_cm2", "cm2"):
        return u.area_cm2(value, units)
    if kind in ("minutes", "seconds"):
        if value == 0:
            return f"no {kind}"
        return counted(value, kind[:-1], kind)
    if kind == "times":
        return f"{value:.1f} times"
    return number(value)


def say_setting(lever: Lever, value: Setting, units: u.Units = "both") -> str:
    """`12 craft sticks`, `370 g (13 oz)`, `a marked place`."""
    if lever.type != "number":
        return (lever.words or {})[setting_key(value)]
    if lever.quantity == "count":
        if value == 0:
            return f"no {lever.many}"
        return counted(value, lever.one or "", lever.many or "")
    if value == 0 and lever.quantity != "minutes":
        return "none"
    return quantity(value, lever.quantity or "count", units)


def say_word(value: Any, names: Mapping[str, str]) -> str:
    """A word of a fact: the label of a criterion, test, material or finding where there is one."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return names.get(str(value), str(value).replace("_", " "))
