"""The pages as a browser asks for them, without one: safety, sign-in, privacy, versions, what is wrong."""

from __future__ import annotations

import html
import json
import re
import shutil
from collections.abc import Iterator

import pytest
from sqlalchemy import select, update

from rungwright.domain.keeping import Role
from rungwright.rulebase import CompiledRules, default_folder
from rungwright.settings import Settings, open_rules
from rungwright.store.backup import backup
from rungwright.store.keys import add_key, revoke_key
from rungwright.store.tables import SignInRow
from rungwright.store.types import now
from rungwright.web.site import create_site
from tests.api.in_process import client_of


def sections(client) -> dict[str, str]:
    """Name -> address of a section."""
    found = re.findall(r'id="s-(\w+)">([^<]+)<', client.get("/").text)
    return {label: f"/sections/{id}" for id, label in found}


def kept_plan(client, label: str, ask: str = "harder") -> str:
    answer = client.post(f"{sections(client)[label]}/plans", data={"query": f"ask={ask}", "then": "plan"})
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def test_pages_say_that_nothing_may_come_from_elsewhere(client):
    headers = client.get("/").headers
    policy = headers["content-security-policy"]
    assert policy.startswith("default-src 'none'") and "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cache-control"] == "no-store"
    assert headers["referrer-policy"] == "same-origin"


def test_no_page_has_script_or_style_inside(client):
    section = sections(client)["Kestrel 4B"]
    plan = kept_plan(client, "Kestrel 4B")
    for address in (
        "/",
        section,
        f"{section}/ask?ask=harder",
        plan,
        f"{plan}/brief",
        f"{plan}/results",
        f"{plan}/lesson",
        f"{plan}/sheets",
        f"{plan}/sheets/teacher",
        f"{plan}/sheets/brief/lines",
        "/checks",
        "/checks/load?mass=370+g",
        "/rules",
        "/api",
    ):
        text = client.get(address).text
        assert not re.search(r"<style|\sstyle=|\son\w+=|<script(?! type=\"module\" src=\"/static/)", text), address
        assert not re.search(r"(?:src|href|action)=\"(?:https?:)?//", text), address


def test_files_are_kept_for_good_under_the_digest_of_what_is_in_them(client):
    found = set(re.findall(r'"(/static/[^"]+)"', client.get("/sections/new").text))
    assert len(found) == 3
    for address in found:
        answer = client.get(address)
        assert answer.status_code == 200 and "immutable" in answer.headers["cache-control"]
    style = client.get(next(a for a in found if a.endswith(".css"))).text
    fonts = re.findall(r"url\((/static/[^)]+)\)", style)
    assert len(fonts) == 2 and "asset(" not in style
    assert all(client.get(font).headers["content-type"] == "font/ttf" for font in fonts)
    assert client.get("/static/pages.000000000000.css").status_code == 404


@pytest.mark.parametrize(
    ("headers", "let_in"),
    [
        ({"Sec-Fetch-Site": "same-origin"}, True),
        ({"Sec-Fetch-Site": "cross-site"}, False),
        ({"Sec-Fetch-Site": "same-site"}, False),
        ({"Origin": "http://localhost"}, True),
        ({"Origin": "http://elsewhere.example"}, False),
        ({"Origin": "null"}, False),
        ({}, False),
    ],
)
def test_a_form_of_another_site_changes_nothing(client, headers, let_in):
    del client.headers["Sec-Fetch-Site"]
    answer = client.post("/demo/remove", headers=headers, content=b"", extensions={}, params=None)
    form = client.post("/demo/remove", data={"go": "1"}, headers=headers)
    assert (answer.status_code, form.status_code) == ((415, 303) if let_in else (403, 403))
    assert bool(sections(client)) is not let_in


def test_another_name_for_this_computer_is_not_answered(client):
    answer = client.get("http://elsewhere.example/")
    assert answer.status_code == 401 and "Kestrel" not in answer.text


def test_with_keys_pages_need_one(client, store):
    with store.writing() as session:
        row, key = add_key(session, label="Room 12", role=Role.TEACHER)
    away = client.get("/rules?q=rain")
    assert (away.status_code, away.headers["location"]) == (303, "/sign-in?to=/rules%3Fq%3Drain")
    assert client.post("/demo/remove", data={"go": "1"}).headers["location"] == "/sign-in"
    assert client.get("/static/no").status_code == 404
    wrong = client.post("/sign-in", data={"key": "rungwright_no", "to": "/"})
    assert wrong.status_code == 403 and "set-cookie" not in wrong.headers and "not good" in wrong.text
    signed = client.post("/sign-in", data={"key": f" {key} ", "to": "/rules?q=rain"})
    assert (signed.status_code, signed.headers["location"]) == (303, "/rules?q=rain")
    cookie = signed.headers["set-cookie"]
    assert "HttpOnly" in cookie and "SameSite=lax" in cookie and key not in cookie and "Secure" not in cookie
    client.cookies.set("rungwright_session", signed.cookies["rungwright_session"])
    assert "Sign out" in client.get("/").text
    with store.writing() as session:
        revoke_key(session, row.id)
    assert client.get("/").status_code == 303


def signed_in(client, store, label: str = "Room 12") -> str:
    with store.writing() as session:
        _, key = add_key(session, label=label, role=Role.TEACHER)
    return client.post("/sign-in", data={"key": key, "to": "/"}).cookies["rungwright_session"]


def with_cookie(client, text: str):
    return client.get("/", headers={"Cookie": f"rungwright_session={text}".encode()})


def test_a_cookie_that_was_changed_is_no_session(client, store):
    made = signed_in(client, store)
    assert with_cookie(client, made).status_code == 200
    for changed in (f"{made}x", f"x{made}", made[:-1], made.swapcase(), "", "a.b", "ü.1.ü"):
        assert with_cookie(client, changed).status_code == 303, changed


def test_a_restart_signs_nobody_out_and_signing_out_lasts(client, store, rules):
    made = signed_in(client, store)
    after = client_of(create_site(Settings(), rules, store))
    after.headers.update(client.headers)
    assert with_cookie(after, made).status_code == 200
    assert made not in json.dumps(backup(store)), "only a digest is kept"
    out = {"Cookie": f"rungwright_session={made}"}
    assert client.post("/sign-out", data={"go": "1"}, headers=out).status_code == 303
    assert with_cookie(after, made).status_code == 303
    assert with_cookie(client, made).status_code == 303


def test_a_session_ends_with_its_school_day(client, store):
    made = signed_in(client, store)
    with store.writing() as session:
        session.execute(update(SignInRow).values(until=now()))
    assert with_cookie(client, made).status_code == 303
    other = signed_in(client, store, "Room 13")
    with store.reading() as session:
        assert len(session.scalars(select(SignInRow)).all()) == 1, "what is over goes"
    assert with_cookie(client, other).status_code == 200


def test_a_secure_cookie_over_https(client, store):
    with store.writing() as session:
        _, key = add_key(session, label="Room 12", role=Role.TEACHER)
    signed = client.post("https://localhost/sign-in", data={"key": key, "to": "//elsewhere.example"})
    assert "Secure" in signed.headers["set-cookie"]
    assert signed.headers["location"] == "/"


def test_guessing_keys_is_slowed_down(client, store):
    with store.writing() as session:
        add_key(session, label="Room 12", role=Role.TEACHER)
    said = [client.post("/sign-in", data={"key": f"no{n}"}).status_code for n in range(22)]
    assert said[0] == 403 and said[-1] == 429


def test_needs_are_on_no_page_but_the_owners_editor(client, store):
    """Kestrel 1A has students who need support with small things."""
    section = sections(client)["Kestrel 1A"]
    plan = kept_plan(client, "Kestrel 1A")
    editor = client.get(section).text
    assert re.search(r'id="need\.fine_motor"[^>]*value="4"', editor)
    for address in (f"{section}/ask", plan, f"{plan}/brief", f"{plan}/results", "/", "/decisions"):
        text = client.get(address).text.lower()
        assert "fine motor" not in text and "fine_motor" not in text and "need.fine" not in text, address
    with store.writing() as session:
        add_key(session, label="Owner", role=Role.TEACHER)
        _, key = add_key(session, label="Another", role=Role.COACH)
    signed = client.post("/sign-in", data={"key": key})
    client.cookies.set("rungwright_session", signed.cookies["rungwright_session"])
    assert "need.fine_motor" not in client.get(section).text
    assert client.get(plan).status_code == 404
    other = client.get(f"{section}/ask?ask=harder")
    assert other.status_code == 200 and "access needs" not in other.text.lower()


def test_a_coach_who_saves_anothers_section_leaves_its_needs_alone(client, store):
    section = sections(client)["Kestrel 1A"]
    with store.writing() as session:
        _, owner = add_key(session, label="Owner", role=Role.TEACHER)
        _, coach = add_key(session, label="Coach", role=Role.COACH)

    def sign_in(key: str) -> None:
        signed = client.post("/sign-in", data={"key": key})
        client.cookies.clear()
        client.cookies.set("rungwright_session", signed.cookies["rungwright_session"])

    sign_in(coach)
    assert client.post(section, data={**form_of(client.get(section).text), "students": "20"}).status_code == 303
    sign_in(owner)
    editor = client.get(section).text
    assert re.search(r'id="students"[^>]*value="20"', editor)
    assert re.search(r'id="need\.fine_motor"[^>]*value="4"', editor)


def form_of(text: str) -> dict[str, str | list[str]]:
    """What a browser would send of the page's form as it stands: enough of HTML for our own forms."""
    fields: dict[str, str | list[str]] = {}
    for tag in re.findall(r"<input [^>]*>", text):
        found = dict(re.findall(r'([\w-]+)="([^"]*)"', tag))
        if found.get("type") in ("checkbox", "radio") and " checked" not in tag:
            continue
        if found.get("name") in fields and found.get("type") == "number":
            fields[found["name"]] = [fields[found["name"]], found["value"]]
        elif found.get("type") == "checkbox":
            fields.setdefault(found["name"], []).append(found["value"])
        elif "name" in found:
            fields[found["name"]] = found["value"]
    for name, value in re.findall(r'<textarea [^>]*?name="([^"]*)"[^>]*>([^<]*)</textarea>', text):
        fields[name] = html.unescape(value)
    return fields


def test_a_section_comes_back_from_its_form_as_it_was(client, store):
    from rungwright.store import ONE_PERSON, Sections

    for label, section in sections(client).items():
        with store.reading() as session:
            kept = Sections(session, ONE_PERSON)
            before = in_order(kept.whole(kept.find(section.rpartition("/")[2])))
        assert client.post(section, data=form_of(client.get(section).text)).status_code == 303, label
        with store.reading() as session:
            kept = Sections(session, ONE_PERSON)
            assert in_order(kept.whole(kept.find(section.rpartition("/")[2]))) == before


def in_order(section):
    """The order of materials says nothing."""
    data = section.model_dump()
    data["materials"] = sorted(data["materials"] or (), key=lambda stock: stock["material"])
    return data


def test_lessons_of_different_length_stay_so(client, store):
    from rungwright.domain.keeping import SectionDraft
    from rungwright.domain.section import Section
    from rungwright.store import ONE_PERSON, Sections

    section = Section(
        label="Ferry", grades=["06"], students=20, group_size=4, sessions=[{"minutes": 45}, {"minutes": 90}]
    )
    with store.writing() as session:
        id = Sections(session, ONE_PERSON).add(SectionDraft(section=section)).id
    form = form_of(client.get(f"/sections/{id}").text)
    assert form["minutes"] == ["45", "90"]
    assert client.post(f"/sections/{id}", data=form).status_code == 303
    with store.reading() as session:
        assert Sections(session, ONE_PERSON).find(id).body == section


def test_what_was_measured_is_kept_and_shown_again(client):
    section = sections(client)["Kestrel 5A"]
    given = {"measured.stick_thickness_mm": "1.95 to 1.85", "measured.weight_g": "509", "measured.stroke_ml": "0,9 1.1"}
    assert client.post(section, data={**form_of(client.get(section).text), **given}).status_code == 303
    form = form_of(client.get(section).text)
    assert form["measured.stick_thickness_mm"] == "1.85 to 1.95" and form["measured.weight_g"] == "509"
    assert form["measured.stroke_ml"] == "0.9 to 1.1" and form["measured.friction"] == ""
    assert client.post(section, data={**form, **dict.fromkeys(given, "")}).status_code == 303
    assert form_of(client.get(section).text)["measured.weight_g"] == ""


def test_a_change_over_a_newer_one_is_told_and_loses_nothing(client):
    section = sections(client)["Kestrel 5A"]
    form = form_of(client.get(section).text)
    assert client.post(section, data={**form, "adults": "2"}).status_code == 303
    late = client.post(section, data={**form, "label": "Room 5"})
    assert late.status_code == 409 and "changed elsewhere" in late.text and 'value="Room 5"' in late.text
    again = client.post(section, data=form_of(late.text))
    assert again.status_code == 303 and "Room 5" in client.get("/").text


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("students", "", "whole number"),
        ("students", "61", "at most 60"),
        ("students", "2.5", "whole number"),
        ("lessons", "7", "at most 6"),
        ("minutes", "3", "at least 5"),
        ("label", " ", "at least 1"),
        ("need.reading", "40", "more than the section"),
        ("m.craft_stick", "many", "Must be a number"),
        ("m.craft_stick", "-1", "at least 0"),
        ("station.wind", "13", "at most 12"),
        ("measured.friction", "rough", "Must be a number"),
        ("measured.stick_thickness_mm", "19", "at most 6"),
        ("measured.weight_g", "300 400", "Must be a number"),
    ],
)
def test_what_is_wrong_is_told_at_its_field(client, field, value, said):
    section = sections(client)["Kestrel 4B"]
    form = {**form_of(client.get(section).text), "from": "own", field: value}
    answer = client.post(section, data=form)
    assert answer.status_code == 422
    assert re.search(rf'id="wrong-{re.escape(field)}">[^<]*{said}', answer.text), field
    assert 'aria-invalid="true"' in answer.text


@pytest.mark.parametrize(
    "query",
    [
        "ask=upwards",
        "notches=9",
        "left_out=no_such_lever",
        "to=load_positions:9",
        "to=load_positions:x",
        "to=entry:no_such_door",
        "stay=x%00y",
        "challenge=x",
        "present=0",
        "adults=99",
        "minutes=-5",
    ],
)
def test_an_address_that_no_page_makes_is_told(client, query):
    answer = client.get(f"{sections(client)['Kestrel 4B']}/ask?{query}")
    assert (answer.status_code == 400 and "cannot be answered" in answer.text) or "do not fit" in answer.text


def test_results_that_cannot_be_are_told_and_lose_nothing(client):
    plan = kept_plan(client, "Kestrel 4B")
    form = {"by": "count", "on": "2026-11-20", "groups": "9", "end.load": "12", "end.dry": "7"}
    answer = client.post(f"{plan}/results", data=form)
    assert answer.status_code == 422 and "12 groups met it, but only 9 were tested" in answer.text
    assert re.search(r'name="end.dry"[^>]*value="7"', answer.text)
    nothing = client.post(f"{plan}/results", data={"by": "count", "on": "2026-11-20", "groups": "9"})
    assert nothing.status_code == 422 and "at least one result" in nothing.text


def test_a_run_keeps_the_settings_of_the_plan_but_for_access(client, store):
    from rungwright.store import ONE_PERSON, Runs

    plan = kept_plan(client, "Kestrel 4B")
    answer = client.post(f"{plan}/results", data={"by": "count", "on": "2026-11-20", "groups": "9", "end.load": "7"})
    with store.reading() as session:
        run = Runs(session, ONE_PERSON).find(answer.headers["location"].rpartition("/")[2])
    assert run.body.settings["load_positions"] == 2
    assert not {"brief_form", "joiner_form", "talk_frames"} & set(run.body.settings)


def test_own_settings_are_decisions_of_the_plan(client):
    section = sections(client)["Kestrel 4B"]
    query = "ask=harder&to=load_positions:3"
    asked = client.get(f"{section}/ask?{query}").text
    kept = client.post(f"{section}/plans", data={"query": query, "then": "plan"}).headers["location"]
    text = client.get(kept).text
    headline = r'class="lead"[^>]*>([^<]+)<'
    assert re.search(headline, text)[1] == re.search(headline, asked)[1]
    assert "It goes on 3 spots" in client.get(f"{kept}/brief").text
    decisions = client.get(f"/v1/recommendations/{kept.rpartition('/')[2]}/decisions").json()["items"]
    assert {d["lever"]: (d["choice"], d["value"]) for d in decisions}["load_positions"] == ("changed", 3)


def test_the_interface_answers_beside_the_pages(client):
    assert client.get("/readyz").json()["status"] == "ready"
    assert client.get("/v1/nowhere").headers["content-type"] == "application/problem+json"
    page = client.get("/nowhere")
    assert page.status_code == 404 and "no such page" in page.text
    assert client.get("/nowhere", headers={"Accept": "*/*"}).headers["content-type"] == "application/problem+json"


def test_every_operation_of_the_contract_is_on_its_page(client):
    text = client.get("/api").text
    for path, item in client.get("/openapi.json").json()["paths"].items():
        for method, said in item.items():
            if isinstance(said, dict) and "operationId" in said:
                assert f"<b>{method.upper()}</b> {path}</code>" in text
                assert f"<code>{said['operationId']}</code>" in text


def test_every_rule_has_a_page_in_plain_words(client, rules):
    for id, rule in rules.base.rules.items():
        answer = client.get(f"/rules/{id}")
        assert answer.status_code == 200, id
        for basis in rule.basis:
            assert rules.base.sources[basis.source].title in answer.text.replace("&#39;", "'").replace("&amp;", "&")
        assert len(re.findall(r"<td>(?:yes|no)</td>", answer.text)) == 1 + len(rule.cases.others)


def test_rules_are_found_by_any_words(client):
    text = client.get("/rules?q=second+spot&stage=adjust").text
    assert "A second spot where the weight was no trouble" in text
    assert "What it warns of</option>" in text and "0 rules" in client.get("/rules?q=zeppelin").text


def test_a_rule_is_tried_on_a_section(client):
    rule = "/rules/adjust/shelter/load/second_spot_for_a_surplus"
    section = sections(client)["Kestrel 8B"].rpartition("/")[2]
    speaks = client.get(rule, params={"section": section, "ask": "harder"}).text
    assert "It speaks for Kestrel 8B." in speaks
    silent = client.get(rule, params={"section": section, "ask": "easier"}).text
    assert "It does not speak for Kestrel 8B." in silent and "easier" in silent.partition("not speak")[2][:300]


def test_a_rule_about_supports_tells_nothing_of_a_section(client, rules):
    private = next(id for id, rule in rules.base.rules.items() if rule.tests_support)
    section = sections(client)["Kestrel 1A"].rpartition("/")[2]
    text = client.get(f"/rules/{private}", params={"section": section, "ask": "fit"}).text
    assert "shown to nobody" in text and "It speaks" not in text


def test_only_this_school_is_seen(client, store):
    """Another workspace has its own start page, and finds none of the addresses."""
    from rungwright.store.keys import add_workspace

    section = sections(client)["Kestrel 4B"]
    plan = kept_plan(client, "Kestrel 4B")
    with store.writing() as session:
        _, key = add_key(session, label="Elsewhere", role=Role.COACH, workspace=add_workspace(session, "Far school").id)
    signed = client.post("/sign-in", data={"key": key})
    client.cookies.set("rungwright_session", signed.cookies["rungwright_session"])
    assert sections(client) == {}
    for address in (section, f"{section}/ask", plan, f"{plan}/brief", f"{plan}/lesson", f"{plan}/results"):
        assert client.get(address).status_code == 404, address


def test_a_planner_reads_and_changes_nothing(client, store):
    section = sections(client)["Kestrel 4B"]
    with store.writing() as session:
        add_key(session, label="Owner", role=Role.TEACHER)
        _, key = add_key(session, label="Tool", role=Role.PLANNER)
    signed = client.post("/sign-in", data={"key": key})
    client.cookies.set("rungwright_session", signed.cookies["rungwright_session"])
    assert client.get(f"{section}/ask?ask=harder").status_code == 200
    assert "Keep and print" not in client.get(f"{section}/ask?ask=harder").text
    for address in ("/demo/remove", f"{section}/put-away"):
        assert client.post(address, data={"go": "1"}).status_code == 403
    assert client.post(section, data=form_of(client.get(section).text)).status_code == 403


def test_a_cupboard_is_made_changed_and_used(client, store):
    made = client.post(
        "/cupboards", data={"label": "Ferry store", "m.craft_stick": "120", "m.foil": "0.25", "m.yarn": ""}
    )
    assert made.status_code == 303
    address = re.search(r'href="(/cupboards/\w+)">Ferry store', client.get("/cupboards").text)[1]
    text = client.get(address).text
    assert re.search(r'id="m\.foil"[^>]*value="0\.25"', text) and ">108 pieces<" in text and ">0.2 rolls<" in text
    late = form_of(text)
    assert client.post(address, data={**late, "m.craft_stick": "90"}).status_code == 303
    assert client.post(address, data={**late, "m.craft_stick": "70"}).status_code == 409
    wrong = client.post("/cupboards", data={"label": "", "m.craft_stick": "-2"})
    assert wrong.status_code == 422 and 'id="wrong-label"' in wrong.text and 'id="wrong-m.craft_stick"' in wrong.text


def test_only_whole_pieces_of_a_cupboard_are_free(client):
    """A tenth is kept back: of 25 sheets 22.5 would be left, of 2.5 rolls 2.25."""
    client.post("/cupboards", data={"label": "Lookout store", "m.copy_paper": "25", "m.masking_tape": "2.5"})
    address = re.search(r'href="(/cupboards/\w+)">Lookout store', client.get("/cupboards").text)[1]
    lines = re.findall(
        r'<th scope="row">([^<]+)</th><td>([^<]+)</td><td>([^<]+)</td><td>([^<]+)<', client.get(address).text
    )
    assert lines == [
        ("Copy paper (A4 or letter)", "25 sheets", "0 sheets", "22 sheets"),
        ("Masking tape", "2.5 rolls", "0 rolls", "2.2 rolls"),
    ]


def test_more_roofs_than_groups_are_refused_and_nothing_is_lost(client):
    plan = kept_plan(client, "Kestrel 4B")
    told = {"by": "count", "on": "2026-11-20", "groups": "9", "end.load": "8", "held.1": "2", "held.2": "8"}
    answer = client.post(f"{plan}/results", data=told)
    assert answer.status_code == 422 and "10 groups are told of, but the run has 9" in answer.text
    assert re.search(r'name="held\.2"[^>]*value="8"', answer.text)


def test_results_of_a_plan_that_has_some_are_told_of_before_they_are_entered_again(client):
    plan = kept_plan(client, "Kestrel 4B")
    assert "counts as one lesson more" not in client.get(f"{plan}/results").text
    told = {"by": "count", "on": "2026-11-20", "groups": "9", "end.load": "8"}
    run = client.post(f"{plan}/results", data=told).headers["location"]
    text = client.get(f"{plan}/results").text
    assert f'href="{run}/correct"' in text and "counts as one lesson more" in text


def test_a_setting_of_the_teacher_is_told_of_on_the_plan_and_on_the_teachers_pages(client):
    section = sections(client)["Kestrel 4B"]
    kept = client.post(f"{section}/plans", data={"query": "ask=harder&to=load_positions:3", "then": "plan"})
    plan = kept.headers["location"]
    for address in (plan, f"{plan}/sheets/teacher"):
        text = html.unescape(client.get(address).text)
        assert re.search(r"With your own settings, about [\d or]+ of your 9 groups should meet", text), address
        assert re.search(r"If nothing changes, about [\d or]+ of your 9 groups should\.", text), address


def test_grid_and_counts_of_the_same_lesson_say_the_same(client, store):
    from rungwright.store import ONE_PERSON, Runs

    plan = kept_plan(client, "Kestrel 8B")
    marks = {f"{when}.{group}.load": "yes" if group < 4 else "no" for group in range(6) for when in ("first", "end")}
    by_group = client.post(f"{plan}/results", data={"by": "group", "on": "2026-11-20", **marks})
    counts = {"by": "count", "on": "2026-11-20", "groups": "6", "first.load": "4", "end.load": "4"}
    by_count = client.post(f"{plan}/results", data=counts)
    with store.reading() as session:
        runs = [Runs(session, ONE_PERSON).find(a.headers["location"].rpartition("/")[2]) for a in (by_group, by_count)]
    assert runs[0].body.tallies() == runs[1].body.tallies()


def test_a_lever_stays_this_time_or_always(client):
    section = sections(client)["Kestrel 4B"]
    proposed = 'id="c-load_positions"'
    assert proposed in client.get(f"{section}/ask?ask=harder").text
    once = client.get(f"{section}/ask?ask=harder&stay=load_positions").text
    assert "stays as it is this time" in once and proposed not in once
    assert proposed in client.get(f"{section}/ask?ask=harder").text
    said = {"query": "ask=harder&stay=load_positions&notches=2", "lever": "load_positions"}
    kept = client.post(f"{section}/kept", data={**said, "do": "keep"})
    assert kept.headers["location"] == f"{section}/ask?ask=harder&challenge=shelter&notches=2"
    always = client.get(f"{section}/ask?ask=harder").text
    assert "always stays as it is for this section" in always and proposed not in always
    assert 'name="kept" value="load_positions" checked' in client.get(section).text
    client.post(f"{section}/kept", data={**said, "do": "free"})
    assert proposed in client.get(f"{section}/ask?ask=harder").text
    assert 'name="kept"' not in client.get(section).text


def test_what_is_always_kept_is_set_free_in_the_editor_and_not_lost_by_another_change(client):
    section = sections(client)["Kestrel 4B"]
    for lever in ("load_positions", "figure_count"):
        client.post(f"{section}/kept", data={"query": "ask=harder", "lever": lever, "do": "keep"})
    page = client.get(section).text
    version = re.search(r'name="version" value="(\d+)"', page)[1]
    told = {"label": "Kestrel 4B", "grade": "04", "students": "26", "group_size": "3", "lessons": "1", "minutes": "60"}
    told |= {"adults": "1", "from": "usual", "tools": "usual", "version": version, "kept": "figure_count"}
    assert client.post(section, data=told).status_code == 303
    page = client.get(section).text
    assert 'value="figure_count" checked' in page and "load_positions" not in page
    wrong = client.post(section, data={**told, "version": str(int(version) + 1), "kept": "figure_cont"})
    assert wrong.status_code == 422 and "figure_count" in wrong.text


@pytest.fixture(scope="module")
def two_challenges(tmp_path_factory) -> Iterator[CompiledRules]:
    """The rule base with a second challenge of the same family, its own name on it."""
    folder = tmp_path_factory.mktemp("two") / "rules"
    shutil.copytree(default_folder(), folder)
    for part in ("challenges", "words", "words/en", "words/es"):
        text = (folder / part / "shelter.yaml").read_text(encoding="utf-8")
        (folder / part / "fire_lookout.yaml").write_text(text.replace("Ridge refuge", "Fire lookout"), encoding="utf-8")
    rules = open_rules(Settings(rules=folder))
    yield rules
    rules.close()


def test_stored_runs_of_another_challenge_count_for_less(two_challenges, store):
    """Kestrel 8B has met the refuge once, and nothing else."""
    client = client_of(create_site(Settings(), two_challenges, store))
    client.headers.update({"Accept": "text/html", "Sec-Fetch-Site": "same-origin"})
    address = sections(client)["Kestrel 8B"]
    ask = {"challenge": "fire_lookout", "section_id": address.removeprefix("/sections/"), "keep": False}
    known, bare = (client.post("/v1/recommendations", json={**ask, **more}).json() for more in ({}, {"runs": []}))
    assert "one run of another challenge" in known["summary"]["evidence"]
    assert "No earlier run" in bare["summary"]["evidence"]
    assert known["before"]["expected"] != bare["before"]["expected"]
    plan = client.post(f"{address}/plans", data={"query": "ask=harder&challenge=fire_lookout", "then": "plan"})
    form = {"by": "count", "on": "2026-11-20", "groups": "6", "end.load": "6"}
    results = client.post(f"{plan.headers['location']}/results", data=form).headers["location"]
    text = client.get(results).text
    assert "One run of another challenge counts for less." in text and "Readiness over time" not in text


def test_a_challenge_is_chosen_by_its_picture(two_challenges, store):
    client = client_of(create_site(Settings(), two_challenges, store))
    client.headers.update({"Accept": "text/html", "Sec-Fetch-Site": "same-origin"})
    section = sections(client)["Kestrel 8B"]
    first = client.get(f"{section}/ask?ask=harder").text
    assert re.search(r'<details class="challenge-choice" open>', first), "it is still to be chosen"
    cards = re.findall(r'name="challenge" value="(\w+)"( checked)?><span>\s*<svg class="challenge-picture"', first)
    assert sorted(name for name, _ in cards) == ["fire_lookout", "shelter"]
    assert [bool(checked) for _, checked in cards].count(True) == 1
    chosen = client.get(f"{section}/ask?ask=harder&challenge=fire_lookout").text
    assert "<h1>Fire lookout for Kestrel 8B</h1>" in chosen
    assert re.search(r'<details class="challenge-choice">', chosen)
