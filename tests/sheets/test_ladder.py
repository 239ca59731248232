"""A ladder on paper: tagged, alike each time, on the paper that was asked, the chart on one page."""

from __future__ import annotations

import io
import re

import pypdf
import pytest

from rungwright.api.demo import ladder_demo
from rungwright.domain.ladder import MOST_RUNGS, Ladder
from rungwright.ladders.draft import NOW
from rungwright.ladders.report import report
from rungwright.sheets import LadderSheet, NotPrintable, PaperName, ladder_printed
from rungwright.sheets.ladder import hand_out, spoken, steps, wall_chart

POINTS_A_MM = 72 / 25.4
ON_IT = {"r1": ["Kestrel 4A", "Kestrel 4B"], "r2": [f"Kestrel class {n}" for n in range(9)]}


def document(**changes) -> Ladder:
    return Ladder.model_validate({**ladder_demo("check")["ladder"], **changes})


@pytest.fixture(scope="module")
def ladder() -> Ladder:
    return document()


@pytest.fixture(scope="module")
def told(ladder, rules):
    return report(ladder, rules, "both")


def opened(content: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(content))


def text_of(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in opened(content).pages).split())


@pytest.mark.parametrize("paper", list(PaperName))
@pytest.mark.parametrize("name", list(LadderSheet))
def test_it_is_tagged_alike_each_time_and_of_the_size_of_the_paper(ladder, told, rules, name, paper):
    # A missing text alternative is an error of the compiler under PDF/UA-1.
    made = ladder_printed(name, ladder, told, rules.base, paper=paper, sections=ON_IT)
    assert made == ladder_printed(name, ladder, told, rules.base, paper=paper, sections=ON_IT)
    pdf = opened(made)
    root = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] and "/StructTreeRoot" in root and root["/Lang"] == "en"
    assert pdf.metadata.title == ladder.name
    assert b"pdfuaid:part" in root["/Metadata"].get_data()
    size = {PaperName.LETTER: (215.9, 279.4), PaperName.A4: (210, 297)}[paper]  # ANSI/ASME Y14.1; ISO 216
    if name == LadderSheet.WALL_CHART:
        size = size[::-1]
    for page in pdf.pages:
        box = (float(page.mediabox.width), float(page.mediabox.height))
        assert box == pytest.approx([mm * POINTS_A_MM for mm in size], abs=0.1)


def test_the_chart_says_each_rung_and_what_it_asks_and_no_section(ladder, told, rules):
    text = text_of(ladder_printed(LadderSheet.WALL_CHART, ladder, told, rules.base, sections=ON_IT))
    for rung in told.rungs:
        assert rung.name in text and rung.new_demand.text in text
    assert "Kestrel" not in text, "students read it"
    assert told.standing in text


@pytest.mark.parametrize("paper", list(PaperName))
@pytest.mark.parametrize("rungs", [1, 2, 6, 7, 9, 10, MOST_RUNGS])
def test_the_chart_keeps_to_one_page(told, rules, paper, rungs):
    """Even where every rung has a name and a demand as long as the plan has any."""
    long = max((r.new_demand for r in told.rungs), key=lambda d: len(d.text))
    rung = told.rungs[1].model_copy(update={"name": "Room for five in every wind", "new_demand": long})
    many = [
        rung.model_copy(update={"id": f"r{i}", "number": i + 1, "demand": rung.demand + 0.4 * i}) for i in range(rungs)
    ]
    made = ladder_printed(
        LadderSheet.WALL_CHART, document(), told.model_copy(update={"rungs": many}), rules.base, paper=paper
    )
    assert len(opened(made).pages) == 1


def test_the_chart_is_there_in_spanish_with_what_a_coach_wrote_as_it_is(rules):
    """Names and demands of the plan are said in Spanish; a name of a coach's own and the ladder's stay."""
    data = ladder_demo("check")["ladder"]
    data["rungs"][1]["name"] = "Our own rung"
    ladder = Ladder.model_validate(data)
    told = report(ladder, rules, "both")
    made = ladder_printed(LadderSheet.WALL_CHART, ladder, told, rules.base, language="es")
    assert opened(made).trailer["/Root"]["/Lang"] == "es"
    text = text_of(made)
    for said in ("El refugio de la montaña", "Primer refugio", "Our own rung", "Peldaño", "Borrador", ladder.name):
        assert said in text
    for rung in told.rungs:
        assert rung.new_demand.text not in text
    published = {**data, "version": 2, "published": {"version": 2, "on": "2026-11-20", "by": "Coaches"}}
    chart = spoken(rules.base, Ladder.model_validate(published), "es")
    assert chart.standing.endswith("Versión 2, publicada el 2026-11-20 por Coaches.")
    assert spoken(rules.base, document(version=2), "es").standing.endswith("después de la versión 2.")


def test_every_name_and_demand_of_the_plan_is_said_in_each_other_language(ladder, rules):
    plan = rules.base.ladders["shelter"]
    demands = [plan.first, *(ask for climb in plan.climbs for ask in climb.asks.values())]
    chart = spoken(rules.base, ladder, "es")
    said = {demand.text: chart(demand.text) for demand in demands}
    assert all(text != other for text, other in said.items()) and len(set(said.values())) == len(demands)
    names = {demand.name: chart(demand.name) for demand in demands}
    assert all(name != other for name, other in names.items()) and len(set(names.values())) == len(names)
    assert chart(NOW) == "Como está ahora"


@pytest.mark.parametrize(("name", "language"), [("wall_chart", "fr"), ("hand_out", "es")])
def test_a_language_that_is_not_there_is_told(ladder, told, rules, name, language):
    with pytest.raises(NotPrintable) as caught:
        ladder_printed(LadderSheet(name), ladder, told, rules.base, language=language)
    assert caught.value.field == "language"


def test_a_rung_is_not_parted_over_two_pages(rules):
    data = ladder_demo("check")["ladder"]
    first, second = data["rungs"]
    data["rungs"] = [first, *({**second, "id": f"s{i}", "name": f"Rung number {i}"} for i in range(11))]
    ladder = Ladder.model_validate(data)
    told = report(ladder, rules, "both")
    pdf = opened(ladder_printed(LadderSheet.HAND_OUT, ladder, told, rules.base))
    pages = [" ".join(page.extract_text().split()) for page in pdf.pages]
    assert len(pages) > 1
    for i, rung in enumerate(told.rungs):
        ends = told.rungs[i + 1].name if i + 1 < len(told.rungs) else "Care"
        (page,) = [page for page in pages if f"{i + 1}. {rung.name} (" in page]
        whole = page.split(f"{i + 1}. {rung.name} (")[1].split(f"{i + 2}. {ends}")[0]
        assert rung.new_demand.standard.text in whole, rung.name


def test_the_hand_out_holds_reasons_settings_and_what_comes_first(ladder, told, rules):
    text = text_of(ladder_printed(LadderSheet.HAND_OUT, ladder, told, rules.base, sections=ON_IT))
    for rung in told.rungs:
        assert f"{rung.number}. {rung.name}" in text
        for change in rung.changes:
            assert change.reason.text in text and change.to_text in text
    for setting in told.rungs[0].settings:
        assert setting.text in text
    assert "On it now: Kestrel 4A and Kestrel 4B." in text
    assert "safety rules come first" in text
    assert not re.search(r"logit|demand \d|%", text)


def test_large_print_is_large(ladder, told, rules):
    said = spoken(rules.base, ladder, "en")
    assert hand_out(ladder, told, said, {}, large=True, width=180).points >= 18
    assert hand_out(ladder, told, said, {}, large=False, width=180).points < 18


@pytest.mark.parametrize("version", [0, 2])
@pytest.mark.parametrize("published", [None, {"version": 2, "on": "2026-11-20", "by": "Coaches"}])
def test_paper_says_as_the_answer_does_how_a_ladder_stands(rules, version, published):
    ladder = document(version=2 if published else version, published=published)
    assert spoken(rules.base, ladder, "en").standing == report(ladder, rules, "both").standing


def test_what_was_agreed_here_is_on_the_hand_out(rules):
    data = ladder_demo("check")["ladder"]
    data["rungs"][0]["agreed"] = {"by": "Coaches of Kestrel Ridge", "on": "2026-11-20", "text": "Groups of two."}
    ladder = Ladder.model_validate(data)
    text = text_of(ladder_printed(LadderSheet.HAND_OUT, ladder, report(ladder, rules, "both"), rules.base))
    assert "Agreed here: Groups of two. (Coaches of Kestrel Ridge, 2026-11-20)" in text


def test_steps_rise_with_what_is_asked(told):
    drawn = steps(told.rungs, {}, width=180, rise=26)
    heights = [float(y) for y in re.findall(r"V([\d.]+)H", drawn)]
    assert heights == sorted(heights, reverse=True) and heights[0] - heights[-1] == pytest.approx(26, abs=0.01)


def test_more_sections_than_there_is_room_for_are_counted(told):
    drawn = steps(told.rungs, ON_IT, width=180, rise=26)
    assert "and 3 more" in drawn and "Kestrel class 5" in drawn and "Kestrel class 6" not in drawn


def test_names_are_escaped_in_the_picture(ladder, told, rules):
    rungs = [told.rungs[0].model_copy(update={"name": 'Wind & "rain" <all>'}), told.rungs[1]]
    drawn = steps(rungs, {}, width=180, rise=26)
    assert "&amp;" in drawn and "&lt;all&gt;" in drawn
    ladder_printed(LadderSheet.WALL_CHART, ladder, told.model_copy(update={"rungs": rungs}), rules.base)


def test_letters_that_the_font_lacks_are_told(told, rules):
    with pytest.raises(NotPrintable, match="does not have"):
        ladder_printed(LadderSheet.WALL_CHART, document(name="冬の山小屋"), told, rules.base)


def test_both_are_sheets_with_lines_of_their_own(ladder, told, rules):
    for made in (
        wall_chart(told, spoken(rules.base, ladder, "en"), points=12, width=250),
        hand_out(ladder, told, spoken(rules.base, ladder, "en"), ON_IT, large=False, width=180),
    ):
        ids = [line.id for block in made.blocks for line in getattr(block, "lines", [])]
        assert len(ids) == len(set(ids))
