"""Ladders as readable text: rungs from the gentlest up, each with what it newly asks and why."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rungwright.api.kept_views import LadderSections
from rungwright.cli.terminal import wrapped
from rungwright.domain.grades import grades_said
from rungwright.domain.ladder_report import (
    LadderAnswer,
    LadderComparison,
    LadderMerge,
    LadderPlacement,
    LadderReport,
    MergeConflict,
    RungReport,
    SectionPlace,
)
from rungwright.ladders.climb import STEP


def answer_told(answer: LadderAnswer) -> list[str]:
    report = answer.report
    lines = [answer.ladder.name, wrapped(f"{report.challenge}. {report.standing} {report.scale}")]
    lines += ["", wrapped("; ".join(f"{s.label}: {s.text}" for s in report.same) + ".", 2, "Same on every rung: ")]
    lines.append(wrapped(report.locked, 2))
    for rung in report.rungs:
        lines += ["", *_rung(rung, first_run=report.first_run)]
    lines += ["", wrapped("Each lesson's recommendation lists its cautions. Your school's safety rules come first.")]
    lines += _problems(report)
    if answer.notes:
        lines += ["", *(wrapped(note, 2, "-") for note in answer.notes)]
    return lines


def problems_told(answer: LadderAnswer) -> list[str]:
    report = answer.report
    lines = [answer.ladder.name, report.standing]
    for rung in report.rungs:
        step = "" if rung.step is None else f", {rung.step:+.2f} on the rung below"
        lines.append(
            wrapped(f"{rung.name}, {grades_said(rung.grades)}: demand {rung.demand:.2f}{step}", 4, f"{rung.number}.")
        )
    return lines + (_problems(report) or ["", "Nothing to mend."])


def _problems(report: LadderReport) -> list[str]:
    must = [wrapped(p.text, 2, "-") for p in report.problems if p.must]
    look = [wrapped(p.text, 2, "-") for p in report.problems if not p.must]
    return (["", "To mend before it is published", *must] if must else []) + (
        ["", "Worth a look", *look] if look else []
    )


def _rung(rung: RungReport, *, first_run: str | None) -> Iterator[str]:
    start = "; every section starts the year here" if rung.id == first_run else ""
    yield wrapped(f"{rung.number}. {rung.name} ({grades_said(rung.grades)}{start})")
    code = f" ({rung.new_demand.standard.code})" if rung.new_demand.standard else ""
    yield _fact("Now", rung.new_demand.text + code)
    if rung.changes:
        for i, change in enumerate(rung.changes):
            yield _fact("Changes" if i == 0 else "", change.text[:1].upper() + change.text[1:] + ".")
            yield _fact("", f"Why: {change.reason.text}")
    else:
        yield _fact("Settings", "; ".join(f"{s.label}: {s.text}" for s in rung.settings) + ".")
    if rung.step is not None:
        yield _fact("Step", f"{rung.step:.2f} on the scale of demand; {STEP[0]:.2f} to {STEP[1]:.2f} is even.")
    yield _fact("Suits", rung.suits.text)
    unclear = [c for c in rung.checks if c.verdict != "clear" and c.kind != "kit"] + [
        c for c in rung.checks if c.kind == "kit" and c.verdict == "not_feasible"
    ]
    for i, check in enumerate(unclear):
        yield _fact("Checks" if i == 0 else "", f"{check.kind.capitalize()}: {check.verdict.said}. {check.text}")
    if rung.pinned:
        yield _fact("Pinned", ", ".join(s.label for s in rung.settings if s.lever in rung.pinned) + ".")
    for basis in rung.basis:
        yield _fact("Agreed here", f"{basis.supports} {basis.label}, {basis.locator}.")


def _fact(label: str, text: str) -> str:
    return wrapped(text, 16, f"   {label}")


def placement_told(answer: LadderPlacement) -> list[str]:
    lines = [answer.ladder]
    for section in answer.sections:
        lines += ["", *_section(section)]
    if answer.spread:
        lines += ["", "Different rungs in one grade", *(wrapped(s.text, 2, "-") for s in answer.spread)]
    lines += ["", "Results by rung", *(wrapped(r.text, 2, "-") for r in answer.results)]
    lines += ["", "Kit of all sections", *(wrapped(line.text, 2, "-") for line in answer.kit.buy)]
    lines += [wrapped(week.text, 2, "-") for week in answer.kit.weeks]
    return lines + [wrapped(note, 2) for note in answer.kit.notes]


def standing_told(answer: LadderSections) -> list[str]:
    """The sections that are kept, on a ladder that is kept."""
    if answer.placement is None:
        return ["There is no section of these grades yet."]
    lines = placement_told(answer.placement)
    if answer.left_out:
        lines += ["", wrapped(f"{answer.left_out} more sections of these grades are not shown.")]
    return lines


def _section(section: SectionPlace) -> Iterator[str]:
    yield wrapped(f"{section.section} ({grades_said(section.grades)}): {section.name}")
    yield wrapped(f"{section.reason} {section.evidence}", 3)
    outlook = next(o for o in section.outlooks if o.rung == section.rung)
    for text in [*section.notes, *outlook.failing]:
        yield wrapped(text, 5, "   -")
    for move in (section.up, section.down):
        if move:
            yield wrapped(move.text, 5, "   -")


def comparison_told(answer: LadderComparison) -> list[str]:
    lines = [wrapped(change.text[:1].upper() + change.text[1:] + ".", 2, "-") for change in answer.changes]
    if not answer.same_everywhere:
        lines += ["", wrapped("What is the same everywhere differs, so results of the two cannot be compared.")]
    return lines or ["The two ladders are alike."]


def merge_told(answer: LadderMerge) -> list[str]:
    lines = _taken(answer, "From the first", "From the second")
    if answer.conflicts:
        lines += ["", "Both changed these in different ways; the first's stands until you choose"]
        lines += [wrapped(c.text[:1].upper() + c.text[1:] + ".", 2, "-") for c in answer.conflicts]
    else:
        lines += ["", "Nothing clashes."]
    return lines + _problems(answer.report)


def put_into_told(answer: LadderMerge, open_: Sequence[MergeConflict]) -> list[str]:
    """An edit put together with what is kept; `open_`: what is still to be chosen."""
    lines = _taken(answer, "Changed in what is kept", "Changed in the file")
    if not open_:
        return lines + _problems(answer.report)
    lines += ["", "Both changed these in different ways, so nothing was kept. Choose, kept or file:"]
    for conflict in open_:
        lines += [wrapped(conflict.text[:1].upper() + conflict.text[1:] + ".", 2, "-")]
        lines += [f"  --choose {conflict.at}=kept"]
    return lines


def _taken(answer: LadderMerge, first: str, second: str) -> list[str]:
    lines = [answer.ladder.name]
    for title, taken in ((first, answer.taken_from_first), (second, answer.taken_from_second)):
        lines += ["", title, *(wrapped(text, 2, "-") for text in taken)] if taken else []
    return lines
