"""The refuge challenge, its levers and materials as the rule base has them, and sections to measure it for."""

from functools import cache
from pathlib import Path

import yaml

from rungwright.domain.challenge import Challenge
from rungwright.domain.lever import Lever
from rungwright.domain.material import Material
from rungwright.domain.section import Section
from rungwright.measure.columns import Columns, columns

RULES = Path(__file__).parents[2] / "rules"


def read(path: Path) -> dict:
    return yaml.safe_load(path.read_text(encoding="utf-8"))


def _folder(name: str, model: type) -> dict:
    return {p.stem: model(id=p.stem, **read(p)) for p in sorted((RULES / name).glob("*.yaml"))}


@cache
def levers() -> dict[str, Lever]:
    return _folder("levers", Lever)


@cache
def materials() -> dict[str, Material]:
    return _folder("materials", Material)


@cache
def challenge() -> Challenge:
    return Challenge(id="shelter", **read(RULES / "challenges" / "shelter.yaml"))


def section(grade: str = "04", *, students: int = 28, minutes: tuple[int, ...] = (50, 50), **more: object) -> Section:
    told = {"group_size": 3, "adults": 1, **more}
    sessions = [{"minutes": m} for m in minutes]
    return Section.model_validate(
        {"label": "a section", "grades": [grade], "students": students, "sessions": sessions, **told}
    )


def versions(of: Section, *changes: dict) -> Columns:
    """The band's preset with each of the changes; with none, the preset itself."""
    preset = challenge().presets[of.band]
    return columns(levers(), [{**preset, **change} for change in changes or ({},)])
