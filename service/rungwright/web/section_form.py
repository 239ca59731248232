"""A section as a form: from what is kept to fields, and back to a draft."""

from __future__ import annotations

import re
from dataclasses import dataclass

from starlette.datastructures import FormData

from rungwright.api.fields import validate
from rungwright.domain.grades import GRADE_CODES
from rungwright.domain.keeping import SectionDraft
from rungwright.domain.lever import LeverKind
from rungwright.domain.material import Material
from rungwright.domain.section import Section, Stock, Support
from rungwright.recommend.resolve import section_problems
from rungwright.rulebase import RuleBase
from rungwright.web.forms import Filled, at_fields, decimal, whole
from rungwright.web.saying import capital, number

USUAL, OWN = "usual", "own"
PACKAGING = "food_packaging"
"""What a material may bring along that is no allergen, but is excluded in the same way."""
SUPPORTS = {
    Support.FINE_MOTOR: "work with small things",
    Support.READING: "reading",
    Support.NEW_TO_LANGUAGE: "the language, being new to it",
    Support.MOBILITY: "moving about",
    Support.SENSORY: "noise, wet or touch",
    Support.ATTENTION: "keeping attention",
    Support.MAY_MOUTH_OBJECTS: "may put small things into the mouth",
}
MEASURED = {
    "stick_thickness_mm": ("Thickness of one stick", "mm"),
    "paper_thickness_mm": ("Thickness of one sheet of paper", "mm"),
    "friction": ("Friction on the tray", ""),
    "stroke_ml": ("One stroke of the sprayer", "ml"),
    "wind_m_s": ("Wind where the build stands", "m/s"),
    "weight_g": ("The test weight", "g"),
}
"""What may be measured, by its field in `domain.readings`: as a page asks for it, and its unit."""
ROLES = {
    "rigid_piece": "Stiff pieces",
    "half_rigid_piece": "Bendy pieces",
    "sheet": "Paper",
    "card": "Card",
    "board": "Board",
    "joiner_tape": "Tape",
    "joiner_cord": "String",
    "joiner_glue": "Glue",
    "joiner_putty": "Putty",
    "joiner_other": "Clips and pins",
    "cover": "Waterproof cover",
    "soft_sheet": "Cloth and soft sheets",
    "insulation": "Filling",
    "block": "Blocks and tubes",
    "ballast": "Weights",
}


@dataclass(frozen=True)
class PickedMaterial:
    """One line of a cupboard picker."""

    id: str
    label: str
    unit: str
    usual: str
    instead: str


@dataclass(frozen=True)
class Options:
    """What a form of a section offers."""

    grades: list[tuple[str, str]]
    materials: list[tuple[str, list[PickedMaterial]]]
    tools: list[tuple[str, str, str]]
    tests: list[tuple[str, str]]
    exclusions: list[tuple[str, str]]
    supports: list[tuple[str, str]]
    levers: list[tuple[str, str]]
    measured: list[tuple[str, str, str]]


def options(base: RuleBase) -> Options:
    tests = {t.id: t.label for c in base.challenges.values() for t in c.tests if t.stations}
    allergens = sorted({a for m in base.materials.values() for a in m.allergens} - {PACKAGING})
    return Options(
        grades=[(code, "K" if code == "KG" else code.lstrip("0")) for code in GRADE_CODES],
        materials=picker(base),
        tools=[(name, tool.label, tool.note or "") for name, tool in base.tools.items()],
        tests=[(name, capital(label)) for name, label in tests.items()],
        exclusions=[
            *((a, a) for a in allergens),
            (PACKAGING, "reused food packaging"),
            *((name, base.tools[name].label) for name in ("blades", "hot_glue", "stapler") if name in base.tools),
        ],
        levers=[(lever.id, lever.label) for lever in base.levers.values() if lever.kind != LeverKind.ACCESS],
        supports=[(support.value, words) for support, words in SUPPORTS.items()],
        measured=[(name, label, unit) for name, (label, unit) in MEASURED.items()],
    )


def picker(base: RuleBase) -> list[tuple[str, list[PickedMaterial]]]:
    """Materials by what they do, those that most challenges use first."""
    groups: dict[str, list[Material]] = {role: [] for role in ROLES}
    for material in base.materials.values():
        groups.setdefault(material.role, []).append(material)
    return [
        (ROLES.get(role, capital(role.replace("_", " "))), [_picked(m, base) for m in materials])
        for role, materials in groups.items()
        if materials
    ]


def _picked(material: Material, base: RuleBase) -> PickedMaterial:
    instead = ", ".join(base.materials[name].label for name in material.substitute[:2] if name in base.materials)
    return PickedMaterial(material.id, capital(material.label), unit_of(material), number(material.usual), instead)


def unit_of(material: Material) -> str:
    """In which a cupboard counts it, of several: `pieces`, `rolls`, `g`."""
    return material.unit if material.unit.endswith("s") or material.unit in ("g", "ml") else f"{material.unit}s"


def filled(section: Section, cupboard_id: str | None) -> Filled:
    """The form of a kept section."""
    pairs: list[tuple[str, str]] = [
        ("label", section.label),
        ("students", str(section.students)),
        ("group_size", str(section.group_size)),
        ("lessons", str(len(section.sessions))),
        ("adults", str(section.adults)),
    ]
    lengths = [str(session.minutes) for session in section.sessions]
    pairs += [("minutes", text) for text in (lengths if len(set(lengths)) > 1 else lengths[:1])]
    pairs += [("grade", grade) for grade in section.grades]
    source = f"cupboard:{cupboard_id}" if cupboard_id else USUAL if section.materials is None else OWN
    pairs += [("from", source), *material_fields(section.materials or ())]
    pairs += [("tools", USUAL if section.tools is None else OWN)]
    pairs += [("tool", tool) for tool in section.tools or ()]
    pairs += [(f"station.{s.test}", str(s.copies)) for s in section.stations or ()]
    pairs += [("without", name) for name in section.exclusions or ()]
    pairs += [("kept", lever) for lever in section.kept_levers or ()]
    pairs += [(f"need.{support.value}", str(n)) for support, n in (section.supports or {}).items()]
    if section.measured:
        kept = section.measured.model_dump(exclude_none=True)
        pairs += [(f"measured.{name}", _said(value)) for name, value in kept.items()]
    return Filled(FormData(pairs))


def _said(value: float | list[float]) -> str:
    return " to ".join(f"{reading:.10g}" for reading in (value if isinstance(value, list) else [value]))


def material_fields(materials: tuple[Stock, ...] | list[Stock]) -> list[tuple[str, str]]:
    return [(f"m.{stock.material}", f"{stock.quantity:.10g}") for stock in materials]


EMPTY = Filled(
    FormData(
        {
            "students": "24",
            "group_size": "3",
            "lessons": "1",
            "minutes": "60",
            "adults": "1",
            "from": USUAL,
            "tools": USUAL,
        }
    )
)


def read_materials(form: FormData) -> list[dict[str, object]]:
    """What is in a cupboard picker; a line that is empty is not there."""
    named = [(name.removeprefix("m."), str(value)) for name, value in form.items() if name.startswith("m.")]
    return [{"material": name, "quantity": decimal(value)} for name, value in named if value.strip()]


def read_measured(form: FormData) -> dict[str, object] | None:
    """One reading, or several with spaces or `to` between them; a field that is empty was not measured."""
    found: dict[str, object] = {}
    for name in MEASURED:
        if text := str(form.get(f"measured.{name}", "")).strip():
            readings = [decimal(part) for part in re.split(r"(?:\s+to\s+|[\s;–]+)", text)]
            found[name] = readings[0] if name == "weight_g" and len(readings) == 1 else readings
    return found or None


def read(form: FormData, base: RuleBase, *, archived: bool = False) -> tuple[SectionDraft | None, Filled]:
    """The draft, or None with what is wrong. Fields that are not shown, such as needs, are left as they are sent."""
    source = str(form.get("from", USUAL))
    # One number for all lessons, or one each where they differ.
    minutes = [whole(str(text)) for text in form.getlist("minutes")] or [""]
    lessons = whole(str(form.get("lessons", "1")))
    if len(minutes) == 1:
        minutes = minutes * lessons if isinstance(lessons, int) and 0 <= lessons <= 20 else []
    stations = {name.removeprefix("station."): str(v) for name, v in form.items() if name.startswith("station.")}
    needs = {name.removeprefix("need."): whole(str(v)) for name, v in form.items() if name.startswith("need.") and v}
    section = {
        "label": str(form.get("label", "")).strip(),
        "grades": form.getlist("grade"),
        "students": whole(str(form.get("students", ""))),
        "group_size": whole(str(form.get("group_size", ""))),
        "sessions": [{"minutes": length} for length in minutes],
        "adults": whole(str(form.get("adults", "1"))),
        "materials": read_materials(form) if source == OWN else None,
        "tools": form.getlist("tool") if form.get("tools") == OWN else None,
        "stations": [{"test": test, "copies": whole(text or "1")} for test, text in stations.items()]
        if any(text.strip() for text in stations.values())
        else None,
        "exclusions": form.getlist("without") or None,
        "supports": {name: n for name, n in needs.items() if n != 0} or None,
        "measured": read_measured(form),
        "kept_levers": form.getlist("kept") or None,
    }
    cupboard = source.removeprefix("cupboard:") if source.startswith("cupboard:") else None
    draft = validate(SectionDraft, {"section": section, "cupboard_id": cupboard, "archived": archived})
    problems = (
        draft if isinstance(draft, list) else list(section_problems(draft.section, base.challenges.values(), base))
    )
    if not problems:
        return draft, Filled(form)
    return None, Filled(form, at_fields(problems, _pointers(section)))


def _pointers(section: dict[str, object]) -> list[tuple[str, str]]:
    found = [(f"/section/measured/{name}", f"measured.{name}") for name in MEASURED]
    found += [(f"/section/materials/{i}/", f"m.{m['material']}") for i, m in enumerate(section["materials"] or ())]
    found += [(f"/section/stations/{i}/", f"station.{s['test']}") for i, s in enumerate(section["stations"] or ())]
    found += [(f"/section/supports/{name}", f"need.{name}") for name in section["supports"] or ()]
    found += [("/section/sessions/", "minutes"), ("/section/sessions", "lessons"), ("/section/grades", "grade")]
    found += [(f"/section/{name}", name) for name in ("label", "students", "group_size", "adults")]
    return [
        *found,
        ("/section/tools", "tools"),
        ("/section/exclusions", "without"),
        ("/section/kept_levers", "kept"),
        ("/cupboard_id", "from"),
    ]
