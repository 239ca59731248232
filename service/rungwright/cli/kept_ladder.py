"""`rungwright ladder` with ladders that are kept: the same as on the pages, in the same store."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

import typer

from rungwright.cli.ladder_source import must_be_kept, row_of, state, told_in_lines
from rungwright.cli.terminal import NOT_SOUND, BadInput, opened, opened_store, say, wrapped

if TYPE_CHECKING:
    from rungwright.domain.ladder import Ladder
    from rungwright.store import Store

Id = Annotated[str, typer.Argument(help="Id of a ladder that is kept, as `ladder list` shows it.")]
Seen = Annotated[
    int | None, typer.Option(min=1, help="The state that you looked at; refused where it was changed since.")
]


def list_(
    workspace: Annotated[str, typer.Option(help="School or person, by name or id.")] = "local",
    put_away: Annotated[bool, typer.Option("--put-away", help="Those put away instead of those in use.")] = False,
) -> None:
    """List the ladders that are kept, with their ids."""
    from rungwright.cli.keys import workspace_id
    from rungwright.ladders.report import standing
    from rungwright.store import Ladders
    from rungwright.store.keys import caller_for

    with opened_store() as store, store.reading() as session:
        caller = caller_for(session, workspace_id(session, workspace))
        rows = Ladders(session, caller).list(after=None, limit=1000, archived=put_away).items
    if not rows:
        say(["None was put away." if put_away else "There is none yet. `ladder keep FILE` keeps one."])
    for row in rows:
        many = f"{len(row.body.rungs)} rungs" if len(row.body.rungs) > 1 else "one rung"
        say([f"{row.id}  {row.body.name}", wrapped(f"{many}. {standing(row.body)} {state(row)}", 4)])


def keep(
    file: Annotated[str, typer.Argument(help="A ladder's file; - reads standard input.")],
    into: Annotated[str | None, typer.Option(help="Id of a kept ladder of which the file is an edit.")] = None,
    seen: Annotated[
        int | None, typer.Option(min=1, help="The state that the edit was made in; else the likeliest.")
    ] = None,
    choose: Annotated[
        list[str] | None, typer.Option(help="For what both changed: PLACE=kept or PLACE=file; once for each.")
    ] = None,
    workspace: Annotated[str, typer.Option(help="School or person, by name or id; not with --into.")] = "local",
) -> None:
    """Keep a ladder that was drafted or shared, or put an edit together with what is kept."""
    from rungwright.api.ladder_keeping import checked_draft
    from rungwright.cli.keys import workspace_id
    from rungwright.cli.reading import name_of, read_data
    from rungwright.domain.ladder_keeping import LadderDraft
    from rungwright.store import Ladders
    from rungwright.store.keys import caller_for

    if into is None and (seen is not None or choose):
        raise BadInput("--seen and --choose need --into")
    draft = _valid(LadderDraft, {"ladder": read_data(file)}, name_of(file))
    with opened() as (_, rules), opened_store() as store, told_in_lines(name_of(file)):
        if into is not None:
            return _put_into(store, into, draft.ladder, seen, choose or [], rules)
        checked_draft(draft, rules)
        with store.writing() as session:
            row = Ladders(session, caller_for(session, workspace_id(session, workspace))).add(draft.ladder)
    say([f"Kept as {row.id}: {row.body.name}."])


def publish(
    id: Id,
    by: Annotated[str, typer.Option(help="The team that agreed on it, never a person's name.")],
    on: Annotated[str | None, typer.Option(help="Day, such as 2026-12-01; today if left out.")] = None,
    seen: Seen = None,
) -> None:
    """Publish a draft: the version never changes, and the next draft begins from it."""
    from rungwright.api.ladder_keeping import edit
    from rungwright.domain.ladder_keeping import LadderEdits
    from rungwright.ladders.report import standing

    said = {"do": "publish", "by": by, "on": on or date.today().isoformat()}
    edits = _valid(LadderEdits, {"edits": [said]}, id).edits
    with opened() as (_, rules), opened_store() as store, told_in_lines(id):
        with store.reading() as session:
            caller, _ = row_of(session, id)
        edit(store, caller, id, None if seen is None else {seen}, edits, rules)
        with store.reading() as session:
            row = row_of(session, id)[1]
    say([wrapped(f"{row.body.name}: {standing(row.body)}")])


def fork(
    id: Annotated[str, typer.Argument(help="Id of a ladder that is kept; ID:2 is its published version 2.")],
    name: Annotated[str, typer.Option(help="Name of the new ladder.")],
) -> None:
    """Keep a ladder of your own that starts as another one."""
    from rungwright.api.ladder_keeping import forked
    from rungwright.domain.ladder_keeping import LadderForkDraft
    from rungwright.store import Ladders

    kept = must_be_kept(id, "`ladder keep` keeps a file")
    draft = _valid(LadderForkDraft, {"name": name, "published": kept.published}, id)
    with opened() as (_, rules), opened_store() as store, told_in_lines(id):
        with store.reading() as session:
            caller, _ = row_of(session, kept.id)
            made = forked(session, caller, kept.id, draft, rules)
        with store.writing() as session:
            row = Ladders(session, caller).add(made)
    say([f"Kept as {row.id}: {row.body.name}."])


COMMANDS = {"list": list_, "keep": keep, "publish": publish, "fork": fork}


def _put_into(store: Store, id: str, edit: Ladder, seen: int | None, choose: list[str], rules: Any) -> None:
    """Saved once each conflict is settled; until then they are told, and nothing is written."""
    from rungwright.api.ladder_keeping import put_together, started_from
    from rungwright.cli.ladder_text import put_into_told
    from rungwright.domain.ladder_keeping import LadderMergeDraft
    from rungwright.store import Ladders

    with store.reading() as session:
        caller, row = row_of(session, id)
        if seen is None:
            seen = started_from(Ladders(session, caller), id, edit)
    if not 1 <= seen <= row.version:
        raise BadInput(f"--seen {seen}: {row.body.name} has states 1 to {row.version}")
    draft = LadderMergeDraft(from_version=seen, ladder=edit, choices=_choices(choose))
    made, saved = put_together(store, caller, id, {row.version}, draft, rules)
    say(put_into_told(made, [c for c in made.conflicts if c.at not in draft.choices]))
    if not saved:
        raise typer.Exit(NOT_SOUND)
    with store.reading() as session:
        say(["", f"Put together with state {row.version}. {state(row_of(session, id)[1])}"])


def _choices(choose: list[str]) -> dict[str, str]:
    sides = {"kept": "kept", "file": "sent"}
    found = {}
    for text in choose:
        at, _, side = text.rpartition("=")
        if side not in sides or not at:
            raise BadInput(f"--choose {text!r}: say PLACE=kept or PLACE=file, with a place that was told")
        found[at] = sides[side]
    return found


def _valid(model: Any, data: Any, where: str) -> Any:
    """Raises BadInput with a line for each field that is wrong."""
    from rungwright.api.fields import validate
    from rungwright.cli.reading import problem_lines

    found = validate(model, data)
    if isinstance(found, list):
        raise BadInput(*problem_lines(where, found))
    return found
