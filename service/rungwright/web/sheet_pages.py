"""The sheets of a kept lesson: on the screen, as PDF to print, and a teacher's own lines on them.

What stands on a sheet is made by `sheets` alone; a page shows the same blocks that go to paper.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import urlencode
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.api.prints import refused
from rungwright.api.problems import ProblemError, ProblemType, no_such
from rungwright.rulebase.sheet_words import RULES_LANGUAGE
from rungwright.sheets import (
    Lesson,
    NotNeeded,
    NotPrintable,
    PaperName,
    SheetName,
    Wanted,
    kit_csv,
    printed,
    sheets_of,
)
from rungwright.sheets.blocks import Sheet
from rungwright.sheets.printing import NOT_NEEDED
from rungwright.store import OwnLines
from rungwright.web.answering import Plan, plan_of
from rungwright.web.desk import Desk, View
from rungwright.web.saying import capital

SHEETS = {
    SheetName.BRIEF: ("Brief", "for each group"),
    SheetName.RECORD: ("Record sheet", "for each group, and one for the class"),
    SheetName.FIGURES: ("Figures", "to cut out, at true size: print at 100 %"),
    SheetName.STATIONS: ("Station cards", "one for each test"),
    SheetName.CALLS: ("Calling order", "for the wall: who is tested where, and when"),
    SheetName.QUESTIONS: ("Questions to ask", "for whoever goes round"),
    SheetName.DISCUSSION: ("Talk afterwards", "questions for the whole class"),
    SheetName.TEACHER: ("Teacher’s pages", "minutes, care, what to watch for"),
    SheetName.KIT: ("Kit list", "what to count out and to get"),
    SheetName.LETTER: ("Letter to families", "asks for what the cupboard lacks"),
}
ON_PAPER_ONLY = (SheetName.FIGURES,)
"""A screen keeps no true size."""
LANGUAGES = {"en": "English", "es": "Spanish"}
PAPERS = {PaperName.LETTER: "Letter", PaperName.A4: "A4"}


@dataclass(frozen=True)
class Options:
    """How sheets are wanted, as choices with their words."""

    languages: list[tuple[str, str]]
    language: str
    papers: list[tuple[str, str]]
    paper: str
    large: bool

    @property
    def query(self) -> str:
        return urlencode({"language": self.language, "paper": self.paper, **({"large": "yes"} if self.large else {})})


@dataclass(frozen=True)
class SheetLine:
    """One sheet of the list. `missing` says why there is none."""

    name: str
    label: str
    about: str
    on_screen: bool
    own: list[str]
    """languages in which a teacher's own lines stand on it"""
    missing: str


@dataclass(frozen=True)
class SheetsPage(View):
    template: ClassVar[str] = "sheets.html"
    plan_id: str
    title: str
    section: str
    options: Options
    sheets: list[SheetLine]


@dataclass(frozen=True)
class SheetPage(View):
    """For whom the sheet is for: nothing about supports stands here."""

    template: ClassVar[str] = "sheet.html"
    plan_id: str
    label: str
    section: str
    at: str
    pdf: str
    options: Options
    sheets: list[Sheet]
    change_lines: list[tuple[str, str]]
    """address and language, for each sheet whose lines may be changed"""


def routes(desk: Desk) -> list[Route]:
    def all_of_them(request: Request) -> Response:
        plan = plan_of(desk, request.state.caller, request.path_params["id"])
        options, lesson = asked(desk, request, plan)
        own = lesson.wanted.edits
        lines = []
        for name, (label, about) in SHEETS.items():
            there = made(lesson, name)
            changed = [LANGUAGES.get(language, language) for sheet, language in own if sheet == name]
            missing = "" if there else capital(NOT_NEEDED[name]) + "."
            lines.append(SheetLine(name, label, about, name not in ON_PAPER_ONLY, changed, missing))
        answer = lesson.answer
        view = SheetsPage(plan.row.id, answer.challenge.label, answer.section.label, options, lines)
        return desk.show(request, view)

    def on_screen(request: Request, names: Sequence[SheetName], at: str) -> Response:
        plan = plan_of(desk, request.state.caller, request.path_params["id"])
        options, lesson = asked(desk, request, plan)
        first, id = names[0], plan.row.id
        shown = [sheet for name in names for sheet in made(lesson, name)]
        if not shown:
            raise ProblemError(ProblemType.NOT_FOUND, capital(NOT_NEEDED[first]) + ".")
        view = SheetPage(
            plan_id=id,
            label=SHEETS[first][0],
            section=lesson.answer.section.label,
            at=f"/plans/{id}/{at}",
            pdf=f"/plans/{id}/sheets/{first}.pdf",
            options=options,
            sheets=shown,
            change_lines=_changeable(plan, shown),
        )
        return desk.show(request, view)

    def brief(request: Request) -> Response:
        return on_screen(request, [SheetName.BRIEF, SheetName.RECORD], "brief")

    def one(request: Request) -> Response:
        name = sheet_name(request)
        if name in ON_PAPER_ONLY:
            raise ProblemError(ProblemType.NOT_FOUND, "This sheet is for paper: a screen keeps no true size.")
        return on_screen(request, [name], f"sheets/{name}")

    def pdf(request: Request) -> Response:
        name = sheet_name(request)
        plan = plan_of(desk, request.state.caller, request.path_params["id"])
        _, lesson = asked(desk, request, plan)
        try:
            content = printed(lesson, name)
        except NotPrintable as error:
            raise refused(error) from None
        return _file(content, "application/pdf", f"{name}.pdf")

    def zipped(request: Request) -> Response:
        plan = plan_of(desk, request.state.caller, request.path_params["id"])
        _, lesson = asked(desk, request, plan)
        try:
            return _file(_all(lesson), "application/zip", "lesson.zip", saved=True)
        except NotPrintable as error:
            raise refused(error) from None

    return [
        Route("/plans/{id}/brief", brief),
        Route("/plans/{id}/sheets", all_of_them),
        Route("/plans/{id}/sheets.zip", zipped),
        Route("/plans/{id}/sheets/{name}.pdf", pdf),
        Route("/plans/{id}/sheets/{name}", one),
    ]


def asked(desk: Desk, request: Request, plan: Plan) -> tuple[Options, Lesson]:
    """How sheets are wanted, and the lesson to make them of. Raises ProblemError 400, 422."""
    query = request.query_params
    options = _options(query, list(desk.base.words))
    with desk.store.reading() as session:
        lines = OwnLines(session, request.state.caller)
        section, challenge = plan.row.section_id, plan.answered.plan.challenge.id
        edits = lines.of(section, challenge) if section else {}
    wanted = Wanted(
        paper=PaperName(options.paper), large=options.large, languages=tuple(options.language.split(",")), edits=edits
    )
    return options, lesson_of(desk, plan, wanted)


def lesson_of(desk: Desk, plan: Plan, wanted: Wanted) -> Lesson:
    """Raises ProblemError 400 for what the address asks, 422 for an answer that cannot be printed."""
    answer = plan.answered.plan
    if answer.timetable is None or answer.kit is None or answer.brief is None:
        raise ProblemError(
            ProblemType.INVALID_REQUEST,
            "This plan was kept without its timetable, kit and brief, so there is nothing to print. Pitch it again.",
        )
    try:
        return Lesson(answer, desk.base, "both", wanted)
    except NotPrintable as error:
        raise refused(error) from None


def made(lesson: Lesson, name: SheetName) -> list[Sheet]:
    """Raises ProblemError 400, 422."""
    try:
        return sheets_of(lesson, name)
    except NotPrintable as error:
        raise refused(error) from None


def sheet_name(request: Request) -> SheetName:
    """Raises ProblemError 404."""
    name = request.path_params["name"]
    if name not in set(SheetName):
        raise no_such("sheet", name, list(SheetName))
    return SheetName(name)


def languages(known: Sequence[str]) -> list[tuple[str, str]]:
    """Each language, and each beside that of the rules."""
    said = [(code, LANGUAGES.get(code, code)) for code in known]
    first = LANGUAGES[RULES_LANGUAGE]
    return said + [(f"{RULES_LANGUAGE},{code}", f"{first} and {w}") for code, w in said if code != RULES_LANGUAGE]


def _options(query: QueryParams, known: Sequence[str]) -> Options:
    """Raises ProblemError 400."""
    choices = languages(known)
    language, paper = query.get("language", RULES_LANGUAGE), query.get("paper", PaperName.LETTER.value)
    for said, allowed in ((language, dict(choices)), (paper, PAPERS)):
        if said not in allowed:
            raise ProblemError(ProblemType.BAD_REQUEST, f"There is no {said[:40]!r} to print in.")
    return Options(choices, language, [(p.value, w) for p, w in PAPERS.items()], paper, query.get("large") == "yes")


def _changeable(plan: Plan, shown: Sequence[Sheet]) -> list[tuple[str, str]]:
    if plan.row.section_id is None:
        return []
    many = len({sheet.language for sheet in shown}) > 1
    found = []
    for sheet in shown:
        label = f"Change lines: {SHEETS[SheetName(sheet.name)][0].lower()}"
        label += f", {LANGUAGES.get(sheet.language, sheet.language)}" if many else ""
        found.append((f"/plans/{plan.row.id}/sheets/{sheet.name}/lines?language={sheet.language}", label))
    return found


def _all(lesson: Lesson) -> bytes:
    """Every sheet that this lesson needs, a file each; equal bytes each time. Raises NotPrintable."""
    files: dict[str, bytes] = {}
    for name in SheetName:
        try:
            files[f"{name}.pdf"] = printed(lesson, name)
        except NotNeeded:
            continue
    files["kit.csv"] = kit_csv(lesson).encode()
    return _packed(files)


def _packed(files: Mapping[str, bytes]) -> bytes:
    out = io.BytesIO()
    with ZipFile(out, "w", ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(ZipInfo(name), content, ZIP_DEFLATED)
    return out.getvalue()


def _file(content: bytes, kind: str, name: str, *, saved: bool = False) -> Response:
    how = "attachment" if saved else "inline"
    return Response(content, media_type=kind, headers={"Content-Disposition": f'{how}; filename="{name}"'})
