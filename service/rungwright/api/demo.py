"""Requests to try the service with, kept inside the package so that an installed one has them too."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

_FOLDER = Path(__file__).with_name("demos")


def demo_names() -> list[str]:
    return sorted(path.stem for path in _FOLDER.glob("*.json"))


def demo(name: str = "grade_4_harder") -> dict[str, Any]:
    """Raises KeyError where there is no such request."""
    if name not in demo_names():
        raise KeyError(name)
    return json.loads((_FOLDER / f"{name}.json").read_text(encoding="utf-8"))


def school_demo() -> list[dict[str, Any]]:
    """Requests of a whole invented school, one for each section, as a batch takes them."""
    return json.loads((_FOLDER / "school" / "school.json").read_text(encoding="utf-8"))


def ladder_demo(name: str) -> dict[str, Any]:
    """A request about ladders: draft, check, place, compare or merge."""
    if name == "draft":
        return {"challenge": "shelter", "grades": ["03", "05"]}
    ladder = json.loads((_FOLDER / "ladders" / "two_rungs.json").read_text(encoding="utf-8"))
    if name == "check":
        return {"ladder": ladder, "edits": [{"do": "rename", "rung": "r2", "name": "Weather from every side"}]}
    if name == "place":
        section = {
            "label": "Kestrel 4B",
            "grades": ["04"],
            "students": 27,
            "group_size": 3,
            "sessions": [{"minutes": 100}],
        }
        return {"ladder": ladder, "sections": [{"section": section, "now_on": "r1", "week": "2026-12-02"}]}
    renamed = {**ladder, "name": "Refuge in grade 4"}
    if name == "compare":
        return {"first": ladder, "second": renamed}
    return {"base": ladder, "first": renamed, "second": {**ladder, "first_run": "r1"}}
