"""The sheets of a kept lesson: the same words on screen and paper, in two languages, with a teacher's own lines."""

from __future__ import annotations

import html
import io
import re
import zipfile
from concurrent.futures import ThreadPoolExecutor

import pypdf
import pytest

from rungwright.domain.keeping import Role
from rungwright.domain.own_lines import Edits
from rungwright.rulebase import CompiledRules
from rungwright.sheets import Lesson, SheetName, Wanted, lines_of, sheets_of
from rungwright.store import ONE_PERSON, Caller, NotAllowed, OwnLines
from rungwright.store.forget import forget_section
from rungwright.store.keys import add_key
from rungwright.web.answering import plan_of
from rungwright.web.desk import open_desk
from tests.api.in_process import client_of
from tests.web.test_pages import form_of, kept_plan, sections

SPANISH = "?language=es&paper=a4"
SUPPORT = re.compile(r"strips, pegs and clips|access needs", re.IGNORECASE)


def squeezed(text: str) -> str:
    """Without what a line end or a picture may have put between words."""
    return re.sub(r"\s+", "", html.unescape(text))


def text_of(content: bytes) -> str:
    return "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages)


def lesson_of(client, store, rules: CompiledRules, plan: str, **wanted) -> Lesson:
    kept = plan_of(open_desk(rules, store), ONE_PERSON, plan.removeprefix("/plans/"))
    return Lesson(kept.answered.plan, rules.base, "both", Wanted(**wanted))


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_line_of_every_sheet_is_on_its_page(client, store, rules, language):
    plan = kept_plan(client, "Kestrel 4B")
    lesson = lesson_of(client, store, rules, plan, languages=(language,))
    for name in SheetName:
        if name in (SheetName.FIGURES, SheetName.LETTER):
            continue
        page = squeezed(re.sub("<[^>]+>", " ", client.get(f"{plan}/sheets/{name}?language={language}").text))
        [sheet] = sheets_of(lesson, name)
        lines = [line.text for line in lines_of(sheet)]
        assert lines and [text for text in lines if squeezed(text) not in page] == [], name


def test_a_sheet_is_marked_with_its_language(client):
    plan = kept_plan(client, "Kestrel 4B")
    text = client.get(f"{plan}/brief?language=en,es").text
    assert re.findall(r'<article[^>]*lang="(\w+)" data-sheet="(\w+)"', text) == [
        ("en", "brief"), ("es", "brief"), ("en", "record"), ("es", "record"),
    ]  # fmt: skip


def test_what_is_printed_is_what_is_asked_for(client):
    plan = kept_plan(client, "Kestrel 4B")
    for name in ("brief", "record", "figures", "stations", "discussion", "teacher", "kit"):
        answer = client.get(f"{plan}/sheets/{name}.pdf")
        assert answer.headers["content-type"] == "application/pdf" and answer.content.startswith(b"%PDF"), name
    box = pypdf.PdfReader(io.BytesIO(client.get(f"{plan}/sheets/brief.pdf{SPANISH}").content)).pages[0].mediabox
    # ISO 216: A4 is 210 mm by 297 mm; a point is 1/72 inch.
    assert [float(box.width), float(box.height)] == pytest.approx([210 / 25.4 * 72, 297 / 25.4 * 72], abs=0.5)
    assert "refugio" in text_of(client.get(f"{plan}/sheets/brief.pdf{SPANISH}").content).lower()
    usual, large = (
        len(pypdf.PdfReader(io.BytesIO(client.get(f"{plan}/sheets/brief.pdf?{q}").content)).pages)
        for q in ("", "large=yes")
    )
    assert large > usual


def test_all_sheets_come_in_one_file(client):
    plan = kept_plan(client, "Kestrel 4B")
    answer = client.get(f"{plan}/sheets.zip")
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        names = set(archive.namelist())
        assert archive.testzip() is None
    assert {"brief.pdf", "record.pdf", "figures.pdf", "stations.pdf", "teacher.pdf", "kit.pdf", "kit.csv"} <= names
    assert "letter.pdf" not in names, "the cupboard lacks nothing"
    assert answer.content == client.get(f"{plan}/sheets.zip").content


@pytest.mark.parametrize(
    ("address", "status", "said"),
    [
        ("sheets/breif", 404, "brief"),
        ("sheets/breif.pdf", 404, "brief"),
        ("sheets/figures", 404, "true size"),
        ("sheets/letter", 404, "no letter to print"),
        ("sheets/letter.pdf", 422, "no letter to print"),
        ("brief?language=xx", 400, "xx"),
        ("brief?paper=a3", 400, "a3"),
        ("sheets/brief/lines?language=xx", 400, "no language"),
        ("sheets/letter/lines", 404, "no such sheet"),
    ],
)
def test_what_cannot_be_printed_is_told(client, address, status, said):
    answer = client.get(f"{kept_plan(client, 'Kestrel 4B')}/{address}")
    assert answer.status_code == status and said in html.unescape(answer.text)


def test_paper_tells_of_no_support(client):
    plan = kept_plan(client, "Kestrel 1A", "easier")
    assert SUPPORT.search(client.get(plan).text), "its owner sees it on the screen"
    with zipfile.ZipFile(io.BytesIO(client.get(f"{plan}/sheets.zip").content)) as archive:
        for name in archive.namelist():
            content = archive.read(name)
            assert not SUPPORT.search(text_of(content) if name.endswith(".pdf") else content.decode()), name


def changed(client, address: str, **changes: str):
    """Send the form of own lines with changes."""
    form = form_of(client.get(address).text)
    return client.post(address, data={**form, **changes, "then": "save"})


def test_own_lines_are_on_the_screen_on_paper_and_on_the_next_answer(client):
    plan = kept_plan(client, "Kestrel 4B")
    lines = f"{plan}/sheets/brief/lines"
    answer = changed(
        client,
        lines,
        **{"text.need": "Our own story.", "text.write/record_line": "", "add.kit/figures": "1 pencil\n\n a rubber "},
    )
    assert (answer.status_code, answer.headers["location"]) == (303, f"{plan}/sheets/brief?language=en")
    for address in (plan, kept_plan(client, "Kestrel 4B", "easier")):
        page = client.get(f"{address}/brief").text
        assert "Our own story." in page and "<li>1 pencil</li><li>a rubber</li>" in page
        assert "Bad weather has caught" not in page and "Mark yes or no for each test" not in page
        printed = squeezed(text_of(client.get(f"{address}/sheets/brief.pdf").content))
        assert "Ourownstory." in printed and "arubber" in printed and "Marky" not in printed
    assert "Our own story." not in client.get(f"{plan}/brief?language=es").text
    assert "with your own lines (English)" in client.get(f"{plan}/sheets").text
    form = form_of(client.get(lines).text)
    assert (form["text.need"], form["text.write/record_line"], form["add.kit/figures"]) == (
        "Our own story.", "", "1 pencil\na rubber",
    )  # fmt: skip
    client.post(lines, data={"then": "ours", "seen": form["seen"]})
    assert "Bad weather has caught" in client.get(f"{plan}/brief").text


def test_a_line_that_keeps_people_safe_cannot_be_changed(client):
    plan = kept_plan(client, "Kestrel 4B")
    lines = f"{plan}/sheets/brief/lines"
    text = client.get(lines).text
    assert "it keeps people safe" in text and 'name="text.safety/' not in text
    changed(client, lines, **{"text.safety/rules_first": "Nothing comes first."})
    assert "Nothing comes first." not in client.get(f"{plan}/brief").text


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("text.criterion/load/yes", " ", "a criterion without it is none"),
        ("text.need", "x" * 401, "at most 400"),
        ("add.kit/figures", "x" * 401, "at most 400"),
        ("text.need", "Build 房子", "font of the sheets does not have"),
    ],
)
def test_own_lines_that_cannot_be_are_told_and_lose_nothing(client, field, value, said):
    plan = kept_plan(client, "Kestrel 4B")
    answer = changed(client, f"{plan}/sheets/brief/lines", **{field: value, "text.question/x": "kept"})
    assert answer.status_code == 422 and said in answer.text
    if value.strip():
        assert value in html.unescape(answer.text)
    assert "with your own lines" not in client.get(f"{plan}/sheets").text


def test_own_lines_that_somebody_else_changed_are_not_lost(client):
    """Two open the same sheet; the second to save is told, keeps what was typed, and may save it all the same."""
    lines = f"{kept_plan(client, 'Kestrel 4B')}/sheets/brief/lines"
    mine, theirs = (form_of(client.get(lines).text) for _ in range(2))
    assert client.post(lines, data={**theirs, "text.need": "Theirs."}).status_code == 303
    for late in ({**mine, "text.need": "Mine."}, {**mine, "then": "ours"}, {"then": "ours"}):
        answer = client.post(lines, data=late)
        assert answer.status_code == 409 and "changed elsewhere" in answer.text
        assert form_of(client.get(lines).text)["text.need"] == "Theirs."
    told = form_of(client.post(lines, data={**mine, "text.need": "Mine."}).text)
    assert told["text.need"] == "Mine."
    assert client.post(lines, data={**told, "text.need": "Mine."}).status_code == 303
    assert form_of(client.get(lines).text)["text.need"] == "Mine."


def test_own_lines_withdrawn_and_written_anew_are_others(client):
    lines = f"{kept_plan(client, 'Kestrel 4B')}/sheets/brief/lines"
    changed(client, lines, **{"text.need": "First."})
    old = form_of(client.get(lines).text)
    client.post(lines, data={**form_of(client.get(lines).text), "then": "ours"})
    changed(client, lines, **{"text.need": "Anew."})
    assert client.post(lines, data={**old, "text.need": "Old."}).status_code == 409


def test_the_first_own_lines_written_at_the_same_time_are_kept_once(client, site):
    lines = f"{kept_plan(client, 'Kestrel 4B')}/sheets/brief/lines"
    form = form_of(client.get(lines).text)

    def write(said: str) -> int:
        one = client_of(site)
        one.headers.update(client.headers)
        return one.post(lines, data={**form, "text.need": said}).status_code

    with ThreadPoolExecutor(4) as pool:
        assert sorted(pool.map(write, ["One.", "Two.", "Three.", "Four."])) == [303, 409, 409, 409]


def test_a_line_that_is_not_on_the_sheet_now_waits(client, store):
    plan = kept_plan(client, "Kestrel 4B")
    section = sections(client)["Kestrel 4B"].removeprefix("/sections/")
    with store.writing() as session:
        edits = Edits(reword={"kit/not_here": "Later."})
        OwnLines(session, ONE_PERSON).put(section, "shelter", "brief", "en", edits)
    assert "1 of your changes waits" in client.get(f"{plan}/sheets/brief/lines").text
    changed(client, f"{plan}/sheets/brief/lines", **{"text.need": "Ours."})
    with store.reading() as session:
        kept = OwnLines(session, ONE_PERSON).of(section, "shelter")["brief", "en"]
    assert kept.reword == {"kit/not_here": "Later.", "need": "Ours."}


def test_own_lines_are_the_owners_and_go_with_the_section(client, store):
    section = sections(client)["Kestrel 4B"].removeprefix("/sections/")
    with store.writing() as session:
        OwnLines(session, ONE_PERSON).put(section, "shelter", "brief", "en", Edits(remove=["need"]))
        add_key(session, label="Room 1", role=Role.TEACHER)
        other, _ = add_key(session, label="Room 2", role=Role.TEACHER)
    with store.writing() as session:
        someone = OwnLines(session, Caller("local", other.id, Role.TEACHER))
        with pytest.raises(NotAllowed):
            someone.put(section, "shelter", "brief", "en", Edits())
    with store.writing() as session:
        assert forget_section(session, ONE_PERSON, section)["own_lines"] == 1
