"""From a check of an answer to the page of that check by itself, filled in with what the answer has."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rungwright.domain.challenge import Challenge
from rungwright.domain.recommendation import Recommendation
from rungwright.measure.form import HEIGHT_MM, Form
from rungwright.measure.forms import forms
from rungwright.web.check_pages import check_address

FAMILIES = ("shelter", "span", "tower")
"""that the check of the load knows"""


def by_itself(kind: str, plan: Recommendation, challenge: Challenge) -> str:
    """The address; empty where no page works this check out."""
    if kind == "load" and challenge.family in FAMILIES:
        return check_address("load", _load(plan, challenge))
    form = _form(plan)
    if kind == "wind":
        return check_address("wind", _wind(plan, form))
    if kind == "rain":
        return check_address("rain", _rain(plan, form))
    if kind == "room" and form is not None:
        return check_address("figures", _figures(plan, challenge, form))
    return ""


def _form(plan: Recommendation) -> Form | None:
    named = next((check.numbers.get("form") for check in plan.after.checks if check.kind == "load"), None)
    return next((form for form in forms() if form.id == named), None)


def _load(plan: Recommendation, challenge: Challenge) -> dict[str, Any]:
    s = plan.after.settings
    return {
        "mass": f"{s['load_mass_g']:g} g",
        "family": challenge.family,
        "band": plan.section.band,
        "sticks": s.get("rigid_pieces"),
        "sheets": s.get("sheets"),
        "tape": _told(s.get("joiner_length_cm"), "cm"),
        "spots": s.get("load_positions"),
        "place": s.get("load_place"),
        "item": s.get("load_item"),
        "figures": s.get("figure_count"),
        "room": s.get("room_each"),
        "figure_height": f"{challenge.figure_height_mm:g} mm",
    }


def _wind(plan: Recommendation, form: Form | None) -> dict[str, Any]:
    """The build as the answer weighed it, on the face that it took; friction and fan where they were measured."""
    numbers = next((check.numbers for check in plan.after.checks if check.kind == "wind"), {})
    return {
        "mass": _told(numbers.get("build_g"), "g"),
        **_size(form),
        "height": f"{HEIGHT_MM:g} mm" if form else None,
        "speed": _between(numbers, "wind_m_s_low", "wind_m_s_high", " m/s"),
        "friction": _between(numbers, "friction_low", "friction_high"),
    }


def _rain(plan: Recommendation, form: Form | None) -> dict[str, Any]:
    s = plan.after.settings
    return {"strokes": s.get("rain_strokes"), "cover": _told(s.get("cover_cm2"), "cm2"), **_size(form)}


def _size(form: Form | None) -> dict[str, str]:
    floor = form and form.floor
    return {"width": f"{floor.outer_width:g} mm", "depth": f"{floor.outer_depth:g} mm"} if floor else {}


def _figures(plan: Recommendation, challenge: Challenge, form: Form) -> dict[str, Any]:
    s = plan.after.settings
    room = str(s.get("room_each"))
    square = {"square": f"{room.removeprefix('own_').removesuffix('mm')} mm"} if room != "lying" else {}
    return {
        "figures": s.get("figure_count"),
        "width": f"{form.width:g} mm",
        "depth": f"{form.depth:g} mm",
        "headroom": f"{form.headroom:g} mm",
        "roof": "flat" if form.flat_roof else "ridge",
        "room": "lying" if room == "lying" else "square",
        **square,
        "figure_height": f"{challenge.figure_height_mm:g} mm",
    }


def _told(value: object, unit: str) -> str | None:
    return None if value is None else f"{value:g} {unit}"


def _between(numbers: Mapping[str, object], low: str, high: str, unit: str = "") -> str | None:
    return None if numbers.get(low) is None else f"{numbers[low]:g} to {numbers[high]:g}{unit}"
