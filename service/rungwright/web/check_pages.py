"""Each check and calibration by itself, as a form made of its own signature; what was asked stands in the address."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar
from urllib.parse import urlencode

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.api.fields import validate
from rungwright.api.problems import no_such
from rungwright.checks.kinds import CALIBRATIONS, CHECKS, Kind
from rungwright.checks.result import Amount, Calibrated, Checked, FormOption, InputError
from rungwright.domain.lever import Lever, setting_key
from rungwright.domain.strict import Strict
from rungwright.measure.rafts import rafts
from rungwright.recommend.problem import FieldProblem
from rungwright.recommend.wording import listed
from rungwright.rulebase import RuleBase
from rungwright.rulebase.words import say_setting
from rungwright.web.desk import Desk, View
from rungwright.web.drawing import Drawing
from rungwright.web.form_drawing import raft_drawing, shelter_drawing, span_drawing, tower_drawing
from rungwright.web.forms import Filled, at_fields
from rungwright.web.saying import capital

TITLES = {
    "load": "Weight on the roof", "wind": "Wind", "rain": "Rain", "snow": "Snow", "figures": "Figures",
    "float": "Afloat", "drop": "Drop", "heat": "Keeping warm", "rest": "Where the weight rests",
    "member": "One stick, tube or fold", "friction": "Friction by tilting", "sprayer": "A sprayer’s stroke",
    "fan": "A fan’s wind", "stick": "A stick’s thickness", "weight": "A can’s or bottle’s mass",
}  # fmt: skip
"""Any other goes by its name."""
SAID_BY_LEVER = {"place": "load_place", "item": "load_item", "room": "room_each"}
"""Inputs whose words a lever says."""
STATUS = {
    "found": "as published",
    "second_hand": "second hand",
    "from_memory": "from memory",
    "derived": "derived here",
    "starting_guess": "a starting guess",
    "common_practice": "common practice, no source",
}
MOST_FORMS = 8
MOST_TEXT = 2000


@dataclass(frozen=True)
class FieldView:
    """One input. `choices` are its words where it has a closed set; `rows` where it takes several lines."""

    name: str
    label: str
    hint: str
    required: bool
    choices: list[tuple[str, str]]
    rows: int
    whole: bool


@dataclass(frozen=True)
class FormLine:
    label: str
    verdict: str
    word: str
    text: str
    how: str
    lacks: list[str]
    drawing: Drawing | None


@dataclass(frozen=True)
class WorkedOut:
    """An answer as its page shows it."""

    verdict: str
    word: str
    text: str
    numbers: list[tuple[str, str]]
    forms: list[FormLine]
    more_forms: int
    mend: list[str]
    use: list[tuple[str, str]]
    """address and words of where a measured value goes"""
    inputs: list[tuple[str, str, bool]]
    care: list[str]
    not_covered: list[str]
    sources: list[str]


@dataclass(frozen=True)
class ChecksPage(View):
    template: ClassVar[str] = "checks.html"
    checks: list[tuple[str, str, str]]
    """address, title, what it answers"""
    calibrations: list[tuple[str, str, str]]


@dataclass(frozen=True)
class CheckPage(View):
    template: ClassVar[str] = "check.html"
    address: str
    title: str
    summary: str
    main: list[FieldView]
    further: list[FieldView]
    form: Filled
    example: str
    answer: WorkedOut | None
    measured: bool
    """whether it turns a measurement into a value"""

    @property
    def labels(self) -> dict[str, str]:
        """Field -> its label: a list of what is wrong names them."""
        return {field.name: field.label for field in (*self.main, *self.further)}


def routes(desk: Desk) -> list[Route]:
    def every(request: Request) -> Response:
        lists = [
            [(_address(kind), title_of(kind), kind.summary) for kind in kinds.values()]
            for kinds in (CHECKS, CALIBRATIONS)
        ]
        return desk.show(request, ChecksPage(*lists))

    def one(request: Request, kinds: Mapping[str, Kind]) -> Response:
        name = request.path_params["name"]
        if name not in kinds:
            raise no_such("check" if kinds is CHECKS else "calibration", name, list(kinds))
        kind = kinds[name]
        form, asked, answer = _answered(kind, request)
        fields = [_field(kind, name, desk.base) for name in kind.told]
        view = CheckPage(
            address=_address(kind),
            title=title_of(kind),
            summary=kind.summary,
            main=[field for field in fields if _is_main(kind, field)],
            further=[field for field in fields if not _is_main(kind, field)],
            form=form,
            example=_query(kind, kind.example),
            answer=_worked_out(asked, answer, desk.base) if answer else None,
            measured=kinds is CALIBRATIONS,
        )
        return desk.show(request, view, 422 if form.wrong else 200)

    return [
        Route("/checks", every),
        Route("/checks/{name}", lambda request: one(request, CHECKS)),
        Route("/calibrations/{name}", lambda request: one(request, CALIBRATIONS)),
    ]


def title_of(kind: Kind) -> str:
    return TITLES.get(kind.name, capital(kind.name.replace("_", " ")))


def check_address(name: str, inputs: Mapping[str, Any]) -> str:
    """The page of a check with these inputs filled in and worked out."""
    return f"/checks/{name}?{_query(CHECKS[name], inputs)}"


def _address(kind: Kind) -> str:
    return f"/{'checks' if kind.answers is Checked else 'calibrations'}/{kind.name}"


def _query(kind: Kind, inputs: Mapping[str, Any]) -> str:
    said = {name: value for name, value in inputs.items() if name in kind.told and value is not None}
    return urlencode({name: "\n".join(v) if isinstance(v, list) else setting_key(v) for name, v in said.items()})


def _answered(kind: Kind, request: Request) -> tuple[Filled, Strict | None, Checked | Calibrated | None]:
    """What was asked, with what is wrong with it; nothing is worked out before something was asked."""
    typed = [(name, str(text)[:MOST_TEXT]) for name, text in request.query_params.items() if name in kind.told]
    filled = FormData([(name, text) for name, text in typed if text.strip()])
    if not typed:
        return Filled(filled), None, None
    several = {name for name in kind.told if kind.properties[name].get("type") == "array"}
    data = {
        name: text.strip().splitlines() if name in several else kind.typed(name, text.strip())
        for name, text in filled.items()
    }
    pointers = [(f"/{name}", name) for name in sorted(kind.told, key=len, reverse=True)]
    asked = validate(kind.model, data)
    if isinstance(asked, list):
        return Filled(filled, at_fields(asked, pointers)), None, None
    try:
        return Filled(filled), asked, kind.answer(asked)
    except InputError as error:
        return Filled(filled, at_fields([FieldProblem(f"/{error.field}", str(error))], pointers)), None, None


def _is_main(kind: Kind, field: FieldView) -> bool:
    """What has to be told, and what the example tells; the rest is usual."""
    return field.required or field.name in kind.example


def _field(kind: Kind, name: str, base: RuleBase) -> FieldView:
    told, schema = kind.told[name], kind.properties[name]
    types = {part.get("type") for part in (schema, *schema.get("anyOf", []))}
    usual = kind.usual(name)
    words = [word for part in (schema, *schema.get("anyOf", [])) for word in part.get("enum", [])]
    lever = base.levers.get(SAID_BY_LEVER.get(name, ""))
    choices = [(str(word), _word(str(word), lever)) for word in words]
    if "boolean" in types:
        choices = [("yes", "yes"), ("no", "no")]
    hint = [told.described.removeprefix(told.label).lstrip(":; ")]
    if usual is not None:
        hint.append(f"usually {dict(choices).get(usual, usual)}")
    return FieldView(
        name=name,
        label=capital(told.label),
        hint=capital("; ".join(part for part in hint if part)),
        required=name in kind.required,
        choices=choices,
        rows=3 if schema.get("type") == "array" else 0,
        whole="integer" in types,
    )


def _word(word: str, lever: Lever | None) -> str:
    if lever is not None and word in lever.settings:
        return say_setting(lever, word)
    return word.replace("_", " ")


def _worked_out(asked: Strict, answer: Checked | Calibrated, base: RuleBase) -> WorkedOut:
    verdict = getattr(answer, "verdict", None)
    forms = getattr(answer, "forms", [])
    return WorkedOut(
        verdict=verdict or "",
        word=verdict.said if verdict else "",
        text=answer.text,
        numbers=[(capital(a.label), _with_middle(a)) for a in (answer.value, *answer.amounts)],
        forms=[_form(form, _drawing(form, asked)) for form in forms[:MOST_FORMS]],
        more_forms=max(len(forms) - MOST_FORMS, 0),
        mend=getattr(answer, "mend", []),
        use=[
            (check_address(u.check, {u.input: u.value}), f"{title_of(CHECKS[u.check])}: {u.value}")
            for u in getattr(answer, "use", [])
        ],
        inputs=[(capital(i.label), i.text, i.given) for i in answer.inputs],
        care=getattr(answer, "care", []),
        not_covered=answer.not_covered,
        sources=[f"{capital(s.supports)}: {_source(s.id, base)} ({STATUS[s.status]})." for s in answer.sources],
    )


def _source(id: str, base: RuleBase) -> str:
    return base.sources[id].title if id in base.sources else id.replace("_", " ")


def _with_middle(number: Amount) -> str:
    return number.text if number.text == number.value_text else f"{number.text}; middle {number.value_text}"


def _form(form: FormOption, drawing: Drawing | None) -> FormLine:
    takes = [f"{n} {one if n == 1 else one + 's'}" for n, one in _pieces(form) if n]
    takes += [f"{form.tape_cm:g} cm of tape"] + (["white glue"] if form.glue else [])
    text = f"Bears {form.bears.text}; takes {listed(takes)}; {form.fails_first} first."
    return FormLine(capital(form.label), form.verdict, form.verdict.said, text, form.how, form.lacks, drawing)


def _drawing(form: FormOption, asked: Strict) -> Drawing | None:
    """To scale, of the sizes that were asked for."""
    family = getattr(asked, "family", "raft")
    if family == "shelter":
        return shelter_drawing(form.build) if form.build else None
    if family == "span":
        return span_drawing(form.id, form.label, gap=asked.gap)
    if family == "tower":
        return tower_drawing(form.id, form.label, height=asked.height)
    kit = rafts(sticks=asked.sticks, straws=asked.straws, cover_cm2=asked.cover)
    return next((raft_drawing(raft, form.label) for raft in kit if raft.id == form.id), None)


def _pieces(form: FormOption) -> Sequence[tuple[int, str]]:
    return (form.sticks, "stick"), (form.sheets, "sheet"), (form.straws, "straw")
