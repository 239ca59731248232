"""Commands about what is kept: backups, workspaces as files, rosters, forgetting, the log."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from rungwright.cli.terminal import BadInput, opened, opened_store, say

Workspace = Annotated[str, typer.Option(help="School or person, by name or id.")]
File = Annotated[Path, typer.Argument(help="File in JSON.")]


def backup(file: File) -> None:
    """Write everything that is kept into one file: for you alone, since needs and keys' digests are in it."""
    from rungwright.store.backup import backup as everything

    with opened_store(as_it_is=True) as store:
        _write_new(file, everything(store))
    say([f"Everything is in {file}. Keep it where only you can read it."])


def restore(
    file: File,
    replace: Annotated[bool, typer.Option("--replace", help="Put it in the place of what is kept now.")] = False,
) -> None:
    """Bring a backup back: all of it or, where something is wrong, nothing."""
    from rungwright.store.backup import restore as bring_back

    data = _read(file)
    with opened_store(as_it_is=True) as store:
        rows = bring_back(store, data, replace=replace)
    say([f"Back from {file}: {_counts(rows)}."])


def export(file: File, workspace: Workspace = "local") -> None:
    """Write a workspace into a file to take elsewhere. Needs stay behind, and answers worked out with them."""
    from rungwright.cli.keys import workspace_id
    from rungwright.store.keys import caller_for
    from rungwright.store.workspace_file import export as as_data

    with opened() as (_, rules):
        hidden = {name for name, lever in rules.base.levers.items() if lever.kind == "access"}
    with opened_store() as store, store.reading() as session:
        _write_new(file, as_data(session, caller_for(session, workspace_id(session, workspace)), hidden=hidden))
    say([f"The workspace is in {file}, without needs and keys."])


def import_(
    file: File,
    workspace: Workspace = "local",
    new_workspace: Annotated[bool, typer.Option("--new-workspace", help="Make that workspace.")] = False,
    owner: Annotated[str | None, typer.Option(help="Id of the key that its sections belong to from now on.")] = None,
) -> None:
    """Read in a workspace that was exported: all of it or, where something is wrong, nothing."""
    from rungwright.cli.keys import workspace_id
    from rungwright.store.keys import caller_for, find_key
    from rungwright.store.workspace_file import read_in

    data = _read(file)
    with opened_store() as store, store.writing() as session:
        place = workspace_id(session, workspace, new=new_workspace)
        if owner is not None and find_key(session, owner).workspace_id != place:
            raise BadInput(f"the key {owner!r} belongs to another workspace")
        rows = read_in(session, caller_for(session, place), data, owner=owner)
    say([f"Read in from {file}: {_counts(rows)}."])


def roster(
    where: Annotated[Path, typer.Argument(help="Folder or zip file with classes.csv and enrollments.csv.")],
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Tell what would be done, and do nothing.")] = False,
    grade: Annotated[str | None, typer.Option(help="Grade of classes that have none: KG or 01 to 12.")] = None,
    group_size: Annotated[int, typer.Option(min=1, max=8, help="Students a group, in new sections.")] = 3,
    minutes: Annotated[int, typer.Option(min=5, max=240, help="Length of a lesson, in new sections.")] = 45,
    workspace: Workspace = "local",
) -> None:
    """Make sections from a roster in the OneRoster CSV format. Students are counted and forgotten."""
    from rungwright.cli.keys import workspace_id
    from rungwright.domain.grades import grade_code
    from rungwright.rulebase.words import counted
    from rungwright.store.keys import caller_for
    from rungwright.store.oneroster import BadRoster, read_roster
    from rungwright.store.rosters import Usual, take_in

    try:
        usual = Usual(group_size, minutes, grade_code(grade) if grade is not None else None)
        read = read_roster(where)
    except (BadRoster, ValueError) as error:
        raise BadInput(f"{where}: {error}") from None
    except OSError as error:
        raise BadInput(f"{where}: cannot be read: {error.strerror or error}") from None
    with opened_store() as store, store.writing() as session:
        caller = caller_for(session, workspace_id(session, workspace))
        report = take_in(session, caller, read, usual, dry_run=dry_run)
    lines = [
        f"{p.fate:<9} {p.label}: grade {', '.join(p.grades)}, {counted(p.students, 'student')}" for p in report.placed
    ]
    lines += [f"skipped   {s.file} line {s.line}: {s.why}" for s in report.skipped]
    lines += [f"passed by {counted(count, 'row')} of {reason}" for reason, count in sorted(read.passed_over.items())]
    rows = " and ".join(f"{counted(count, 'row')} of {name}" for name, count in sorted(read.rows.items()))
    say([*lines, f"Read {rows or 'no rows'}." + (" Nothing was changed: this was a dry run." if dry_run else "")])


def forget(
    section: Annotated[str | None, typer.Option(help="Id of a section: with its needs, runs and answers.")] = None,
    workspace: Annotated[str | None, typer.Option(help="A whole workspace, by name or id, its keys too.")] = None,
    older_than: Annotated[
        int | None, typer.Option(min=1, help="Days: older runs, lessons, answers, log, archived sections.")
    ] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask again.")] = False,
) -> None:
    """Take something out for good. Backups and exported files that you have made are not touched."""
    from rungwright.cli.keys import workspace_id
    from rungwright.store import forget as kept
    from rungwright.store.keys import caller_of_section

    if sum(given is not None for given in (section, workspace, older_than)) != 1:
        raise BadInput("give exactly one of --section, --workspace and --older-than")
    if not yes and not typer.confirm("This cannot be undone. Forget it?"):
        raise BadInput("Nothing was forgotten.")
    with opened_store() as store:
        with store.writing() as session:
            if section is not None:
                gone = kept.forget_section(session, caller_of_section(session, section), section)
            elif workspace is not None:
                gone = kept.forget_workspace(session, workspace_id(session, workspace))
            else:
                gone = kept.forget_old(session, older_than)
        store.settle()
    say([f"Forgotten: {_counts(gone)}."])


def log(
    workspace: Workspace = "local",
    last: Annotated[int, typer.Option(min=1, max=10_000, help="How many lines.")] = 50,
) -> None:
    """Show who did what when, newest last."""
    from rungwright.cli.keys import workspace_id
    from rungwright.store import keys as kept
    from rungwright.store.entries import log_lines

    with opened_store() as store, store.reading() as session:
        names = {row.id: row.label for row in kept.keys(session)}
        lines = log_lines(session, workspace_id(session, workspace), last)
    for line in lines:
        who = names.get(line.caller, line.caller) if line.caller else "this computer"
        say([f"{line.at:%Y-%m-%d %H:%M:%S}Z  {who}  {line.did} {line.what} {line.entry_id}"])


COMMANDS: dict[str, Callable[..., None]] = {
    "backup": backup,
    "restore": restore,
    "export": export,
    "import": import_,
    "roster": roster,
    "forget": forget,
    "log": log,
}


def _write_new(file: Path, data: Any) -> None:
    """The whole file or none, readable by its owner alone. Raises BadInput where there is one already."""
    if file.exists():
        raise BadInput(f"{file}: is there already; give another name")
    made = None
    try:
        handle, made = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
        with os.fdopen(handle, "w", encoding="utf-8") as stream:
            json.dump(data, stream, ensure_ascii=False, indent=1)
            stream.write("\n")
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(made, file)
    except OSError as error:
        if made is not None:
            Path(made).unlink(missing_ok=True)
        raise BadInput(f"{file}: cannot be written: {error.strerror or error}") from None


def _read(file: Path) -> Any:
    try:
        return json.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise BadInput(f"{file}: cannot be read: {error.strerror or error}") from None
    except ValueError:
        raise BadInput(f"{file}: is not JSON") from None


def _counts(rows: dict[str, int]) -> str:
    told = [f"{count} {name.replace('_', ' ')}" for name, count in rows.items() if count]
    return ", ".join(told) or "nothing"
