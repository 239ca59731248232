"""Cupboards: shared by sections, reserved by planned lessons, reduced by taught ones, a tenth kept back."""

from __future__ import annotations

import pytest

from rungwright.domain.section import Section, Stock
from rungwright.store.cupboards import Held
from rungwright.store.lessons import drawn
from tests.store.conftest import made

STOCK = [
    {"material": "craft_stick", "quantity": 150},  # used again: see rules/materials/craft_stick.yaml
    {"material": "copy_paper", "quantity": 200},
    {"material": "masking_tape", "quantity": 3},
]


@pytest.fixture
def cupboard(client):
    return made(client, "/v1/cupboards", {"label": "Science room", "materials": STOCK})


@pytest.fixture
def sections(client, cupboard, section):
    both = ({**section, "label": label} for label in ("Kestrel 4A", "Kestrel 4B"))
    return [made(client, "/v1/sections", {"section": one, "cupboard_id": cupboard["id"]})["id"] for one in both]


def held(client, cupboard):
    found = client.get(f"/v1/cupboards/{cupboard['id']}").json()["materials"]
    return {m["material"]: m for m in found}


def lesson(client, section_id, paper, on="2026-11-25", material="copy_paper"):
    body = {"section_id": section_id, "on": on, "materials": [{"material": material, "quantity": paper}]}
    return made(client, "/v1/lessons", body), body


def test_a_tenth_is_kept_back(client, cupboard):
    paper = held(client, cupboard)["copy_paper"]
    assert paper == {"material": "copy_paper", "quantity": 200, "kept_back": 20, "reserved": 0, "free": 180}


def test_planned_lessons_of_two_sections_reserve_from_one_cupboard(client, cupboard, sections):
    for id, paper in zip(sections, (50, 70), strict=True):
        lesson(client, id, paper)
    paper = held(client, cupboard)["copy_paper"]
    assert (paper["quantity"], paper["reserved"], paper["free"]) == (200, 120, 60)


def test_what_is_used_again_is_reserved_for_the_busiest_day(client, cupboard, sections):
    lesson(client, sections[0], 60, "2026-11-25", "craft_stick")
    lesson(client, sections[1], 40, "2026-11-25", "craft_stick")
    lesson(client, sections[1], 80, "2026-11-26", "craft_stick")
    assert held(client, cupboard)["craft_stick"]["reserved"] == 100


def test_taught_takes_what_is_used_up_and_back_again_gives_it_back(client, cupboard, sections):
    planned, body = lesson(client, sections[0], 50)
    sticks = {"material": "craft_stick", "quantity": 60}
    body["materials"].append(sticks)
    url, any_version = f"/v1/lessons/{planned['id']}", {"if-match": "*"}
    taught = client.put(url, json={**body, "state": "taught"}, headers=any_version)
    assert taught.status_code == 200 and taught.headers["etag"] == '"2"'
    now = held(client, cupboard)
    assert (now["copy_paper"]["quantity"], now["copy_paper"]["reserved"]) == (150, 0)
    assert (now["craft_stick"]["quantity"], now["craft_stick"]["reserved"]) == (150, 0)
    client.put(url, json={**body, "state": "taught", "materials": STOCK[1:2]}, headers=any_version)
    assert held(client, cupboard)["copy_paper"]["quantity"] == 0
    client.put(url, json={**body, "state": "planned"}, headers=any_version)
    assert held(client, cupboard)["copy_paper"]["quantity"] == 200
    client.put(url, json={**body, "state": "dropped"}, headers=any_version)
    assert held(client, cupboard)["copy_paper"]["reserved"] == 0


def test_more_than_there_is_takes_what_there_is_and_gives_back_just_that(client, cupboard, sections):
    planned, body = lesson(client, sections[0], 500)
    url = f"/v1/lessons/{planned['id']}"
    client.put(url, json={**body, "state": "taught"}, headers={"if-match": "*"})
    assert held(client, cupboard)["copy_paper"]["quantity"] == 0
    client.put(url, json={**body, "state": "planned"}, headers={"if-match": "*"})
    assert held(client, cupboard)["copy_paper"]["quantity"] == 200


def test_the_kit_of_a_kept_answer_is_reserved_and_the_next_section_sees_what_is_left(client, cupboard, sections):
    ask = {"challenge": "shelter", "section_id": sections[0], "include": ["kit"]}
    answer = client.post("/v1/recommendations", json=ask).json()
    kept = made(
        client,
        "/v1/lessons",
        {"section_id": sections[0], "on": "2026-11-25", "recommendation_id": answer["id"]},
    )
    reserved = {m["material"]: m["quantity"] for m in kept["materials"]}
    paper = next(item for item in answer["kit"]["items"] if item["material"] == "copy_paper")
    assert reserved["copy_paper"] == paper["for_class"]
    assert held(client, cupboard)["copy_paper"]["free"] == 180 - paper["for_class"]

    second = client.post("/v1/recommendations", json={**ask, "section_id": sections[1]}).json()
    there = next(item for item in second["kit"]["items"] if item["label"] == paper["label"])
    assert there["there"] == pytest.approx(180 - paper["for_class"])


def test_an_answer_without_its_kit_reserves_nothing(client, sections):
    answer = client.post("/v1/recommendations", json={"challenge": "shelter", "section_id": sections[0]}).json()
    body = {"section_id": sections[0], "on": "2026-11-25", "recommendation_id": answer["id"]}
    response = client.post("/v1/lessons", json=body)
    assert response.status_code == 422
    assert response.json()["errors"][0]["pointer"] == "/recommendation_id"


def test_a_section_without_a_cupboard_reserves_nothing(client, section):
    id = made(client, "/v1/sections", {"section": section})["id"]
    response = client.post("/v1/lessons", json={"section_id": id, "on": "2026-11-25", "materials": STOCK})
    assert response.status_code == 422 and response.json()["errors"][0]["pointer"] == "/section_id"


@pytest.mark.parametrize(
    ("path", "body", "pointer"),
    [
        ("/v1/cupboards", {"label": "x", "materials": [{"material": "papr", "quantity": 1}]}, "/materials/0/material"),
        ("/v1/cupboards", {"label": "x", "materials": [STOCK[0], STOCK[0]]}, "/materials"),
        ("/v1/sections", {"cupboard_id": "nowhere"}, "/cupboard_id"),
        ("/v1/lessons", {"section_id": "nowhere", "on": "2026-11-25", "materials": STOCK}, "/section_id"),
        ("/v1/lessons", {"section_id": "x", "on": "25.11.2026", "materials": STOCK}, "/on"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_at_its_field(client, section, path, body, pointer):
    response = client.post(path, json={"section": section, **body} if path == "/v1/sections" else body)
    assert response.status_code == 422
    assert [e["pointer"] for e in response.json()["errors"]] == [pointer]


def test_either_a_cupboard_or_materials(client, cupboard, section):
    body = {"section": {**section, "materials": STOCK}, "cupboard_id": cupboard["id"]}
    response = client.post("/v1/sections", json=body)
    assert response.status_code == 422 and "not both" in response.json()["errors"][0]["detail"]


def test_a_kit_draws_on_others_of_its_role_and_never_on_what_is_excluded(rules, section):
    free = [Held(name, 0, 0, 0, amount) for name, amount in (("craft_stick", 30), ("skewer", 20), ("jumbo_stick", 50))]
    catalogue = rules.base.materials
    assert len({catalogue[h.material].role for h in free}) == 1
    told = Section.model_validate({**section, "exclusions": ["skewer"]})
    assert drawn([("craft_stick", 60.0), (None, 5.0)], told, free, catalogue) == [
        Stock(material="craft_stick", quantity=30),
        Stock(material="jumbo_stick", quantity=30),
    ]
    assert drawn([("craft_stick", 500.0)], told, free, catalogue)[1].quantity == 50
