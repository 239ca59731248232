"""Between lessons: a plan reserves its kit, results take it, a new year keeps what was learnt of the students."""

from __future__ import annotations

import html
import json
import re
from concurrent.futures import ThreadPoolExecutor

import pytest

from rungwright.api.demo import ladder_demo
from rungwright.domain.keeping import Role
from rungwright.store.backup import backup
from rungwright.store.keys import add_key, add_workspace
from tests.api.in_process import client_of
from tests.web.test_pages import form_of, kept_plan, sections

CUPBOARD = "Kestrel Ridge cupboard (demo)"


def held(client) -> dict[str, dict[str, float]]:
    [cupboard] = client.get("/v1/cupboards").json()["items"]
    return {material["material"]: material for material in cupboard["materials"]}


def lessons(client, label: str) -> list[tuple[str, str]]:
    """State and plan of each lesson of a section, in the order of planning."""
    id = sections(client)[label].removeprefix("/sections/")
    return [(x["state"], x["recommendation_id"]) for x in client.get(f"/v1/lessons?section_id={id}").json()["items"]]


def paper_for(client, label: str) -> float:
    """Paper that a section's next answer finds, newspaper with it."""
    ask = {"challenge": "shelter", "section_id": sections(client)[label].removeprefix("/sections/"), "keep": False}
    answer = client.post("/v1/recommendations", json={**ask, "include": ["kit"]}).json()
    return next(item["there"] for item in answer["kit"]["items"] if item["material"] == "copy_paper")


def text_of(client, address: str) -> str:
    return html.unescape(client.get(address).text)


def entered(client, plan: str, **more: str):
    results = {"by": "count", "on": "2026-11-20", "groups": "9", "end.load": "7", **more}
    answer = client.post(f"{plan}/results", data=results)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def test_a_kept_plan_reserves_its_kit_and_the_next_section_sees_what_is_left(client):
    before, there = held(client)["copy_paper"], paper_for(client, "Kestrel 5A")
    plan = kept_plan(client, "Kestrel 4B")
    kit = client.get(f"/v1/recommendations/{plan.removeprefix('/plans/')}").json()["kit"]["items"]
    paper = next(item["for_class"] for item in kit if item["material"] == "copy_paper")
    after = held(client)["copy_paper"]
    assert (after["reserved"], after["free"]) == (paper, before["free"] - paper)
    assert f"Reserved from {CUPBOARD}: " in text_of(client, plan)
    assert f"{paper:g} sheets of paper" in text_of(client, plan)
    assert paper_for(client, "Kestrel 5A") == pytest.approx(there - paper)


def test_a_plan_made_anew_takes_the_place_of_the_one_before(client):
    first = kept_plan(client, "Kestrel 4B")
    assert kept_plan(client, "Kestrel 4B") == first, "its own kit is free for it, so that nothing has changed"
    assert lessons(client, "Kestrel 4B") == [("planned", first.removeprefix("/plans/"))]
    once = held(client)
    second = kept_plan(client, "Kestrel 4B", "easier")
    assert [state for state, _ in lessons(client, "Kestrel 4B")] == ["dropped", "planned"]
    assert "dropped or replaced" in text_of(client, first) and "Reserved from" in text_of(client, second)
    assert kept_plan(client, "Kestrel 4B") == first and held(client) == once
    assert f'href="{first}/brief"' in client.get("/").text, "the plan that waits is the one that holds the kit"


def test_what_a_planning_tool_put_on_a_later_day_stays(client):
    plan = kept_plan(client, "Kestrel 4B").removeprefix("/plans/")
    id = sections(client)["Kestrel 4B"].removeprefix("/sections/")
    later = {"section_id": id, "on": "2999-01-07", "recommendation_id": plan}
    own = {"section_id": id, "on": "2026-01-07", "materials": [{"material": "string", "quantity": 1}]}
    for body in (later, own):
        assert client.post("/v1/lessons", json=body).status_code == 201
    kept_plan(client, "Kestrel 4B", "easier")
    assert [state for state, _ in lessons(client, "Kestrel 4B")] == ["dropped", "planned", "planned", "planned"]


def test_results_take_what_is_used_up_and_only_once(client):
    before = held(client)
    plan = kept_plan(client, "Kestrel 4B")
    reserved = held(client)
    entered(client, plan)
    after = held(client)
    assert after["copy_paper"]["quantity"] == before["copy_paper"]["quantity"] - reserved["copy_paper"]["reserved"]
    assert after["craft_stick"]["quantity"] == before["craft_stick"]["quantity"], "sticks are used again"
    assert all(material["reserved"] == 0 for material in after.values())
    said = text_of(client, plan)
    assert f"Taken from {CUPBOARD}: " in said and "craft sticks" not in said.split("Taken from")[1].split("</p>")[0]
    entered(client, plan, on="2026-11-21")
    client.post(f"{plan}/drop", data={"go": "1"})
    assert held(client) == after


def test_a_dropped_plan_gives_all_back_and_waits_no_more(client):
    before = held(client)
    plan = kept_plan(client, "Kestrel 4B")
    assert f'href="{plan}/brief"' in client.get("/").text
    for _ in range(2):
        answer = client.post(f"{plan}/drop", data={"go": "1"})
        assert (answer.status_code, answer.headers["location"]) == (303, plan)
    assert held(client) == before
    assert f'href="{plan}/brief"' not in client.get("/").text
    assert f"{plan}/drop" not in client.get(plan).text
    assert kept_plan(client, "Kestrel 4B") == plan
    assert [state for state, _ in lessons(client, "Kestrel 4B")] == ["dropped", "planned"]


def test_own_settings_reserve_what_they_need(client):
    section = sections(client)["Kestrel 4B"]
    sticks = {}
    for count in ("", "&to=rigid_pieces:4"):
        client.post(f"{section}/plans", data={"query": f"ask=harder{count}", "then": "plan"})
        sticks[count] = held(client)["craft_stick"]["reserved"]
    assert sticks["&to=rigid_pieces:4"] != sticks[""]


def test_a_section_without_a_cupboard_reserves_nothing(client):
    plan = kept_plan(client, "Kestrel 6C")
    assert lessons(client, "Kestrel 6C") == [] and "Reserved" not in text_of(client, plan)


def test_plans_kept_at_the_same_time_reserve_once(site, client):
    address = sections(client)["Kestrel 4B"]

    def keep(ask: str) -> int:
        one = client_of(site)
        one.headers.update(client.headers)
        return one.post(f"{address}/plans", data={"query": f"ask={ask}", "then": "plan"}).status_code

    with ThreadPoolExecutor(4) as pool:
        assert set(pool.map(keep, ["harder", "easier", "harder", "easier"])) == {303}
    assert [state for state, _ in lessons(client, "Kestrel 4B")].count("planned") == 1


def test_a_section_that_is_put_away_holds_nothing_back(client):
    before = held(client)
    kept_plan(client, "Kestrel 4B")
    client.post(f"{sections(client)['Kestrel 4B']}/put-away", data={"go": "1"})
    assert held(client) == before


def test_a_new_year_keeps_what_was_learnt_of_the_students(client):
    old = sections(client)["Kestrel 4B"]
    form = text_of(client, f"{old}/new-year")
    assert "Grade 5, one up" in form and "Grade 4, as before" in form
    version = re.search(r'name="version" value="(\d+)"', form)[1]
    told = {"version": version, "label": "Kestrel 5C", "students": "25", "grade": "up", "who": "same"}
    answer = client.post(f"{old}/new-year", data=told)
    assert answer.status_code == 303
    new = answer.headers["location"]
    assert "The new year of Kestrel 4B" in text_of(client, new)
    assert "Kestrel 4B" not in sections(client) and sections(client)["Kestrel 5C"] == new
    kept = client.get(f"/v1{new}").json()
    assert kept["section"]["grades"] == ["05"] and kept["section"]["students"] == 25
    assert "No earlier run" not in text_of(client, f"{new}/ask?ask=fit")
    again = client.post(f"{old}/new-year", data=told)
    assert again.status_code == 409 and "taken into a new year" in again.text
    assert list(sections(client)).count("Kestrel 5C") == 1


def test_where_most_students_are_new_earlier_results_teach_nothing(client):
    old = sections(client)["Kestrel 4B"]
    told = {"version": "1", "label": "Kestrel 4B", "students": "24", "grade": "stays", "who": "new"}
    new = client.post(f"{old}/new-year", data=told).headers["location"]
    kept = client.get(f"/v1{new}").json()
    assert kept["follows_id"] is None and kept["section"]["grades"] == ["04"]
    assert "No earlier run" in text_of(client, f"{new}/ask?ask=fit")
    assert client.get(f"/v1{old}").json()["archived"] is True


def test_what_is_wrong_with_a_new_year_is_told_and_changes_nothing(client):
    old = sections(client)["Kestrel 4B"]
    told = {"version": "1", "label": "", "students": "61", "grade": "up", "who": "same"}
    answer = client.post(f"{old}/new-year", data=told)
    assert answer.status_code == 422 and 'value="61"' in answer.text and 'id="wrong-students"' in answer.text
    assert client.get(f"/v1{old}").json()["archived"] is False
    section = {**client.get(f"/v1{old}").json()["section"], "grades": ["12"], "materials": None}
    last = client.post("/v1/sections", json={"section": section}).json()["id"]
    assert "one up" not in text_of(client, f"/sections/{last}/new-year")
    answer = client.post(f"/sections/{last}/new-year", data={**told, "label": "x", "students": "20"})
    assert answer.status_code == 422 and "12 is the last one" in answer.text


def test_a_planner_changes_nothing(client, store):
    old, plan = sections(client)["Kestrel 4B"], kept_plan(client, "Kestrel 4B")
    with store.writing() as session:
        _, key = add_key(session, label="Planning tool", role=Role.PLANNER)
    signed = client.post("/sign-in", data={"key": key, "to": "/"})
    client.cookies.set("rungwright_session", signed.cookies["rungwright_session"])
    told = {"version": "1", "label": "x", "students": "20", "grade": "up", "who": "same"}
    assert client.post(f"{old}/new-year", data=told).status_code == 403
    assert client.post(f"{plan}/drop", data={"go": "1"}).status_code == 403
    assert f"{plan}/drop" not in client.get(plan).text and "new-year" not in client.get(old).text


def test_readiness_over_time_is_shown_from_two_runs_on(client):
    """Each lesson adds a dot, and a flagged one does not."""
    section = client.get(f"/v1{sections(client)['Kestrel 6C']}").json()["section"]
    assert client.post("/v1/sections", json={"section": {**section, "label": "Harbour 6"}}).status_code == 201
    pages = []
    told = (("2026-09-14", "2", {}), ("2026-10-14", "8", {}), ("2026-10-15", "0", {"flag": "interrupted"}))
    for on, met, more in told:
        form = {"end.wind": met, "end.dry": met, "end.load": met, "groups": "8", "on": on, **more}
        pages.append(text_of(client, entered(client, kept_plan(client, "Harbour 6"), **form)))
    assert ["Readiness over time" in page for page in pages] == [False, True, True]
    [picture] = re.findall(r"<svg[^>]*><title>Readiness of.*?</svg>", pages[1], re.DOTALL)
    assert picture.count("<circle") == 2 and "style=" not in picture and "%" not in picture
    [low, high] = re.findall(r"After \d+ \w+ 2026: (?:about )?(\w+)", pages[1])
    assert low != high
    assert re.findall(r"<svg[^>]*><title>Readiness of.*?</svg>", pages[2], re.DOTALL) == [picture]


def test_a_form_that_is_sent_twice_makes_one_entry(site, client):
    """A second press, also while the first is on its way; a form that was changed since is another."""
    plan = kept_plan(client, "Kestrel 4B")
    results = {**form_of(client.get(f"{plan}/results").text), "end.load": "7"}

    def send(_: int) -> str:
        one = client_of(site)
        one.headers.update(client.headers)
        return one.post(f"{plan}/results", data=results).headers["location"]

    with ThreadPoolExecutor(4) as pool:
        assert len(set(pool.map(send, range(4)))) == 1
    other = client.post(f"{plan}/results", data={**results, "end.load": "8"}).headers["location"]
    assert other != send(0) and other != entered(client, plan)
    for made, again in (("/sections", "/v1/sections"), ("/cupboards", "/v1/cupboards")):
        form = {**form_of(client.get(f"{made}/new").text), "label": "Ferry", "grade": ["05"], "m.string": "1"}
        before = len(client.get(again).json()["items"])
        for _ in range(2):
            assert client.post(made, data=form).status_code == 303
        assert len(client.get(again).json()["items"]) == before + 1


def pages_of_entries(site) -> set[tuple[str, str]]:
    """Method and address of every page about one entry; a check or a rule belongs to nobody."""
    shared = ("/checks/", "/calibrations/", "/rules/", "/static/")
    routes = [r for r in site.pages.app.app.routes if "{" in r.path and not r.path.startswith(shared)]
    return {(method, r.path) for r in routes for method in r.methods - {"HEAD"}}


def test_another_workspace_finds_no_page_of_an_entry(site, client, store):
    section = sections(client)["Kestrel 4B"]
    plan = kept_plan(client, "Kestrel 4B")
    document = json.loads(json.dumps(ladder_demo("check")["ladder"]))
    document = ladder_demo("check")["ladder"]
    ladder = client.post("/v1/ladders", json={"ladder": document}).json()["id"]
    ids = {
        "sections": section.removeprefix("/sections/"),
        "plans": plan.removeprefix("/plans/"),
        "results": entered(client, plan).removeprefix("/results/"),
        "cupboards": client.get("/v1/cupboards").json()["items"][0]["id"],
        "ladders": ladder,
    }
    forms = {
        ("POST", "/sections/{id}"): form_of(client.get(section).text),
        ("POST", "/ladders/{id}/fork"): {"name": "Ours"},
        ("POST", "/ladders/{id}/edits"): {"do": "name", "name": "Ours", "version": "1"},
        ("POST", "/ladders/{id}/merge"): {"document": json.dumps(document), "onto": "1", "from_version": "1"},
        ("POST", "/ladders/{id}/put-in"): {"document": json.dumps(document), "from_version": "1"},
        ("POST", "/ladders/{id}/sections"): {"section_id": ids["sections"], "now_on": "r1"},
        ("POST", "/cupboards/{id}"): form_of(client.get(f"/cupboards/{ids['cupboards']}").text),
    }
    with store.writing() as session:
        school = add_workspace(session, "Far school").id
        _, key = add_key(session, label="Elsewhere", role=Role.COACH, workspace=school)
    before = backup(store)
    signed = client.post("/sign-in", data={"key": key})
    client.cookies.set("rungwright_session", signed.cookies["rungwright_session"])
    walked = pages_of_entries(site)
    assert len(walked) > 30
    for method, path in sorted(walked):
        address = path.replace("{id}", ids[path.split("/")[1]]).replace("{number:int}", "1")
        address = address.replace("{name}", "wall_chart" if "/print/" in path else "brief")
        form = {"data": forms.get((method, path), {"go": "1", "version": "1"})} if method == "POST" else {}
        answer = client.request(method, address, **form)
        assert answer.status_code == 404, (method, path, answer.status_code)
    changed = {name for name, rows in backup(store)["tables"].items() if rows != before["tables"][name]}
    assert changed <= {"sign_ins"}


def test_a_section_that_was_put_away_is_found_and_brought_back(client):
    section = sections(client)["Kestrel 4B"]
    client.post(f"{section}/put-away", data={"do": "away"})
    assert "Kestrel 4B" not in sections(client)
    listed = client.get("/sections/put-away").text
    assert f'href="{section}"' in listed and "Kestrel 5A" not in listed
    assert "Bring it back into use" in client.get(section).text
    client.post(f"{section}/put-away", data={"do": "back"})
    assert "Kestrel 4B" in sections(client) and "None was put away" in client.get("/sections/put-away").text


def test_a_cupboard_that_was_put_away_still_serves_its_sections_and_comes_back(client):
    section = sections(client)["Kestrel 4B"]
    cupboard = "/cupboards/" + client.get("/v1/cupboards").json()["items"][0]["id"]
    kept = client.get(f"/v1{section}").json()["cupboard_id"]
    client.post(f"{cupboard}/put-away", data={"do": "away"})
    assert cupboard not in client.get("/cupboards").text and cupboard in client.get("/cupboards?archived=yes").text
    # Saving the section, or the cupboard itself, changes nothing of that.
    assert client.post(section, data=form_of(client.get(section).text)).status_code == 303
    assert client.get(f"/v1{section}").json()["cupboard_id"] == kept
    assert client.post(cupboard, data=form_of(client.get(cupboard).text)).status_code == 303
    assert client.get(f"/v1{cupboard}").json()["archived"] is True
    client.post(f"{cupboard}/put-away", data={"do": "back"})
    assert cupboard in client.get("/cupboards").text


def test_a_demo_school_that_comes_back_has_its_cupboard_again(client):
    client.post("/demo/remove", data={"go": "1"})
    assert client.get("/v1/cupboards").json()["items"] == [] and sections(client) == {}
    client.post("/demo/add", data={"go": "1"})
    assert "Kestrel 4B" in sections(client) and len(client.get("/v1/cupboards").json()["items"]) == 1


@pytest.mark.parametrize("version", ["", "\u00b2", "--5", "9" * 5000, "x"])
def test_a_version_that_is_none_changes_nothing(client, version):
    section = sections(client)["Kestrel 4B"]
    cupboard = "/cupboards/" + client.get("/v1/cupboards").json()["items"][0]["id"]
    for path in (section, cupboard):
        form = {**form_of(client.get(path).text), "label": "Another", "version": version}
        assert client.post(path, data=form).status_code == 409, path
        assert client.get(f"/v1{path}").json()["version"] == 1
