"""Sheets over HTTP: the body of a recommendation, answered with paper."""

from __future__ import annotations

import csv
import io

import icalendar
import pypdf
import pytest

from rungwright.api.problems import ProblemType
from rungwright.sheets import SheetName
from tests.api.test_error_shape import problem_in

SHEETS = [name.value for name in SheetName]


@pytest.mark.parametrize("name", SHEETS)
def test_each_sheet_is_a_pdf_and_the_same_each_time(client, request_body, name):
    made = [client.post(f"/v1/prints/{name}.pdf", json=request_body) for _ in range(2)]
    assert made[0].status_code == 200, made[0].text
    assert made[0].headers["content-type"] == "application/pdf"
    assert f'filename="{name}.pdf"' in made[0].headers["content-disposition"]
    assert pypdf.PdfReader(io.BytesIO(made[0].content)).pages
    assert made[0].content == made[1].content


def test_how_it_is_wanted_stands_in_the_query(client, request_body):
    query = {"paper": "a4", "large": "true", "language": "en,es", "story": "2"}
    response = client.post("/v1/prints/brief.pdf", params=query, json=request_body)
    pdf = pypdf.PdfReader(io.BytesIO(response.content))
    assert float(pdf.pages[0].mediabox.height) == pytest.approx(297 * 72 / 25.4, abs=0.1)
    text = " ".join(page.extract_text() for page in pdf.pages)
    assert "animals" in text and "animales" in text


def test_the_kit_table_and_the_calendar(client, request_body):
    table = client.post("/v1/prints/kit.csv", json=request_body)
    assert table.headers["content-type"].startswith("text/csv")
    assert "craft sticks" in [row["what"] for row in csv.DictReader(io.StringIO(table.text))]
    book = client.post("/v1/prints/lesson.ics", params={"start": "2026-12-01T09:15"}, json=request_body)
    assert book.headers["content-type"].startswith("text/calendar")
    assert len(icalendar.Calendar.from_ical(book.content).walk("VEVENT")) == 1


@pytest.mark.parametrize(
    ("path", "query", "pointer"),
    [
        ("brief.pdf", {"language": "fr"}, "/language"),
        ("brief.pdf", {"language": "en,en"}, "/language"),
        ("brief.pdf", {"language": "English"}, "/language"),
        ("brief.pdf", {"story": "5"}, "/story"),
        ("brief.pdf", {"paper": "a3"}, "/paper"),
        ("brief.pdf", {"colour": "red"}, "/colour"),
        ("letter.pdf", {"needed_by": "soon"}, "/needed_by"),
        ("lesson.ics", {"start": "2026-12-01T09:15Z"}, "/start"),
        ("lesson.ics", {"start": ["2026-12-01T09:15", "2026-12-02T09:15"]}, "/start"),
        ("lesson.ics", {}, "/start"),
    ],
)
def test_a_wrong_query_is_told_at_its_parameter(client, request_body, path, query, pointer):
    response = client.post(f"/v1/prints/{path}", params=query, json=request_body)
    problem = problem_in(response, 400, ProblemType.INVALID_QUERY)
    assert [error.pointer for error in problem.errors] == [pointer]


@pytest.mark.parametrize("path", [*(f"{name}.pdf" for name in SHEETS), "kit.csv", "lesson.ics?start=2026-12-01T09:15"])
def test_a_wrong_body_is_told_as_for_a_recommendation(client, request_body, path):
    request_body["section"]["studnets"] = 3
    problem = problem_in(client.post(f"/v1/prints/{path}", json=request_body), 422, ProblemType.INVALID_REQUEST)
    assert [error.pointer for error in problem.errors] == ["/section/studnets"]


def test_a_letter_that_nobody_needs_is_told(client, request_body):
    names = ("craft_stick", "copy_paper", "foil", "masking_tape", "index_card")
    request_body["section"]["materials"] = [{"material": name, "quantity": 500} for name in names]
    problem = problem_in(client.post("/v1/prints/letter.pdf", json=request_body), 422, ProblemType.INVALID_REQUEST)
    assert "no letter" in problem.errors[0].detail


def test_a_challenge_of_ones_own_needs_words(client, request_body, rules):
    own = rules.base.challenges["shelter"].model_dump(mode="json")
    request_body["challenge"], request_body["runs"] = {**own, "id": "hut"}, []
    problem = problem_in(client.post("/v1/prints/brief.pdf", json=request_body), 422, ProblemType.INVALID_REQUEST)
    assert [error.pointer for error in problem.errors] == ["/challenge"]
