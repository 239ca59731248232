"""The page the groups get: the need, what the build must do with the settings chosen, kit, time, tests, care."""

from __future__ import annotations

from collections.abc import Callable

from rungwright.domain.grades import Band
from rungwright.domain.recommendation import Caution
from rungwright.rulebase.sheet_words import Said, by_band
from rungwright.sheets.bands import points
from rungwright.sheets.blocks import Block, Card, Cards, Cell, Column, Heading, Line, Lines, Paragraph, Sheet, Table
from rungwright.sheets.drawings import picture
from rungwright.sheets.questions import WHILE_BUILDING, asked_in, for_groups
from rungwright.sheets.speech import Speech

MOST_QUESTIONS = 6
PHASES = (("plan", "plan_minutes"), ("build", "build_minutes"), ("improve", "redesign_minutes"))


def brief(speech: Speech, *, large: bool) -> Sheet:
    label = speech.label
    blocks: list[Block] = []
    if aloud := label("read_aloud"):
        blocks.append(Paragraph(line=Line(id="read_aloud", text=aloud), size="small"))
    blocks += [
        Paragraph(line=Line(id="need", text=speech.text(speech.told.need) or ""), size="large"),
        Lines(heading=label("must"), marker="none", lines=[]),
        Cards(cards=[criterion_card(speech, name) for name in criteria_of(speech)]),
        _kit(speech),
        *_prices(speech),
        Heading(text=label("time") or ""),
        _time(speech),
    ]
    if work := speech.levers(speech.layout.work):
        blocks.append(Lines(heading=label("work"), lines=[Line(id=f"work/{n}", text=t) for n, t in work]))
    blocks += [
        Lines(heading=label("testing"), lines=testing_lines(speech)),
        safety(speech),
        Lines(heading=label("write_down"), lines=_written(speech)),
    ]
    asked = questions(speech)
    if asked:
        blocks.append(Lines(heading=label("questions"), lines=asked))
    if early := _early(speech):
        blocks.append(Lines(heading=speech.text(speech.common.moments["finished_early"]), lines=early))
    return Sheet(
        name="brief",
        language=speech.language,
        title=speech.text(speech.challenge.title) or speech.answer.challenge.label,
        section=speech.answer.section.label,
        blanks=[label("group"), label("date")],
        points=points(speech.band, large=large),
        blocks=blocks,
    )


def criteria_of(speech: Speech) -> list[str]:
    """The criteria that are part of this lesson, in the challenge's order."""
    return [line.criterion for line in speech.answer.brief.criteria]


def criterion_card(speech: Speech, name: str) -> Card:
    words, layout = speech.challenge.criteria[name], speech.layout.criteria[name]
    title = speech.text(words.name) or name
    how = speech.levers(Said(lever=lever) for lever in layout.levers)
    return Card(
        id=f"criterion/{name}",
        picture=picture(layout.picture),
        alt=title,
        title=title,
        must=Line(id=f"criterion/{name}/must", text=speech.text(words.must) or ""),
        how=[Line(id=f"criterion/{name}/{lever}", text=text) for lever, text in how],
        counts=speech.label("counts") or "",
        yes=Line(id=f"criterion/{name}/yes", text=speech.text(words.yes) or ""),
    )


def _kit(speech: Speech) -> Lines:
    lines = [
        Line(id=f"kit/{item.lever}", text=speech.amount(item, item.per_group))
        for item in speech.answer.kit.items
        if item.lever and item.per_group > 0
    ]
    figures = speech.answer.kit.figures
    if figures:
        noun = speech.told.figure if figures.each_group == 1 else speech.told.figures
        lines.append(Line(id="kit/figures", text=f"{figures.each_group} {noun}"))
    return Lines(heading=speech.label("kit"), marker="box", columns=2, lines=lines)


def _prices(speech: Speech) -> list[Block]:
    """The price list and the budget, where materials are priced."""
    priced = speech.answer.kit.price_list
    if priced is None:
        return []
    items = {item.lever: item for item in speech.answer.kit.items}
    rows = [
        [Cell(text=speech.amount(items[p.lever], p.amount)), Cell(text=str(p.price), bold=True)] for p in priced.prices
    ]
    budget = speech.label("budget", n=priced.budget)
    return [
        Lines(heading=speech.label("prices"), marker="none", lines=[Line(id="prices/budget", text=budget or "")]),
        Table(
            columns=[
                Column(title=speech.label("you_buy") or "", width=3),
                Column(title=speech.label("price") or "", align="center"),
            ],
            rows=rows,
        ),
    ]


def _time(speech: Speech) -> Table:
    used = [(name, lever) for name, lever in PHASES if speech.settings.get(lever)]
    return Table(
        columns=[Column(title=speech.label(name) or "", align="center") for name, _ in used],
        rows=[[Cell(text=speech.setting(lever), bold=True) for _, lever in used]],
    )


def testing_lines(speech: Speech) -> list[Line]:
    """How tests go: their order, what is checked while building, what happens to a build that breaks."""
    names = {test: speech.test(test) for test in speech.challenge.tests}
    order = [names[t] for t in speech.answer.timetable.order]
    said = [speech.listed(word.lower() for word in order)]
    lines = []
    if len(order) == 1:
        lines.append(Line(id="testing/order", text=speech.label("one_test", tests=said[0]) or ""))
    elif order:
        text = speech.label(
            "order", tests=said[0], first=speech.listed(w.lower() for w in order[:-1]), last=order[-1].lower()
        )
        lines.append(Line(id="testing/order", text=text or ""))
    building = [names[t].lower() for t in names if t not in speech.answer.timetable.order]
    if building:
        text = speech.label("while_building", tests=speech.listed(building))
        lines.append(Line(id="testing/while_building", text=text or ""))
    lines += [Line(id=f"testing/{name}", text=text) for name, text in speech.levers(speech.layout.testing)]
    return [*lines, Line(id="testing/not_tested", text=speech.label("not_tested") or "")]


def _written(speech: Speech) -> list[Line]:
    named = ("record_line", "record_changes") if speech.again else ("record_once",)
    return [Line(id=f"write/{name}", text=text) for name in named if (text := speech.label(name))]


def questions(speech: Speech) -> list[Line]:
    """Questions for the groups, a few of each prompt in turn, so that no prompt takes all the room."""
    prompts = [p for p in for_groups(speech) if p.about not in WHILE_BUILDING]
    lists = [[(p.rule.id, i, q) for i, q in enumerate(asked_in(speech, p))] for p in prompts]
    longest = max(map(len, lists), default=0)
    turns = [row[i] for i in range(longest) for row in lists if i < len(row)]
    return [Line(id=f"question/{rule}/{i}", text=text) for rule, i, text in turns[:MOST_QUESTIONS]]


def _early(speech: Speech) -> list[Line]:
    if speech.band == Band.K_2:
        return []  # the youngest do not read ahead: the teacher asks
    return [
        Line(id=f"early/{i}", text=text)
        for prompt in speech.answer.prompts
        if prompt.about == "finished_early"
        for i, text in enumerate(asked_in(speech, prompt))
    ]


def safety(speech: Speech, at: Callable[[Caution], bool] = lambda _: True) -> Lines:
    """Every safety line of a chosen test, in the words of the band; with `at`, those of one place."""
    lines = [
        Line(id=f"safety/{rule}", text=by_band(speech.common.safety[rule], speech.band) or "", fixed=True)
        for rule in dict.fromkeys(c.rule.id for c in speech.answer.cautions if at(c))
        if rule in speech.common.safety
    ]
    rules_first = Line(id="safety/rules_first", text=speech.label("rules_first") or "", fixed=True)
    return Lines(heading=speech.label("safety"), marker="care", framed=True, lines=[*lines, rules_first])
