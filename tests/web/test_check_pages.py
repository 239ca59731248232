"""The checks as pages: each is a form of its own signature, answers as the interface does, and tells what is wrong."""

from __future__ import annotations

import html
import re
from urllib.parse import parse_qsl, urlencode, urlsplit

import pytest

from rungwright.checks.kinds import CALIBRATIONS, CHECKS
from rungwright.web.once import new_once
from tests.web.test_pages import form_of, kept_plan, sections

EVERY = [(f"/checks/{n}", k) for n, k in CHECKS.items()] + [(f"/calibrations/{n}", k) for n, k in CALIBRATIONS.items()]
IDS = [address for address, _ in EVERY]


def words(text: str) -> str:
    return html.unescape(re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", text)))


def lead(text: str) -> str:
    return html.unescape(re.search(r'class="lead"[^>]*>([^<]*)<', text)[1])


def told_wrong(text: str) -> dict[str, str]:
    return {name: html.unescape(said) for name, said in re.findall(r'id="wrong-([^"]*)">([^<]*)<', text)}


@pytest.mark.parametrize(("address", "kind"), EVERY, ids=IDS)
def test_every_check_is_listed_and_asks_for_each_of_its_inputs(client, address, kind):
    assert f'href="{address}"' in client.get("/checks").text
    text = client.get(address).text
    assert set(re.findall(r'<(?:input|select|textarea)[^>]* name="(\w+)"', text)) == set(kind.told)
    assert "worked-out" not in text, "nothing is worked out before something was asked"
    for name in kind.required - {"units"}:
        field = re.search(rf'<(?:input|textarea|select) id="{name}"[^>]*>', text)[0]
        assert " required" in field or field.startswith("<select"), name


@pytest.mark.parametrize(("address", "kind"), EVERY, ids=IDS)
def test_its_example_is_answered_as_the_interface_answers_it(client, address, kind):
    link = re.search(r'href="([^"]*)">Fill in an example', client.get(address).text)[1]
    text = client.get(html.unescape(link)).text
    answer = client.post(f"/v1{address}", json=dict(kind.example)).json()
    said = words(text)
    assert lead(text) == answer["text"]
    for amount in (answer["value"], *answer["amounts"]):
        assert amount["text"] in said, amount["name"]
    for used in answer["inputs"]:
        assert used["text"] in said, used["name"]
    assert len(re.findall("<li>", re.search(r"Stands on</summary><ol>(.*?)</ol>", text)[1])) == len(answer["sources"])
    if verdict := answer.get("verdict"):
        assert f'class="verdict {verdict}"' in text and verdict.replace("_", " ").capitalize() in said


def test_a_verdict_has_a_colour_a_shape_and_a_word_of_its_own(client):
    for mass, verdict in (("50 g", "clear"), ("1500 g", "uncertain"), ("15 kg", "not_feasible")):
        text = client.get(f"/checks/load?{urlencode({'mass': mass, 'spots': 2})}").text
        assert f'class="worked-out {verdict}"' in text, mass
        assert verdict.replace("_", " ").capitalize() in text


def test_units_of_either_kind_say_the_same(client):
    metric, us = (
        lead(client.get(f"/checks/snow?{urlencode({'mass': m, 'width': w, 'depth': w})}").text)
        for m, w in (("453.59237 g", "152.4 mm"), ("1 lb", "6 in"))
    )
    assert metric == us


@pytest.mark.parametrize(
    ("query", "field", "said"),
    [
        ({"sticks": "12"}, "mass", "required"),
        ({"mass": "370"}, "mass", "unit"),
        ({"mass": "370 mm"}, "mass", "a mass"),
        ({"mass": "-1 g"}, "mass", "from 1 g"),
        ({"mass": "370 g", "sticks": "many"}, "sticks", "whole number"),
        ({"mass": "370 g", "family": "span"}, "gap", "is needed for a bridge"),
        ({"mass": "370 g", "place": "elsewhere"}, "place", "builder"),
    ],
)
def test_what_is_wrong_stands_at_its_field_and_nothing_is_lost(client, query, field, said):
    answer = client.get(f"/checks/load?{urlencode(query)}")
    assert answer.status_code == 422 and "worked-out" not in answer.text
    assert said.lower() in told_wrong(answer.text)[field].lower()
    for name, value in query.items():
        if name not in ("family", "place"):
            assert f'name="{name}"' in answer.text and f'value="{value}"' in answer.text


def test_layers_are_told_one_a_line(client):
    query = {"water": "250 ml", "area": "350 cm2"}
    answer = client.get(f"/checks/heat?{urlencode({**query, 'layers': 'felt 5 mm' + chr(10) + 'card 0.5 mm'})}")
    assert answer.status_code == 200 and "felt 5 mm, card 0.5 mm" in answer.text
    wrong = client.get(f"/checks/heat?{urlencode({**query, 'layers': 'felt 5 mm' + chr(10) + 'fetl 5 mm'})}")
    assert "did you mean 'felt'" in told_wrong(wrong.text)["layers"]


def test_a_measured_value_leads_to_its_check(client):
    text = client.get("/calibrations/stick?stack=19+mm&count=10").text
    link = html.unescape(re.search(r'Use it</h2><ul><li><a href="([^"]*)"', text)[1])
    assert link.startswith("/checks/load?stick_thickness=")
    assert client.get(link).status_code == 422, "the weight is still to be told"
    assert client.get(f"{link}&mass=370+g").status_code == 200


def test_what_was_measured_in_the_room_goes_along_to_the_wind_check(client):
    """Ranges, as they were told: the wind where the build stands, and the friction on the tray."""
    told = form_of(client.get(sections(client)["Kestrel 4B"]).text)
    told |= {"label": "Measured room", "measured.wind_m_s": "1.8 to 2", "measured.friction": "0.28 to 0.34"}
    del told["version"]
    assert client.post("/sections", data={**told, "once": new_once()}).status_code == 303
    text = client.get(f"{sections(client)['Measured room']}/ask?ask=harder").text
    link = html.unescape(re.search(r'href="(/checks/wind[^"]*)"', text)[1])
    filled = dict(parse_qsl(urlsplit(link).query))
    assert (filled["speed"], filled["friction"]) == ("1.8 to 2 m/s", "0.28 to 0.34")
    page = client.get(link)
    assert page.status_code == 200 and "worked-out" in page.text
    for value in ("1.8 to 2 m/s", "0.28 to 0.34"):
        assert f'value="{value}"' in page.text


def test_an_unknown_check_is_told_with_the_nearest(client):
    answer = client.get("/checks/laod")
    assert answer.status_code == 404 and "load" in answer.text


def test_the_checks_of_an_answer_lead_to_their_pages_with_its_numbers(client):
    section = sections(client)["Kestrel 4B"]
    for address in (f"{section}/ask?ask=harder", kept_plan(client, "Kestrel 4B")):
        text = client.get(address).text
        links = {link.split("?")[0]: html.unescape(link) for link in re.findall(r'href="(/checks/\w+[^"]*)"', text)}
        assert set(links) == {"/checks/load", "/checks/wind", "/checks/rain", "/checks/figures"}
        drawn = re.search(r"A carefully made (.*?) could hold", words(text))[1]
        assert drawn in lead(client.get(links["/checks/load"]).text), "the same form"
        weighed = float(re.search(r"A build of about ([\d.,]+) ?g", words(text))[1].replace(",", ""))
        filled = dict(parse_qsl(urlsplit(links["/checks/wind"]).query))
        assert round(float(filled["mass"].removesuffix(" g"))) == round(weighed), "the same build"
        assert {"width", "depth", "height"} <= set(filled)
        for link in links.values():
            assert client.get(link).status_code == 200, link
