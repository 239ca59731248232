"""Looking at a ladder beside others, and at the sections on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from sqlalchemy.orm import Session
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.api.fields import validate
from rungwright.api.kept_views import RungPlace
from rungwright.api.ladder_keeping import other_of, put_on_rung, refusals, standing
from rungwright.api.ladders import compared
from rungwright.api.problems import ProblemError, ProblemType, invalid
from rungwright.domain.ask import Units
from rungwright.domain.grades import GRADE_CODES, grade_number, grades_said
from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_keeping import RungPlaceDraft
from rungwright.domain.ladder_report import LadderPlacement, SectionPlace
from rungwright.domain.ladder_request import LadderCompareRequest, Met
from rungwright.store import Caller, Ladders, Stale
from rungwright.web.desk import Desk, View, go_to, posted
from rungwright.web.forms import seen
from rungwright.web.ladder_picture import Step, steps
from rungwright.web.ladder_view import standing as standing_said
from rungwright.web.saying import capital
from rungwright.web.section_pages import ALL


@dataclass(frozen=True)
class Side:
    name: str
    standing: str
    picture: object


@dataclass(frozen=True)
class ComparePage(View):
    template: ClassVar[str] = "ladder_compare.html"
    id: str
    name: str
    others: list[tuple[str, str]]
    """what it can be compared with: value of the field, words"""
    chosen: str
    sides: list[Side]
    changes: list[str]
    same_everywhere: bool


@dataclass(frozen=True)
class OnRung:
    place: RungPlace
    who: str
    told: SectionPlace
    failing: list[str]
    grades_before: list[tuple[str, str]]
    """grades in which it may have met the challenge: value of the field, words"""
    met: str
    """the one that was told"""


@dataclass(frozen=True)
class SectionsPage(View):
    template: ClassVar[str] = "ladder_sections.html"
    id: str
    name: str
    rungs: list[tuple[str, str]]
    sections: list[OnRung]
    placement: LadderPlacement | None
    left_out: int
    late: str = ""
    """the section that somebody else put elsewhere meanwhile"""


def routes(desk: Desk) -> list[Route]:
    def compare(request: Request) -> Response:
        id, caller = request.path_params["id"], request.state.caller
        chosen = request.query_params.get("with", "")
        with desk.store.reading() as session:
            ladders = Ladders(session, caller)
            row = ladders.find(id)
            past = [n for n in dict.fromkeys(p.published for p in ladders.history(id, published=True))]
            rest = [r for r in ladders.list(after=None, limit=ALL).items if r.id != id]
            others = [(f"published:{n}", f"Version {n} of this ladder") for n in past]
            last = f"before:{row.version - 1}"
            if row.version > 1:
                others.append((last, "This ladder before its last change"))
            if chosen.startswith("before:") and chosen != last:
                others.append((chosen, "This ladder as it was before"))
            others += [(r.id, r.body.name) for r in rest if r.body.challenge == row.body.challenge]
            chosen = chosen or (others[0][0] if others else "")
            pair = _pair(session, caller, id, chosen) if chosen else None
        sides, changes, same = [], [], True
        if pair:
            with refusals():
                told = compared(LadderCompareRequest(first=pair[0], second=pair[1], units=Units.BOTH), desk.rules)
            both = [*told.demand_first.values(), *told.demand_second.values()]
            sides = [_side(pair[0], told.demand_first, both), _side(pair[1], told.demand_second, both)]
            changes, same = [change.text for change in told.changes], told.same_everywhere
        view = ComparePage(id, row.body.name, others, chosen, sides, changes, same)
        return desk.show(request, view)

    def sections(request: Request, late: str = "") -> Response:
        id = request.path_params["id"]
        with desk.store.reading() as session:
            ladders = Ladders(session, request.state.caller)
            ladder, told = ladders.find(id).body, ladders.places(id)
            found = standing(session, request.state.caller, id, desk.rules)
        places = found.placement.sections if found.placement else []
        view = SectionsPage(
            id=id,
            name=ladder.name,
            rungs=[(rung.id, rung.name) for rung in ladder.rungs],
            sections=[
                _on_rung(p, t, told[p.section_id].met if p.section_id in told else None)
                for p, t in zip(found.sections, places, strict=True)
            ],
            placement=found.placement,
            left_out=found.left_out,
            late=late,
        )
        return desk.show(request, view, 409 if late else 200)

    def put(request: Request, form: FormData) -> Response:
        id = request.path_params["id"]
        with desk.store.reading() as session:
            before = Ladders(session, request.state.caller).places(id).get(str(form.get("section_id", "")))
        said = {
            "section_id": str(form.get("section_id", "")),
            "now_on": str(form.get("now_on", "")) or None,
            "week": str(form.get("week", "")) or None,
            "met": _met(str(form.get("met", "")), before.met if before else None),
        }
        draft = validate(RungPlaceDraft, said)
        if isinstance(draft, list):
            raise invalid(draft)
        try:
            with desk.store.writing() as session:
                put_on_rung(session, request.state.caller, id, draft, seen(form))
        except Stale:
            return sections(request, late=draft.section_id)
        return go_to(f"/ladders/{id}/sections#s-{draft.section_id}")

    return [
        Route("/ladders/{id}/compare", compare),
        Route("/ladders/{id}/sections", sections),
        Route("/ladders/{id}/sections", posted(put), methods=["POST"]),
    ]


def _pair(session: Session, caller: Caller, id: str, chosen: str) -> tuple[Ladder, Ladder]:
    """Raises ProblemError 400, NotThere."""
    kind, _, number = chosen.rpartition(":")
    if kind in ("published", "before"):
        if not (number.isascii() and number.isdigit() and len(number) < 7):
            raise ProblemError(ProblemType.BAD_REQUEST, "This address names no version.")
        if kind == "published":
            return other_of(session, caller, id, other=None, published=int(number))
        ladders = Ladders(session, caller)
        return ladders.at_version(id, int(number)), ladders.find(id).body
    return other_of(session, caller, id, other=chosen, published=None)


def _side(ladder: Ladder, demand: dict[str, float], both: Sequence[float]) -> Side:
    picture = steps([Step(rung.name, demand[rung.id], ()) for rung in ladder.rungs], beside=both)
    return Side(ladder.name, standing_said(ladder), picture)


def _on_rung(place: RungPlace, told: SectionPlace, met: Met | None) -> OnRung:
    """`met`: the earlier year that a coach told of, beside what its own runs tell."""
    outlook = next(o for o in told.outlooks if o.rung == (place.now_on or told.rung))
    highest = max(grade_number(grade) for grade in told.grades)
    before = [(code, grades_said([code])) for code in GRADE_CODES[:highest]]
    return OnRung(place, capital(grades_said(told.grades)), told, outlook.failing, before, met.grade if met else "")


def _met(grade: str, before: Met | None) -> dict[str, object] | None:
    """What the form tells of an earlier year; a rung that was told with the same grade stays."""
    if not grade:
        return None
    return {"grade": grade, "rung": before.rung if before and before.grade == grade else None}
