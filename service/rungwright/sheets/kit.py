"""What to get ready: kit of the groups and of the stations, what is short, what to cut, as a sheet and as a table."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass

from rungwright.domain.recommendation import KitItem
from rungwright.domain.units import length_mm
from rungwright.recommend.wording import sentence, tells_of_access
from rungwright.rulebase import RuleBase
from rungwright.rulebase.words import counted
from rungwright.sheets.blocks import Block, Cell, Column, Line, Lines, Sheet, Table
from rungwright.sheets.lesson import Lesson
from rungwright.sheets.speech import Speech

WHOLE = ("piece", "sheet", "cm2")
"""Units of which a part is of no use: what is there is counted down, what lacks up."""
CSV_COLUMNS = ("what", "for", "unit", "each_group", "groups", "class", "there", "short", "instead")


def kit(lesson: Lesson, *, large: bool) -> Sheet:
    answer, base = lesson.answer, lesson.base
    groups, needed = answer.section.groups, answer.kit
    rows = [_row(item, lesson) for item in needed.items]
    tools = dict.fromkeys(thing for station in needed.stations for thing in station.things)
    copies = {s.test: s.copies for s in answer.timetable.stations}
    blocks: list[Block] = [
        Lines(
            heading=f"For the groups: {counted(groups, 'set', 'sets')}",
            marker="none",
            lines=[Line(id="kit/kept_back", text="A tenth of the cupboard is kept back for spills and repairs.")],
        ),
        Table(
            columns=[
                Column(title="Ready", width="auto", align="center"),
                Column(title="What", width=2),
                Column(title="Each group", width=1.2),
                Column(title="Class", width=1.2),
                Column(title="There", width=1.2),
                Column(title="Short", width=1.2),
            ],
            rows=rows,
            row_mm=8,
        ),
    ]
    notes = [line for item in needed.items for line in _notes(item, base, groups)]
    if notes:
        blocks.append(Lines(lines=[Line(id=f"kit/note/{i}", text=text) for i, text in enumerate(notes)]))
    station_lines = []
    for station in needed.stations:
        times = counted(copies.get(station.test, 1), "set", "sets")
        names = ", ".join(base.names.get(thing, thing.replace("_", " ")) for thing in station.things)
        if station.things:
            station_lines.append(
                Line(id=f"kit/station/{station.test}", text=sentence(f"{station.label} ({times}): {names}"))
            )
    blocks.append(Lines(heading="For the stations", marker="box", lines=station_lines))
    noted = [(t, base.tools[t]) for t in tools if t in base.tools and base.tools[t].note]
    said = [Line(id=f"kit/tool/{t}", text=f"{sentence(tool.label)[:-1]}: {tool.note}") for t, tool in noted]
    blocks.append(Lines(lines=said))
    if needed.figures:
        f = needed.figures
        text = (
            f"{f.each_group * groups * f.sets} in all: {f.each_group} a set, {counted(f.sets, 'set', 'sets')} a group. "
            f"Print the figures sheet on card at 100 %, or draw them on card, {length_mm(f.width_mm, lesson.units)} "
            f"wide and {length_mm(f.height_mm, lesson.units)} tall."
        )
        blocks.append(Lines(heading="Figures", marker="box", lines=[Line(id="kit/figures", text=text)]))
    lots = ", ".join(lesson.english.amount(i, i.per_group) for i in needed.items if i.lever and i.per_group > 0)
    # A kit list lies about in the room: it does not tell of needs.
    told = [text for text in needed.preparation if not tells_of_access(text, lesson.base.levers)]
    ready = [
        f"Count out and cut {counted(groups, 'lot', 'lots')} of {lots}.",
        f"Print a brief and a record sheet for each group ({groups}), the class results once, and the station cards.",
        *(f"{p}." for p in told),
    ]
    blocks.append(
        Lines(
            heading=f"Before the lesson: about {needed.preparation_minutes:g} minutes, and the cutting",
            marker="box",
            lines=[Line(id=f"kit/ready/{i}", text=text) for i, text in enumerate(ready)],
        )
    )
    return Sheet(
        name="kit",
        language="en",
        title=f"Kit list: {answer.challenge.label}",
        section=answer.section.label,
        blanks=["Date"],
        points=lesson.teacher_points(large=large),
        blocks=blocks,
    )


@dataclass(frozen=True)
class Amounts:
    """A line of a kit in its measure: `30 × 30 cm (11¾ × 11¾ in)` for a group, `9 such pieces` for the class."""

    each: str
    all: str
    there: str
    short: str
    """empty where nothing is"""


def amounts_of(item: KitItem, english: Speech) -> Amounts:
    say = english.measure
    # What is cut to a size is counted in pieces of that size; card of no one kind, in pieces of card.
    cut, any_card = item.unit == "cm2", item.lever is None and item.material is None

    def told(n: float) -> str:
        if cut:
            return counted(n, "such piece", "such pieces")
        return counted(n, "piece", "pieces") if any_card else say(item, n)

    lot = item.per_group if cut else 1.0
    whole = math.floor if item.unit in WHOLE else float
    return Amounts(
        each=say(item, item.per_group) if cut else told(item.per_group),
        all=told(item.for_class / lot),
        there="not told" if item.there is None else told(whole(item.there / lot)),
        short=told(math.ceil(item.short / lot) if item.unit in WHOLE else item.short) if item.short else "",
    )


def _row(item: KitItem, lesson: Lesson) -> list[Cell]:
    said = amounts_of(item, lesson.english)
    return [
        Cell(boxes=[""]),
        Cell(text=item.label, bold=True),
        *(Cell(text=text) for text in (said.each, said.all, said.there)),
        Cell(text=said.short, bold=True),
    ]


def _notes(item: KitItem, base: RuleBase, groups: int) -> list[str]:
    notes = []
    if item.shares:
        lots = [f"{share.label} for {share.groups}" for share in item.shares]
        whole = sum(share.groups for share in item.shares)
        rest = "less than a whole lot" if item.short else "a mixed lot"
        mixed = f"; {groups - whole} left with {rest}" if whole < groups else ""
        notes.append(f"No one material is enough for all {groups} groups: {', '.join(lots)}{mixed}. One kind a group.")
    if item.short and item.instead_of:
        names = ", ".join(base.names[m] for m in item.instead_of)
        notes.append(f"Short of {item.label}: {names} would do the same.")
    return notes


def kit_csv(lesson: Lesson) -> str:
    """The same as RFC 4180, UTF-8, one line a thing: amounts in the kit's own measure, empty where not known."""
    answer, base = lesson.answer, lesson.base
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\r\n")
    write.writerow(CSV_COLUMNS)
    groups = answer.section.groups
    for item in answer.kit.items:
        instead = "; ".join(base.names[m] for m in item.instead_of)
        there = "" if item.there is None else f"{item.there:g}"
        amounts = [f"{item.per_group:g}", groups, f"{item.for_class:g}", there, f"{item.short:g}"]
        write.writerow([item.label, "groups", item.unit, *amounts, instead])
    copies = {s.test: s.copies for s in answer.timetable.stations}
    for station in answer.kit.stations:
        for thing in station.things:
            name = base.names.get(thing, thing.replace("_", " "))
            write.writerow([name, f"{station.label} station", "piece", "", "", copies.get(station.test, 1), "", "", ""])
    return out.getvalue()
