"""Forms of ladders: from fields to what is asked, and back to the words of what is wrong."""

from __future__ import annotations

from typing import Any

from starlette.datastructures import FormData

from rungwright.api.fields import validate
from rungwright.api.ladder_keeping import document_id
from rungwright.api.problems import ProblemError, ProblemType, invalid
from rungwright.api.reading import NotJson, read_json
from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_keeping import LadderDraft, LadderEdits
from rungwright.domain.ladder_request import Edit
from rungwright.domain.lever import setting_key
from rungwright.recommend.problem import FieldProblem
from rungwright.rulebase import RuleBase
from rungwright.web.forms import whole
from rungwright.web.saying import capital


def read_document(text: str) -> Ladder:
    """The ladder of a shared file. Raises ProblemError 400, 422."""
    try:
        data = read_json(text.encode())
    except NotJson as error:
        raise ProblemError(ProblemType.MALFORMED_JSON, f"This is not a ladder's file: {error}.") from None
    draft = validate(LadderDraft, {"ladder": data})
    if isinstance(draft, list):
        raise invalid([FieldProblem(p.pointer.removeprefix("/ladder"), p.detail) for p in draft])
    return draft.ladder


def read_edits(form: FormData, ladder: Ladder, base: RuleBase) -> list[Edit]:
    """What the button of a form asks: `do`, or `do:what`, about the field `rung`. Raises ProblemError 422."""
    do, _, what = str(form.get("do", "")).partition(":")
    rung = str(form.get("rung", ""))
    edits = _edit(do, what, rung, form, ladder, base)
    said = validate(LadderEdits, {"edits": edits})
    if isinstance(said, list):
        raise invalid(said)
    return said.edits


def _edit(do: str, what: str, rung: str, form: FormData, ladder: Ladder, base: RuleBase) -> list[dict[str, Any]]:
    ids = [r.id for r in ladder.rungs]
    text = {name: str(form.get(name, "")).strip() for name in ("name", "by", "on", "text")}
    pinned = next((set(r.pinned) for r in ladder.rungs if r.id == rung), set())
    if do == "set":
        lever, _, key = what.partition(":")
        spec = base.levers.get(lever)
        value = next((s for s in spec.settings if setting_key(s) == key), key) if spec else key
        return [{"do": "set", "rung": rung, "settings": {lever: value}}]
    if do in ("pin", "free"):
        levers = pinned | {what} if do == "pin" else pinned - {what}
        return [{"do": "pin", "rung": rung, "levers": sorted(levers)}]
    if do in ("up", "down") and rung in ids:
        here = ids.index(rung)
        there = min(max(here + (1 if do == "up" else -1), 0), len(ids) - 1)
        ids[here], ids[there] = ids[there], ids[here]
        return [{"do": "reorder", "order": ids}]
    if do == "insert":
        free = next(f"r{n}" for n in range(1, 100) if f"r{n}" not in ids)
        return [{"do": "insert", "after": rung or None, "id": free}]
    if do == "agree":
        agreed = {"by": text["by"], "on": text["on"], "text": text["text"]}
        return [{"do": "agree", "rung": rung, "agreed": agreed if any(agreed.values()) else None}]
    if do == "first_run":
        return [{"do": "first_run", "rung": None if what == "none" else rung}]
    if do == "publish":
        return [{"do": "publish", "on": text["on"], "by": text["by"]}]
    if do == "rename":
        return [{"do": "rename", "rung": rung, "name": text["name"]}]
    if do == "name":
        return [{"do": "name", "name": text["name"]}]
    return [{"do": do, "rung": rung}] if do != "revise" else [{"do": "revise"}]


def draft_data(form: FormData) -> dict[str, Any]:
    """A request for a draft over grades, as the form has it; the cupboard is put in by the page."""
    usual: dict[str, Any] = {
        "students": whole(str(form.get("students", ""))),
        "group_size": whole(str(form.get("group_size", ""))),
        "sessions": [{"minutes": whole(str(form.get("minutes", "")))}] * _few(form.get("lessons", "")),
    }
    rungs = str(form.get("rungs", "")).strip()
    return {
        "challenge": str(form.get("challenge", "")),
        "grades": [str(form.get("low", "")), str(form.get("high", ""))],
        "rungs": whole(rungs) if rungs else None,
        "name": str(form.get("name", "")).strip() or None,
        "usual": usual,
        "units": "both",
    }


def _few(value: object) -> int:
    number = whole(str(value))
    return number if isinstance(number, int) and 0 <= number <= 20 else 0


DRAFT_FIELDS = (
    ("/challenge", "challenge"),
    ("/grades/0", "low"),
    ("/grades/1", "high"),
    ("/grades", "low"),
    ("/rungs", "rungs"),
    ("/name", "name"),
    ("/usual/students", "students"),
    ("/usual/group_size", "group_size"),
    ("/usual/sessions/", "minutes"),
    ("/usual/sessions", "lessons"),
    ("/usual/materials", "from"),
    ("/around/easier", "easier"),
    ("/around/harder", "harder"),
)


def told(error: ProblemError) -> list[str]:
    """What is wrong, in words."""
    return [p.detail for p in error.errors] or [error.detail]


def at_places(error: ProblemError) -> list[str]:
    """What is wrong with a pasted document, each with its place in it."""
    return [f"{p.pointer or '/'}: {p.detail}" for p in error.errors] or [capital(error.detail)]


def as_own(ladder: Ladder) -> Ladder:
    """A drafted document under a name of its own, so that two drafts alike are two ladders."""
    return ladder.model_copy(update={"id": document_id(ladder.challenge)})
