"""Cupboards: what is there, what planned lessons have reserved, and the picker that changes it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from rungwright.api.fields import validate
from rungwright.domain.keeping import CupboardDraft
from rungwright.domain.material import Material
from rungwright.store import Cupboards, Stale
from rungwright.store.tables import CupboardRow
from rungwright.web.desk import Desk, View, go_to, posted
from rungwright.web.forms import Filled, at_fields, seen
from rungwright.web.once import FIELD, made_once, new_once
from rungwright.web.saying import number
from rungwright.web.section_form import PickedMaterial, material_fields, picker, read_materials, unit_of


@dataclass(frozen=True)
class Line:
    label: str
    there: str
    reserved: str
    free: str


@dataclass(frozen=True)
class CupboardsPage(View):
    template: ClassVar[str] = "cupboards.html"
    cupboards: list[tuple[str, str, int]]
    """id, label, materials in it"""
    archived: bool


@dataclass(frozen=True)
class CupboardPage(View):
    template: ClassVar[str] = "cupboard.html"
    id: str | None
    version: int | None
    archived: bool
    once: str
    form: Filled
    materials: list[tuple[str, list[PickedMaterial]]]
    lines: list[Line]
    changed_meanwhile: bool


def routes(desk: Desk) -> list[Route]:
    def listed(request: Request) -> Response:
        archived = request.query_params.get("archived") == "yes"
        with desk.store.reading() as session:
            rows = Cupboards(session, request.state.caller).list(after=None, limit=200, archived=archived).items
        return desk.show(request, CupboardsPage([(row.id, row.label, len(row.materials)) for row in rows], archived))

    def page(
        request: Request, form: Filled, row: CupboardRow | None, lines: list[Line], *, stale: bool = False
    ) -> Response:
        view = CupboardPage(
            row.id if row else None,
            row.version if row else None,
            row is not None and row.archived,
            form.value(FIELD) or new_once(),
            form,
            picker(desk.base),
            lines,
            stale,
        )
        return desk.show(request, view, 409 if stale else 422 if form.wrong else 200)

    def new(request: Request) -> Response:
        return page(request, Filled(FormData()), None, [])

    def edit(request: Request) -> Response:
        with desk.store.reading() as session:
            cupboards = Cupboards(session, request.state.caller)
            row = cupboards.find(request.path_params["id"])
            held = cupboards.held(row, desk.base.materials)
        known = desk.base.materials
        lines = [
            Line(known[h.material].label, *(_amount(x, known[h.material]) for x in (h.quantity, h.reserved, h.free)))
            for h in held
            if h.material in known
        ]
        return page(request, Filled(FormData([("label", row.label), *material_fields(row.materials)])), row, lines)

    def save(request: Request, form: FormData) -> Response:
        id = request.path_params.get("id")
        materials = read_materials(form)
        known = [m for m in materials if m["material"] in desk.base.materials]
        draft = validate(CupboardDraft, {"label": str(form.get("label", "")).strip(), "materials": known})
        row = None
        if id is not None:
            with desk.store.reading() as session:
                row = Cupboards(session, request.state.caller).find(id)
                draft = draft if isinstance(draft, list) else draft.model_copy(update={"archived": row.archived})
        if isinstance(draft, list):
            fields = [(f"/materials/{i}/", f"m.{m['material']}") for i, m in enumerate(known)]
            return page(request, Filled(form, at_fields(draft, [*fields, ("/label", "label")])), row, [])
        if id is None:
            caller = request.state.caller
            made_once(desk, caller, form, lambda session: Cupboards(session, caller).add(draft).id)
            return go_to("/cupboards")
        try:
            with desk.store.writing() as session:
                cupboards = Cupboards(session, request.state.caller)
                cupboards.change(id, seen(form), draft)
        except Stale:
            return page(request, Filled(form), row, [], stale=True)
        return go_to("/cupboards")

    def put_away(request: Request, form: FormData) -> Response:
        with desk.store.writing() as session:
            cupboards = Cupboards(session, request.state.caller)
            row = cupboards.find(request.path_params["id"], to_change=True)
            draft = CupboardDraft(label=row.label, materials=row.materials, archived=form.get("do") != "back")
            cupboards.change(row.id, None, draft)
        return go_to("/cupboards")

    return [
        Route("/cupboards", listed),
        Route("/cupboards", posted(save), methods=["POST"]),
        Route("/cupboards/new", new),
        Route("/cupboards/{id}", edit),
        Route("/cupboards/{id}", posted(save), methods=["POST"]),
        Route("/cupboards/{id}/put-away", posted(put_away), methods=["POST"]),
    ]


def _amount(quantity: float, material: Material) -> str:
    """`135 pieces`, `8.8 rolls`: of what is counted out, only whole ones are there."""
    counted = material.measure == material.unit
    return f"{number(math.floor(quantity) if counted else quantity)} {unit_of(material)}"
