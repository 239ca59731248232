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
