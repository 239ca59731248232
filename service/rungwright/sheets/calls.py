"""Who is called to which station when, for the wall of the classroom: one timer for all, a column a station."""

from __future__ import annotations

from rungwright.sheets.bands import points
from rungwright.sheets.blocks import Block, Cell, Column, Line, Paragraph, Sheet, Table
from rungwright.sheets.speech import Speech


def calls(speech: Speech, *, large: bool) -> Sheet | None:
    """None where groups are not called to stations, or there is one group alone."""
    table, label = speech.answer.timetable, speech.label
    if not table.calls or speech.answer.section.groups == 1:
        return None
    said = ["calls_line", "calls_wait"]
    if speech.settings.get("test_manner") == "when_ready":
        said.insert(1, "calls_ready")
    lines = [(name, label(name) or "") for name in said]
    if any(phase.phase == "test_again" for phase in table.phases):
        lines.append(("calls_again", label("calls_again") or ""))
        if waited := _waited(speech):
            lines.append(("calls_waited", label("calls_waited", tests=speech.listed(waited)) or ""))
    blocks: list[Block] = [Paragraph(line=Line(id=f"calls/{name}", text=text)) for name, text in lines]
    return Sheet(
        name="calls",
        language=speech.language,
        title=label("calls") or "",
        section=speech.answer.section.label,
        blanks=[label("date") or ""],
        points=points(speech.band, large=large),
        blocks=[*blocks, _table(speech)],
    )


def _waited(speech: Speech) -> list[str]:
    """Tests that wait for the second round, and then see every group."""
    first = {call.test for call in speech.answer.timetable.calls}
    return [speech.test(test).lower() for test in speech.answer.timetable.order if test not in first]


def _table(speech: Speech) -> Table:
    table = speech.answer.timetable
    called = {(call.test, call.copy_) for call in table.calls}
    copies = {station.test: station.copies for station in table.stations}
    places = [(test, copy) for test in table.order for copy in range(1, copies[test] + 1) if (test, copy) in called]
    columns = [Column(title=speech.label("minute") or "", width="auto", align="center")]
    for test, copy in places:
        name = speech.test(test)
        columns.append(Column(title=f"{name} {copy}" if copies[test] > 1 else name, align="center"))
    rows = []
    for start in sorted({call.start for call in table.calls}):
        here = {(call.test, call.copy_): str(call.group) for call in table.calls if call.start == start}
        rows.append([Cell(text=f"{start:g}", bold=True), *(Cell(text=here.get(place, "")) for place in places)])
    return Table(columns=columns, rows=rows)
