"""A section in a new school year: a grade up, groups made anew, and whether earlier results still tell of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.api.fields import validate
from rungwright.domain.grades import GRADE_CODES
from rungwright.domain.keeping import RolloverDraft
from rungwright.recommend.wording import grades
from rungwright.store import Sections, Stale
from rungwright.store.sections import LastGrade
from rungwright.store.tables import SectionRow
from rungwright.web.desk import Desk, View, go_to, posted
from rungwright.web.forms import Filled, at_fields, seen, whole

UP, STAYS = "up", "stays"
SAME, NEW = "same", "new"


@dataclass(frozen=True)
class NewYearPage(View):
    template: ClassVar[str] = "new_year.html"
    section_id: str
    version: int
    label: str
    now: str
    up: str
    """the grade after this one; empty after the last"""
    form: Filled
    changed_meanwhile: bool


def routes(desk: Desk) -> list[Route]:
    def page(request: Request, row: SectionRow, form: Filled, *, stale: bool = False) -> Response:
        after = [GRADE_CODES.index(grade) + 1 for grade in row.body.grades]
        view = NewYearPage(
            section_id=row.id,
            version=row.version,
            label=row.body.label,
            now=grades(row.body.grades),
            up=grades([GRADE_CODES[i] for i in after]) if max(after) < len(GRADE_CODES) else "",
            form=form,
            changed_meanwhile=stale,
        )
        return desk.show(request, view, 409 if stale else 422 if form.wrong else 200)

    def found(request: Request) -> SectionRow:
        with desk.store.reading() as session:
            return Sections(session, request.state.caller).find(request.path_params["id"])

    def ask(request: Request) -> Response:
        row = found(request)
        fields = {"label": row.body.label, "students": str(row.body.students), "grade": UP, "who": SAME}
        return page(request, row, Filled(FormData(fields)))

    def begin(request: Request, form: FormData) -> Response:
        row = found(request)
        told = {
            "label": str(form.get("label", "")).strip(),
            "students": whole(str(form.get("students", ""))),
            "grade_up": form.get("grade") != STAYS,
            "most_are_new": form.get("who") == NEW,
        }
        draft = validate(RolloverDraft, told)
        if isinstance(draft, list):
            return page(request, row, Filled(form, at_fields(draft, [(f"/{name}", name) for name in told])))
        try:
            with desk.store.writing() as session:
                sections = Sections(session, request.state.caller)
                id = sections.roll_over(row.id, draft, seen(form)).id
        except LastGrade as error:
            return page(request, row, Filled(form, {"grade": str(error)}))
        except Stale:
            return page(request, row, Filled(form), stale=True)
        return go_to(f"/sections/{id}")

    return [
        Route("/sections/{id}/new-year", ask),
        Route("/sections/{id}/new-year", posted(begin), methods=["POST"]),
    ]
