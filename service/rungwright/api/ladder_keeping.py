"""What is done with ladders that are kept. Each is worked out before its transaction begins, so that nobody waits."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager

from fastapi.responses import Response
from sqlalchemy.orm import Session

from rungwright.api.body import JSON
from rungwright.api.keeping import named_in
from rungwright.api.kept_views import LadderSections, RungPlace
from rungwright.api.problems import invalid
from rungwright.api.runs import without_access
from rungwright.api.sections import section_now
from rungwright.domain.grades import GRADE_CODES, grade_number
from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_keeping import LadderDraft, LadderForkDraft, LadderMergeDraft, RungPlaceDraft
from rungwright.domain.ladder_report import LadderMerge
from rungwright.domain.ladder_request import Edit, Fork, LadderPlaceRequest, Met, PlacedSection, Taught
from rungwright.domain.run import Run
from rungwright.ladders.compare import apart
from rungwright.ladders.edit import edited
from rungwright.ladders.frame import pointing
from rungwright.ladders.merge import merge
from rungwright.ladders.place import place, rung_of
from rungwright.ladders.report import report
from rungwright.ladders.share import written
from rungwright.recommend.problem import FieldProblem, RequestProblem, unknown
from rungwright.rulebase import CompiledRules
from rungwright.store import Caller, Ladders, NotThere, Runs, Sections, Stale, Store
from rungwright.store.ids import new_id
from rungwright.store.ladders import PublishedStays, place_version
from rungwright.store.tables import LadderRow, RungPlaceRow, SectionRow

AT_ONCE = 60
"""Sections that are placed at once: a tenth of a second each."""


@contextmanager
def refusals() -> Iterator[None]:
    """What a ladder cannot be, told as a problem with the request. Raises ProblemError 422."""
    try:
        yield
    except RequestProblem as error:
        raise invalid(error.problems) from None
    except PublishedStays as error:
        raise invalid([FieldProblem("/ladder", str(error))]) from None


def checked_draft(draft: LadderDraft, rules: CompiledRules) -> None:
    """Raises ProblemError 422 for names and values that the rule base does not know."""
    with refusals():
        report(draft.ladder, rules)


def current(store: Store, caller: Caller, id: str, versions: Collection[int] | None) -> LadderRow:
    """What is to be edited. Raises NotAllowed, NotThere, Stale."""
    caller.must_coach()
    with store.reading() as session:
        row = Ladders(session, caller).find(id)
    if versions is not None and row.version not in versions:
        raise Stale(Ladders.what, id)
    return row


def write(store: Store, caller: Caller, row: LadderRow, ladder: Ladder, *, archived: bool | None = None) -> None:
    """Put a document in the place of `row`, unless somebody was quicker. Raises ProblemError 422, Stale."""
    with refusals(), store.writing() as session:
        Ladders(session, caller).change(row.id, {row.version}, ladder, archived=archived)


def replace(
    store: Store, caller: Caller, id: str, versions: Collection[int] | None, draft: LadderDraft, rules: CompiledRules
) -> None:
    """Raises ProblemError 422, NotAllowed, NotThere, Stale."""
    row = current(store, caller, id, versions)
    if draft.ladder.id != row.body.id:
        detail = f"this is {draft.ladder.id!r}, and {row.body.id!r} is kept here; keep it as a ladder of its own"
        raise invalid([FieldProblem("/ladder/id", detail)])
    checked_draft(draft, rules)
    write(store, caller, row, draft.ladder, archived=draft.archived)


def edit(
    store: Store,
    caller: Caller,
    id: str,
    versions: Collection[int] | None,
    edits: Sequence[Edit],
    rules: CompiledRules,
) -> None:
    """All edits or none. Raises ProblemError 422 at the edit that is refused, NotAllowed, NotThere, Stale."""
    row = current(store, caller, id, versions)
    forks = [FieldProblem(f"/edits/{i}", "fork it at its own address") for i, e in enumerate(edits) if e.do == "fork"]
    if forks:
        raise invalid(forks)
    with refusals():
        ladder, _ = edited(row.body, edits, rules)
    write(store, caller, row, ladder)


def edit_from(
    store: Store, caller: Caller, id: str, version: int, edits: Sequence[Edit], rules: CompiledRules
) -> tuple[Ladder, LadderMerge] | None:
    """Edits made in a version that somebody may have changed since: then both are put together.

    None where it was saved; else the edited document and the conflicts. Raises as `edit`.
    """
    with store.reading() as session:
        ladders = Ladders(session, caller)
        newest = ladders.find(id).version
        # A version is published or opened as it was seen, not as it has become since.
        if newest == version or any(e.do in ("publish", "revise") for e in edits):
            newest = None
        base = ladders.at_version(id, version)
    if newest is None:
        edit(store, caller, id, {version}, edits, rules)
        return None
    caller.must_coach()
    with refusals():
        mine, _ = edited(base, edits, rules)
    draft = LadderMergeDraft(from_version=version, ladder=mine)
    made, saved = put_together(store, caller, id, {newest}, draft, rules)
    return None if saved else (mine, made)


def put_together(
    store: Store,
    caller: Caller,
    id: str,
    versions: Collection[int] | None,
    draft: LadderMergeDraft,
    rules: CompiledRules,
) -> tuple[LadderMerge, bool]:
    """The merge, and whether it was saved: not before each conflict is settled.

    Raises ProblemError 422, NotAllowed, NotThere, Stale.
    """
    row = current(store, caller, id, versions)
    with store.reading() as session, named_in("/from_version", "version"):
        base = Ladders(session, caller).at_version(id, draft.from_version)
    sides = {at: "first" if stands == "kept" else "second" for at, stands in draft.choices.items()}
    with refusals(), pointing({"/second": "/ladder", "/first": "/ladder", "/base": "/from_version"}):
        made = merge(base, row.body, draft.ladder, rules, choices=sides)
    if any(conflict.at not in sides for conflict in made.conflicts):
        return made, False
    # Where nothing was added, what was published stays published.
    if made.ladder != row.body.model_copy(update={"published": None}):
        write(store, caller, row, made.ladder)
    return made, True


def started_from(ladders: Ladders, id: str, edit: Ladder) -> int:
    """The version that an edit was most likely made in: of those after the same published one, the one most like it.

    Of several alike it is the first, which takes nothing for agreed that was changed since. Raises NotThere.
    """
    row = ladders.find(id)
    versions = [(row.version, row.body), *((past.version, past.body) for past in ladders.history(id))]
    alike = [v for v in versions if v[1].version == edit.version] or versions
    return min(alike, key=lambda v: (apart(edit, v[1]), v[0]))[0]


def forked(session: Session, caller: Caller, id: str, draft: LadderForkDraft, rules: CompiledRules) -> Ladder:
    """The document of the fork. Raises ProblemError 422, NotAllowed, NotThere."""
    caller.must_coach()
    with named_in("/published", "published version"):
        ladder = Ladders(session, caller).document(id, draft.published)
    with refusals():
        return edited(ladder, [Fork(do="fork", id=document_id(ladder.challenge), name=draft.name)], rules)[0]


def as_file(ladder: Ladder) -> Response:
    """The file in which coaches share a ladder."""
    name = {"Content-Disposition": f'attachment; filename="{ladder.id}.json"'}
    return Response(written(ladder), 200, name, JSON)


def document_id(challenge: str) -> str:
    """A name for a new document that no other has."""
    return f"{challenge[:37]}_{new_id()}"


def put_on_rung(
    session: Session, caller: Caller, id: str, draft: RungPlaceDraft, versions: Collection[int] | None
) -> None:
    """Raises ProblemError 422 for a rung that the ladder does not have, NotAllowed, NotThere, Stale."""
    caller.must_coach()
    ladders = Ladders(session, caller)
    known = [rung.id for rung in ladders.find(id).body.rungs]
    named = [("/now_on", draft.now_on), ("/met/rung", draft.met and draft.met.rung)]
    wrong = [unknown(at, "rung of this ladder", rung, known) for at, rung in named if rung and rung not in known]
    if wrong:
        raise invalid(wrong)
    with named_in("/section_id", "section"):
        ladders.put(id, draft, versions)


def place_now(session: Session, caller: Caller, id: str, section: str) -> RungPlace:
    """Where a section stands, as it was put there. Raises NotThere."""
    row = Ladders(session, caller).place(id, section)
    return RungPlace(
        section_id=section,
        label=Sections(session, caller).find(section).body.label,
        now_on=row and row.now_on,
        week=row and row.week,
        met=row and row.met,
        version=place_version(row),
    )


def labels_on(session: Session, caller: Caller, id: str) -> dict[str, list[str]]:
    """Rung -> labels of the sections that were put on it. Raises NotThere."""
    sections, labels = Sections(session, caller), {}
    for section, stands in Ladders(session, caller).places(id).items():
        row = sections.find(section)
        if stands.now_on and not row.archived:
            labels.setdefault(stands.now_on, []).append(row.body.label)
    return {rung: sorted(names) for rung, names in labels.items()}


def standing(session: Session, caller: Caller, id: str, rules: CompiledRules) -> LadderSections:
    """Sections that stand on a ladder and those of its grades, by grade; needs are not looked at.

    Raises ProblemError 422, NotThere.
    """
    row = Ladders(session, caller).find(id)
    ladder, places = row.body, Ladders(session, caller).places(id)
    sections = Sections(session, caller)
    found = sections.list(after=None, limit=1000).items
    within = range(grade_number(ladder.low), grade_number(ladder.high) + 1)
    mine = [s for s in found if s.id in places or any(grade_number(g) in within for g in s.body.grades)]
    mine.sort(key=lambda s: (s.id not in places, s.body.grade_mid, s.body.label, s.id))
    at_once = sorted(mine[:AT_ONCE], key=lambda s: (s.body.grade_mid, s.body.label, s.id))
    shown = [_placed(session, caller, ladder, s, places.get(s.id), rules) for s in at_once]
    views = [
        RungPlace(
            section_id=s.id,
            label=s.body.label,
            now_on=p.now_on,
            week=p.week,
            met=p.met,
            version=place_version(places.get(s.id)),
        )
        for s, p in zip(at_once, shown, strict=True)
    ]
    with refusals():
        placement = place(LadderPlaceRequest(ladder=ladder, sections=shown), rules) if shown else None
    return LadderSections(sections=views, placement=placement, left_out=len(mine) - len(at_once))


def _placed(
    session: Session, caller: Caller, ladder: Ladder, row: SectionRow, place: RungPlaceRow | None, rules: CompiledRules
) -> PlacedSection:
    """A run counts for a rung where its settings were the rung's; others tell of the section alone."""
    sections, runs = Sections(session, caller), Runs(session, caller)
    years = sections.years(row)
    taught = [
        Taught(
            rung=rung_of(ladder, run.settings or {}),
            run=without_access(run, rules.base),
            earlier_year=earlier,
        )
        for earlier, sections_of in ((True, years[1:]), (False, years[:1]))
        for run in runs.evidence(sections_of, ladder.challenge)
    ]
    rungs = {rung.id for rung in ladder.rungs}
    told = place and place.met
    met = told if told and (told.rung is None or told.rung in rungs) else _met_before(runs, sections, ladder, years[1:])
    return PlacedSection(
        section=section_now(session, caller, row, rules.base, needs=False),
        taught=taught[-40:],
        # A rung that was taken out since is no place any more.
        now_on=place.now_on if place and place.now_on in rungs else None,
        week=place.week if place else None,
        met=met,
    )


def _met_before(runs: Runs, sections: Sections, ladder: Ladder, years: Sequence[str]) -> Met | None:
    """The last earlier year in which the same students met the challenge."""
    for year in years:
        found: list[Run] = runs.evidence([year], ladder.challenge)
        if found:
            grade = GRADE_CODES[int(sections.find(year).body.grade_mid + 0.5)]
            return Met(grade=grade, rung=rung_of(ladder, found[-1].settings or {}))
    return None


def other_of(
    session: Session, caller: Caller, id: str, *, other: str | None, published: int | None
) -> tuple[Ladder, Ladder]:
    """Two documents to compare: what is kept now, and another ladder or a published version.

    Raises NotThere.
    """
    ladders = Ladders(session, caller)
    row = ladders.find(id)
    if published is not None:
        return ladders.at_published(other or id, published), row.body
    if other is not None:
        return row.body, ladders.find(other).body
    past = ladders.history(id, published=True, limit=1)
    if not past:
        raise NotThere("published version before this one", id)
    return past[0].body, row.body
