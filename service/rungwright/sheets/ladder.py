"""A ladder on paper: a chart for the wall, and a hand-out with every rung, its reasons and its settings.

Students read the chart, so it is there in each language of the words; the hand-out is the teachers' own.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from html import escape

from rungwright.domain.grades import band_of, grade_number, grades_said
from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_report import LadderReport, RungReport
from rungwright.domain.recommendation import CheckResult
from rungwright.recommend.wording import listed, sentence
from rungwright.rulebase import RuleBase
from rungwright.rulebase.problems import nearest
from rungwright.rulebase.sheet_words import RULES_LANGUAGE, LadderWords, by_band
from rungwright.sheets import typesetting
from rungwright.sheets.bands import LARGE_TEACHER_POINTS, TEACHER_POINTS
from rungwright.sheets.blocks import Block, Cell, Column, Line, Lines, Paragraph, Picture, Sheet, Table
from rungwright.sheets.drawings import svg
from rungwright.sheets.lesson import NotPrintable
from rungwright.sheets.paper import PAPERS, Paper, PaperName
from rungwright.sheets.teacher import LOCAL_RULES

CHART_POINTS = (16.0, 14.0, 12.0, 11.0, 10.0, 9.0, 8.0)
"""Letters of the wall chart: the largest with which it keeps to one page; agreed here."""

CHART_RISE_MM, HAND_OUT_RISE_MM = 44.0, 26.0
"""How much higher the last of the steps is than the first; agreed here."""

_EDGE = 0.6
"""Half of the line around the steps."""

Labels = Mapping[str, Sequence[str]]
"""rung -> labels of the sections that stand on it"""


class LadderSheet(StrEnum):
    WALL_CHART = "wall_chart"
    HAND_OUT = "hand_out"


@dataclass(frozen=True)
class Spoken:
    """What the chart says in one language; `said` has the plan's own names and texts in it."""

    language: str
    words: LadderWords
    title: str
    standing: str
    said: Mapping[str, str]

    def __call__(self, text: str) -> str:
        """A name or a text; what a coach wrote stays as it is."""
        return self.said.get(text, text)


def spoken(base: RuleBase, ladder: Ladder, language: str) -> Spoken:
    """Raises NotPrintable for a language that is not there."""
    if language not in base.words:
        raise NotPrintable("language", f"there is no language {language!r}{nearest(language, base.words)}")
    words = base.words[language].common.ladder
    standing = _standing(ladder, words)
    if language == RULES_LANGUAGE:
        return Spoken(language, words, ladder.name, standing, {})
    plan, theirs = base.ladders[ladder.challenge], base.words[language].challenges[ladder.challenge]
    pairs = [(plan.first, theirs.first_rung)]
    pairs += [(ask, theirs.rungs[climb.lever][key]) for climb in plan.climbs for key, ask in climb.asks.items()]
    said = {base.words[RULES_LANGUAGE].common.ladder.now: words.now}
    for ours, other in pairs:
        said |= {ours.name: other.name, ours.text: other.text}
    title = by_band(theirs.title, band_of(grade_number(ladder.scale_grade)))
    return Spoken(language, words, title, f"{ladder.name} · {standing}", said)


def _standing(ladder: Ladder, words: LadderWords) -> str:
    if at := ladder.published:
        return words.published.format(version=at.version, on=at.on.isoformat(), by=at.by)
    return words.draft_after.format(version=ladder.version) if ladder.version else words.draft


def ladder_printed(
    name: LadderSheet,
    ladder: Ladder,
    report: LadderReport,
    base: RuleBase,
    *,
    paper: PaperName = PaperName.LETTER,
    large: bool = False,
    language: str = RULES_LANGUAGE,
    sections: Labels | None = None,
) -> bytes:
    """The sheet as a PDF; `sections` stand on the hand-out, `language` is the chart's.

    Raises NotPrintable for letters that the font lacks and for a language that is not there.
    """
    size = PAPERS[paper]
    try:
        if name == LadderSheet.WALL_CHART:
            size = replace(size, width=size.height, height=size.width)
            return typesetting.pdf([_on_one_page(report, spoken(base, ladder, language), size)], size)
        if language != RULES_LANGUAGE:
            raise NotPrintable(
                "language", "the hand-out is for teachers, in the language of the rules; the chart has more"
            )
        made = hand_out(
            ladder, report, spoken(base, ladder, language), sections or {}, large=large, width=_inside(size)
        )
        return typesetting.pdf([made], size)
    except typesetting.UnknownLetters as error:
        raise NotPrintable("ladder", f"{error}: write names and agreements without") from None


def _inside(size: Paper) -> float:
    """Width that is printed on [mm]."""
    return size.width - 2 * size.margin


def _on_one_page(report: LadderReport, said: Spoken, size: Paper) -> Sheet:
    for points in CHART_POINTS:
        made = wall_chart(report, said, points=points, width=_inside(size))
        if len(typesetting.page_pictures([made], size, dots_an_inch=10)) == 1:
            break
    return made


def wall_chart(report: LadderReport, said: Spoken, *, points: float, width: float) -> Sheet:
    """One page to hang up: the steps, and what each newly asks. No section stands on it: students read it."""
    rungs = [rung.model_copy(update={"name": said(rung.name)}) for rung in report.rungs]
    rows = [
        [
            Cell(text=str(rung.number), bold=True),
            Cell(text=rung.name, bold=True),
            Cell(text=said(rung.new_demand.text)),
        ]
        for rung in rungs
    ]
    columns = [
        Column(title="", width="auto"),
        Column(title=said.words.rung, width=1),
        Column(title=said.words.asks, width=3),
    ]
    alt = said.words.steps.format(rungs="; ".join(f"{rung.number}: {rung.name}" for rung in rungs))
    return Sheet(
        name=LadderSheet.WALL_CHART.value,
        language=said.language,
        title=said.title,
        section=said.standing,
        blanks=[],
        points=points,
        blocks=[_steps(rungs, {}, alt, width, CHART_RISE_MM), Table(columns=columns, rows=rows)],
    )


def hand_out(
    ladder: Ladder, report: LadderReport, said: Spoken, sections: Labels, *, large: bool, width: float
) -> Sheet:
    """For teachers, to be read before a rung is chosen."""
    told = "; ".join(f"{r.number}: {r.name}" + _on_it(sections.get(r.id)) for r in report.rungs)
    alt = said.words.steps.format(rungs=told)
    same = "; ".join(f"{s.label}: {s.text}" for s in report.same)
    blocks: list[Block] = [
        _steps(report.rungs, sections, alt, width, HAND_OUT_RISE_MM),
        Paragraph(line=Line(id="ladder/scale", text=_who(ladder)), size="small"),
        Lines(
            heading="The same on every rung",
            marker="none",
            framed=True,
            lines=[
                Line(id="ladder/locked", text=report.locked),
                Line(id="ladder/same", text=sentence(same)),
            ],
        ),
    ]
    for rung in report.rungs:
        blocks += _rung(rung, sections, first_run=report.first_run)
    blocks.append(
        Lines(
            heading="Care",
            marker="care",
            framed=True,
            lines=[
                Line(id="ladder/cautions", text="Each lesson's own pages list its cautions.", fixed=True),
                Line(id="ladder/local", text=LOCAL_RULES, fixed=True),
            ],
        )
    )
    return Sheet(
        name=LadderSheet.HAND_OUT.value,
        language=said.language,
        title=said.title,
        section=said.standing,
        blanks=[],
        points=LARGE_TEACHER_POINTS if large else TEACHER_POINTS,
        blocks=blocks,
    )


def _who(ladder: Ladder) -> str:
    usual = ladder.usual
    lengths = sorted({session.minutes for session in usual.sessions})
    minutes = " or ".join(str(n) for n in lengths)
    lessons = "one lesson" if len(usual.sessions) == 1 else f"{len(usual.sessions)} lessons"
    return (
        f"Checked for a class of {usual.students} in groups of {usual.group_size}, {lessons} of {minutes} minutes. "
        "Each step is as high as it asks more of the groups."
    )


def _rung(rung: RungReport, sections: Labels, *, first_run: str | None) -> Iterator[Block]:
    at = f"ladder/{rung.id}"
    start = "; every section starts the year here" if rung.id == first_run else ""
    told = [f"Now: {rung.new_demand.text}"]
    told += [f"{c.text[:1].upper()}{c.text[1:]}. {c.reason.text}" for c in rung.changes]
    # A rung is not parted over two pages: each of its lines keeps to the next, but for the last.
    yield Lines(
        heading=f"{rung.number}. {rung.name} ({grades_said(rung.grades)}{start})",
        with_next=True,
        lines=[Line(id=f"{at}/change/{i}", text=text) for i, text in enumerate(told)],
    )
    if not rung.changes:
        settings = [sentence(f"{s.label}: {s.text}") for s in rung.settings]
        lines = [Line(id=f"{at}/setting/{i}", text=text) for i, text in enumerate(settings)]
        yield Lines(columns=2, with_next=True, lines=lines)
    rest = [rung.suits.text]
    if rung.new_demand.standard:
        rest.append(f"{rung.new_demand.standard.code}: {rung.new_demand.standard.text}")
    rest += [f"Agreed here: {b.supports} ({b.label.removeprefix('Agreed by ')}, {b.locator})" for b in rung.basis]
    rest += [f"{c.kind.capitalize()}: {c.verdict.said}. {c.text}" for c in rung.checks if _to_look_at(c)]
    if on_it := sections.get(rung.id):
        rest.append(sentence(f"On it now: {listed(list(on_it))}"))
    notes = [Line(id=f"{at}/note/{i}", text=text) for i, text in enumerate(rest)]
    if len(notes) > 1:
        yield Lines(marker="none", with_next=True, lines=notes[:-1])
    yield Lines(marker="none", lines=notes[-1:])


def _to_look_at(check: CheckResult) -> bool:
    return check.verdict != "clear" and (check.kind != "kit" or check.verdict == "not_feasible")


def _steps(rungs: Sequence[RungReport], sections: Labels, alt: str, width: float, rise: float) -> Picture:
    return Picture(svg=steps(rungs, sections, width=width, rise=rise), alt=alt, width=width)


def _on_it(labels: Sequence[str] | None) -> str:
    return f", with {listed(list(labels))}" if labels else ""


def steps(rungs: Sequence[RungReport], sections: Labels, *, width: float, rise: float) -> str:
    """Steps in black and grey, each as high as it asks more; labels of the sections stand on them."""
    wide = (width - 2 * _EDGE) / len(rungs)
    low, high = min(r.demand for r in rungs), max(r.demand for r in rungs)
    letters = min(4.6, wide / 8)
    lines = [textwrap.wrap(r.name, max(int(wide / letters / 0.56), 6)) for r in rungs]
    least = letters * (2.4 + 1.2 * max(len(part) for part in lines))
    tall = [least + rise * (r.demand - low) / ((high - low) or 1) for r in rungs]
    flags = [_labels(sections.get(r.id, ()), int(wide / letters / 0.5)) for r in rungs]
    top = max(t + 1.3 * letters * len(f) for t, f in zip(tall, flags, strict=True)) + 3
    parts = []
    stairs = "".join(f"V{top - t:.2f}H{_EDGE + (i + 1) * wide:.2f}" for i, t in enumerate(tall))
    parts.append(
        f'<path d="M{_EDGE} {top:.2f}{stairs}V{top:.2f}z" fill="#ececec" stroke="#000" stroke-width="{2 * _EDGE}"/>'
    )
    for i, rung in enumerate(rungs):
        x, y = _EDGE + i * wide + letters * 0.8, top - tall[i]
        parts.append(_text(x, y + letters * 1.5, letters * 1.25, str(rung.number), bold=True))
        parts += [_text(x, y + letters * (2.8 + 1.2 * k), letters, line) for k, line in enumerate(lines[i])]
        parts += [
            _text(x, y - letters * (0.75 + 1.3 * (len(flags[i]) - 1 - k)), letters * 0.9, label)
            for k, label in enumerate(flags[i])
        ]
    return svg(width, top + 1, "".join(parts))


def _labels(labels: Sequence[str], most: int) -> list[str]:
    shown = [label if len(label) <= most else label[: most - 1].rstrip() + "…" for label in labels[:6]]
    return [*shown, f"and {len(labels) - 6} more"] if len(labels) > 6 else shown


def _text(x: float, y: float, size: float, text: str, *, bold: bool = False) -> str:
    weight = ' font-weight="700"' if bold else ""
    return f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size:.2f}"{weight}>{escape(text)}</text>'
