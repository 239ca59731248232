"""The teacher's pages: what changes and why, care, the minutes, how to score, what to watch for."""

from __future__ import annotations

from collections.abc import Iterator

from rungwright.domain.lever import LeverKind
from rungwright.domain.recommendation import CheckResult, Proposal, StationVisit
from rungwright.recommend.wording import grades, minutes, sentence, without_school_rules
from rungwright.rulebase.words import counted
from rungwright.sheets.blocks import Block, Heading, Line, Lines, Paragraph, Picture, Sheet
from rungwright.sheets.drawings import bars
from rungwright.sheets.lesson import Lesson
from rungwright.sheets.questions import WHILE_BUILDING

LOCAL_RULES = "Your school's safety rules come first, wherever they say more or something else."


def teacher(lesson: Lesson, *, large: bool) -> Sheet:
    answer = lesson.answer
    blocks = [*_summary(lesson), *_changes(lesson), *_care(lesson), *_minutes(lesson), *_checks(lesson)]
    blocks += [*_scoring(lesson), *_watching(lesson), *_standards(lesson)]
    return Sheet(
        name="teacher",
        language="en",
        title=f"{answer.challenge.label}: the lesson",
        section=answer.section.label,
        blanks=["Date"],
        points=lesson.teacher_points(large=large),
        blocks=blocks,
    )


def _lines(name: str, texts: list[str]) -> list[Line]:
    return [Line(id=f"teacher/{name}/{i}", text=text) for i, text in enumerate(texts)]


def _summary(lesson: Lesson) -> Iterator[Block]:
    answer, section = lesson.answer, lesson.answer.section
    sizes = sorted(set(section.group_sizes), reverse=True)
    groups = " and ".join(
        f"{section.group_sizes.count(n)} group{'s' if section.group_sizes.count(n) > 1 else ''} of {n}" for n in sizes
    )
    lessons = "one lesson" if section.lessons == 1 else f"{section.lessons} lessons"
    who = f"{grades(section.grades)}: {counted(section.students, 'student', 'students')}, {groups}; "
    who += f"{section.minutes} minutes in {lessons}."
    who += f" Asked: {answer.asked}."
    yield Paragraph(line=Line(id="teacher/who", text=who))
    yield Paragraph(line=Line(id="teacher/headline", text=answer.summary.headline), size="large")
    yield Paragraph(line=Line(id="teacher/first", text=f"{answer.summary.first_test} {answer.summary.evidence}"))


def _changes(lesson: Lesson) -> Iterator[Block]:
    # What is set for access stands on the owner's screen alone, never on paper.
    proposals = [p for p in lesson.answer.proposals if p.kind != LeverKind.ACCESS]
    if not proposals:
        return
    yield Heading(text="What changes, and why")
    for p in proposals:
        yield Lines(
            heading=f"{p.label[:1].upper()}{p.label[1:]}: {p.to_text} instead of {p.from_text}",
            marker="none",
            lines=_lines(p.lever, [p.reason.text, _proof(p)]),
        )


def _proof(p: Proposal) -> str:
    behind = "; ".join(dict.fromkeys(b.label for b in p.basis))
    needs = f" {' '.join(p.needs)}" if p.needs else ""
    return f"{p.effect.text} Stands on: {behind}.{needs}"


def _care(lesson: Lesson) -> Iterator[Block]:
    """Every caution in full; that the school's rules come first is said once, for all."""
    lines = [Line(id="care/local", text=LOCAL_RULES, fixed=True)]
    for caution in lesson.answer.cautions:
        lines.append(Line(id=f"care/{caution.rule.id}", text=without_school_rules(caution.text), fixed=True))
    yield Lines(heading="Care", marker="care", framed=True, lines=lines)


def _minutes(lesson: Lesson) -> Iterator[Block]:
    table = lesson.answer.timetable
    spare = table.minutes_available - table.minutes_needed
    if spare == 0:
        told = "none to spare"
    else:
        told = f"{spare:g} to spare" if spare > 0 else f"{-spare:g} too many: see the time check below"
    yield Heading(text=f"The minutes: {table.minutes_needed:g} of {table.minutes_available:g}, {told}")
    for number, there in enumerate(table.lessons, start=1):
        phases = [p for p in table.phases if p.lesson == number]
        said = ", ".join(f"{p.label} {p.minutes:g}" for p in phases)
        title = f"Lesson {number}: " if len(table.lessons) > 1 else ""
        yield Picture(svg=bars(phases, minutes=there, width=180), alt=f"{title}{said} minutes")
        yield Paragraph(line=Line(id=f"teacher/phases/{number}", text=f"{title}{said} (minutes)."), size="small")
    stations = [s for t in table.order for s in table.stations if s.test == t]
    copies = "; ".join(_visit(s, called=bool(table.calls)) for s in stations)
    manner = f"Groups are tested {table.manner}."
    order = [s.label for s in stations]
    every = f"Every group follows one order: {', '.join(order)}." if len(order) > 1 else ""
    yield Lines(lines=_lines("tests", [f"{manner} {every}".strip(), f"{sentence(copies)}", *_called(lesson)]))
    yield Lines(framed=True, marker="none", lines=[Line(id="teacher/late", text=table.late)])
    if len(table.lessons) > 1:
        between = "Between lessons keep each build on its tray, dry and labelled with its group's number."
        yield Paragraph(line=Line(id="teacher/between", text=between), size="small")


def _visit(station: StationVisit, *, called: bool) -> str:
    if called:
        return f"{station.label}, {station.copies} at a time, {minutes(station.visit_minutes)} a group"
    return f"{station.label}, {minutes(station.queue_minutes)} until every group has been tested"


def _called(lesson: Lesson) -> list[str]:
    """That there is a calling order, and how near it comes to the least that any could take."""
    table = lesson.answer.timetable
    if not table.calls or lesson.answer.section.groups == 1:
        return []
    ends = max(c.start + c.minutes for c in table.calls)
    met = abs(ends - table.least_minutes) < 0.06
    bound = "No other order ends sooner." if met else f"No order could end before {table.least_minutes:g} minutes."
    return [f"Who goes when stands on the sheet Calling order, {minutes(ends)} in the first round. {bound}"]


def _checks(lesson: Lesson) -> Iterator[Block]:
    yield Lines(
        heading="Checked",
        lines=[Line(id=f"teacher/check/{c.kind}", text=_check(c)) for c in lesson.answer.after.checks],
    )


def _check(check: CheckResult) -> str:
    help_ = "" if check.verdict == "clear" or not check.mend else f" What would help: {' '.join(check.mend[:3])}"
    return f"{check.kind[:1].upper()}{check.kind[1:]}: {check.verdict.said}. {check.text}{help_}"


def _scoring(lesson: Lesson) -> Iterator[Block]:
    brief = lesson.answer.brief
    labels = {c.criterion: c for c in brief.criteria}
    texts = [f"{lesson.base.names.get(name, name)}: {line.counts_as_yes}" for name, line in labels.items()]
    texts = [text[:1].upper() + text[1:] for text in texts]
    texts.append(
        "What broke before and cannot go on is not tested, never no. A close call is tested once more; the second "
        "result counts."
    )
    texts.append("Write down counts by group, never a student's name. Help by an adult is written beside the mark.")
    yield Lines(heading="How to score", lines=_lines("score", texts))


def _watching(lesson: Lesson) -> Iterator[Block]:
    texts = []
    # As the lesson goes: what an early group does comes last.
    for prompt in sorted(lesson.answer.prompts, key=lambda p: p.about == "finished_early"):
        if "/teacher/" in prompt.rule.id:
            texts += [f"Try it first: {q}" for q in prompt.questions]
        elif prompt.about in WHILE_BUILDING:
            when = {"stuck": "Stuck at minute 10", "finished_early": "Finished early, recorded but not required"}
            texts.append(f"{when[prompt.about]}: {' '.join(prompt.questions)}")
        else:
            about = lesson.base.names.get(prompt.about, prompt.about)
            texts.append(f"{about[:1].upper()}{about[1:]}: {' '.join(prompt.questions)}")
    if texts:
        yield Lines(heading="Watch for, and ask (never name the fix)", lines=_lines("watch", texts))


def _standards(lesson: Lesson) -> Iterator[Block]:
    texts = [f"{s.code}: {s.text}{f' {s.caution}' if s.caution else ''}" for s in lesson.answer.standards]
    if texts:
        note = "In our own words. A challenge can serve a standard; whether the lesson meets it, you judge."
        yield Lines(heading="Standards it can serve", lines=_lines("standard", [*texts, note]))
