"""A teacher's own lines on a sheet: reworded, left out, added. They stay when the section is pitched again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, ClassVar

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.api.fields import validate
from rungwright.api.problems import ProblemError, ProblemType
from rungwright.domain.own_lines import Edits
from rungwright.rulebase.sheet_words import RULES_LANGUAGE
from rungwright.sheets import NotPrintable, SheetName, Wanted, lines_of, printed, waiting
from rungwright.sheets.blocks import Card, Cards, Heading, Line, Lines, Paragraph, Sheet
from rungwright.store import OwnLines, Stale
from rungwright.store.own_lines import stamp
from rungwright.store.tables import OwnLinesRow
from rungwright.web.answering import Plan, plan_of
from rungwright.web.desk import Desk, View, go_to, posted
from rungwright.web.forms import Filled, at_fields
from rungwright.web.sheet_pages import LANGUAGES, SHEETS, lesson_of, made, sheet_name


@dataclass(frozen=True)
class OwnLine:
    """One line of a sheet with what a teacher made of it. `stays`: it cannot be left out."""

    id: str
    ours: str
    fixed: bool
    stays: bool


@dataclass(frozen=True)
class LinesPage(View):
    template: ClassVar[str] = "lines.html"
    plan_id: str
    sheet: str
    label: str
    language: str
    language_name: str
    section: str
    form: Filled
    parts: list[tuple[str, list[OwnLine]]]
    """heading and its lines"""
    waiting: int
    seen: str
    """which lines the form was made of"""
    changed_meanwhile: bool


def routes(desk: Desk) -> list[Route]:
    def opened(request: Request) -> tuple[Plan, str, str, Sheet, OwnLinesRow | None]:
        """The plan, its section and challenge, the sheet in our words, the changes there are."""
        plan = plan_of(desk, request.state.caller, request.path_params["id"])
        if plan.row.section_id is None:
            raise ProblemError(ProblemType.NOT_FOUND, "This plan belongs to no section: it has no lines of your own.")
        name, language = sheet_name(request), request.query_params.get("language", RULES_LANGUAGE)
        lesson = lesson_of(desk, plan, Wanted(languages=(language,)))
        sheets = made(lesson, name)
        if not sheets:
            raise ProblemError(ProblemType.NOT_FOUND, "This lesson needs no such sheet.")
        [sheet] = sheets
        challenge = lesson.answer.challenge.id
        with desk.store.reading() as session:
            kept = OwnLines(session, request.state.caller).rows(plan.row.section_id, challenge)
        return plan, plan.row.section_id, challenge, sheet, kept.get((sheet.name, sheet.language))

    def page(
        request: Request, plan: Plan, sheet: Sheet, row: OwnLinesRow | None, form: Filled, *, stale: bool = False
    ) -> Response:
        view = LinesPage(
            plan_id=plan.row.id,
            sheet=sheet.name,
            label=SHEETS[SheetName(sheet.name)][0],
            language=sheet.language,
            language_name=LANGUAGES.get(sheet.language, sheet.language),
            section=sheet.section,
            form=form,
            parts=list(_parts(sheet)),
            waiting=len(waiting(sheet, _edits(row))),
            # What was seen stays with what was typed, until it is said that it goes in the place of the newer ones.
            seen=stamp(row) if stale or "seen" not in form.values else form.value("seen"),
            changed_meanwhile=stale,
        )
        return desk.show(request, view, 409 if stale else 422 if form.wrong else 200)

    def edit(request: Request) -> Response:
        plan, _, _, sheet, row = opened(request)
        return page(request, plan, sheet, row, _filled(sheet, _edits(row)))

    def save(request: Request, form: FormData) -> Response:
        plan, section, challenge, sheet, row = opened(request)
        kept = _edits(row)
        back = f"/plans/{plan.row.id}/sheets/{sheet.name}?language={sheet.language}"
        if form.get("then") == "ours":
            edits = Edits()
        else:
            wrong = _emptied(sheet, form)
            edits = validate(Edits, _read(sheet, form, kept))
            if isinstance(edits, list):
                wrong |= at_fields(edits, _pointers(sheet, form, kept))
            wrong = wrong or _not_printable(desk, plan, sheet, edits)
            if wrong:
                return page(request, plan, sheet, row, Filled(form, wrong))
        try:
            with desk.store.writing() as session:
                lines = OwnLines(session, request.state.caller)
                lines.put(section, challenge, sheet.name, sheet.language, edits, seen=str(form.get("seen", "")))
        except Stale:
            plan, _, _, sheet, row = opened(request)
            return page(request, plan, sheet, row, Filled(form), stale=True)
        return go_to(back)

    return [
        Route("/plans/{id}/sheets/{name}/lines", edit),
        Route("/plans/{id}/sheets/{name}/lines", posted(save), methods=["POST"]),
    ]


def _edits(row: OwnLinesRow | None) -> Edits:
    return row.edits if row is not None else Edits()


def _parts(sheet: Sheet) -> Iterator[tuple[str, list[OwnLine]]]:
    """Lines under their headings."""
    heading = ""
    for block in sheet.blocks:
        if isinstance(block, Heading):
            heading = block.text
        elif isinstance(block, Paragraph):
            yield heading, [_line(block.line)]
            heading = ""
        elif isinstance(block, Lines) and block.lines:
            yield block.heading or heading, [_line(line) for line in block.lines]
            heading = ""
        elif isinstance(block, Cards):
            for card in block.cards:
                yield card.title, [_line(line, stays=line in (card.must, card.yes)) for line in _of_card(card)]


def _of_card(card: Card) -> list[Line]:
    return [card.must, *card.how, card.yes]


def _line(line: Line, *, stays: bool = False) -> OwnLine:
    return OwnLine(line.id, line.text, line.fixed, stays)


def _filled(sheet: Sheet, kept: Edits) -> Filled:
    pairs = []
    for line in lines_of(sheet):
        text = "" if line.id in kept.remove else kept.reword.get(line.id, line.text)
        pairs.append((f"text.{line.id}", text))
    for id in _ends(sheet):
        pairs.append((f"add.{id}", "\n".join(a.text for a in kept.add if a.after == id)))
    return Filled(FormData(pairs))


def _ends(sheet: Sheet) -> list[str]:
    """The last line of each part: own lines are added below it."""
    return [lines[-1].id for _, lines in _parts(sheet)]


def _read(sheet: Sheet, form: FormData, kept: Edits) -> dict[str, Any]:
    """The changes as data; what this form does not show stays as it was."""
    here, ends = {line.id: line for line in lines_of(sheet)}, _ends(sheet)
    said = {id: _said(form, f"text.{id}", line.text) for id, line in here.items() if not line.fixed}
    return {
        "reword": {id: text for id, text in kept.reword.items() if id not in here}
        | {id: text for id, text in said.items() if text and text != here[id].text},
        "remove": [id for id in kept.remove if id not in here] + [id for id, text in said.items() if not text],
        "add": [a.model_dump() for a in kept.add if a.after not in ends]
        + [{"after": id, "text": text} for id in ends for text in _said(form, f"add.{id}", "").splitlines() if text],
    }


def _said(form: FormData, name: str, otherwise: str) -> str:
    """What was typed, without blank ends of its lines; a field that was not sent leaves the line as it is."""
    text = str(form[name]) if name in form else otherwise
    return "\n".join(part.strip() for part in text.strip().splitlines())


def _emptied(sheet: Sheet, form: FormData) -> dict[str, str]:
    stay = [line for block in sheet.blocks if isinstance(block, Cards) for c in block.cards for line in (c.must, c.yes)]
    said = "say it in your own words; a criterion without it is none"
    return {f"text.{line.id}": said for line in stay if not _said(form, f"text.{line.id}", line.text)}


def _pointers(sheet: Sheet, form: FormData, kept: Edits) -> list[tuple[str, str]]:
    data = _read(sheet, form, kept)
    found = [(f"/reword/{id}", f"text.{id}") for id in data["reword"]]
    return found + [(f"/add/{i}/", f"add.{added['after']}") for i, added in enumerate(data["add"])]


def _not_printable(desk: Desk, plan: Plan, sheet: Sheet, edits: Edits) -> dict[str, str]:
    """A letter that the font of the sheets lacks is told now, not at the printer."""
    wanted = Wanted(languages=(sheet.language,), edits={(sheet.name, sheet.language): edits})
    lesson = lesson_of(desk, plan, wanted)
    try:
        printed(lesson, SheetName(sheet.name))
    except NotPrintable as error:
        return {"": str(error)}
    return {}
