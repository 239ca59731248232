"""Ladders of a workspace: drafts with versions, two coaches at once, what was published, sections on rungs."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import inspect

from rungwright.api.demo import ladder_demo
from rungwright.store import ONE_PERSON, Ladders
from rungwright.store.backup import backup, restore
from rungwright.store.ladders import PublishedStays
from rungwright.store.upgrade import differences, migrate
from tests.api.in_process import client_of
from tests.store.conftest import made

DOCUMENT = ladder_demo("check")["ladder"]
PUBLISH = {"do": "publish", "on": "2026-11-20", "by": "Coaches of Kestrel Ridge"}


@pytest.fixture
def kept(client) -> dict:
    return made(client, "/v1/ladders", {"ladder": DOCUMENT})


def edit(client, kept, *edits, version: str = "*"):
    return client.put(f"/v1/ladders/{kept['id']}/edits", json={"edits": list(edits)}, headers={"if-match": version})


def rename(rung: str, name: str) -> dict:
    return {"do": "rename", "rung": rung, "name": name}


def test_a_shared_file_is_kept_and_comes_out_as_it_was(client, kept):
    assert kept["version"] == 1 and kept["ladder"] == DOCUMENT
    file = client.get(f"/v1/ladders/{kept['id']}/file")
    assert file.json() == DOCUMENT and DOCUMENT["id"] in file.headers["content-disposition"]
    again = made(client, "/v1/ladders", {"ladder": file.json()})
    assert again["ladder"] == DOCUMENT and again["id"] != kept["id"]
    assert client.get(f"/v1/ladders/{again['id']}/file").content == file.content


def test_ladders_come_and_go_with_their_migration_and_all_else_stays(client, store, kept, section):
    made(client, "/v1/sections", {"section": section})
    migrate(store, "0001")
    assert not {"ladders", "past_ladders", "rung_places"} & set(inspect(store.engine).get_table_names())
    before = backup(store)
    assert before["form"] == "0001" and len(before["tables"]["sections"]) == 1
    migrate(store, "head")
    assert differences(store) == []
    assert len(client.get("/v1/sections").json()["items"]) == 1 and client.get("/v1/ladders").json()["items"] == []
    # A backup from before there were ladders is read and brought up to date.
    restore(store, before, replace=True)
    assert differences(store) == [] and len(client.get("/v1/sections").json()["items"]) == 1
    made(client, "/v1/ladders", {"ladder": DOCUMENT})


def test_edits_are_made_in_order_or_not_at_all(client, kept):
    response = edit(client, kept, rename("r1", "First"), rename("r3", "x"), version='"1"')
    assert response.status_code == 422
    assert response.json()["errors"][0]["pointer"] == "/edits/1/rung"
    url = f"/v1/ladders/{kept['id']}"
    assert client.get(url).json() == kept
    changed = edit(client, kept, rename("r1", "First"), {"do": "pin", "rung": "r1", "levers": ["entry"]}, version='"1"')
    assert changed.status_code == 200 and changed.headers["etag"] == '"2"'
    assert changed.json()["ladder"]["rungs"][0]["name"] == "First"
    (past,) = client.get(f"{url}/history").json()["items"]
    assert (past["version"], past["ladder"]) == (1, DOCUMENT)


def test_an_order_that_falls_is_refused_with_the_reason(client, kept):
    response = edit(client, kept, {"do": "reorder", "order": ["r2", "r1"]})
    assert "cannot stand above" in response.json()["errors"][0]["detail"]


def test_who_comes_late_gets_the_newer_version_and_loses_nothing(client, kept):
    """Two coaches open version 1; the second one's edit is put together with what the first one saved."""
    assert edit(client, kept, rename("r1", "First"), version='"1"').status_code == 200
    late = edit(client, kept, rename("r2", "Second"), version='"1"')
    assert late.status_code == 412 and late.json()["current"]["ladder"]["rungs"][0]["name"] == "First"
    mine = {**DOCUMENT, "rungs": [DOCUMENT["rungs"][0], {**DOCUMENT["rungs"][1], "name": "Second"}]}
    body = {"from_version": 1, "ladder": mine}
    url = f"/v1/ladders/{kept['id']}/merge"
    assert client.put(url, json=body, headers={"if-match": '"1"'}).status_code == 412
    both = client.put(url, json=body, headers={"if-match": '"2"'}).json()
    assert both["saved"] and both["version"] == 3 and both["merge"]["conflicts"] == []
    assert [rung["name"] for rung in both["ladder"]["rungs"]] == ["First", "Second"]


@pytest.mark.parametrize(("stands", "name"), [("kept", "Ours"), ("sent", "Theirs")])
def test_a_clash_is_shown_and_nothing_is_written_before_it_is_settled(client, kept, stands, name):
    edit(client, kept, rename("r1", "Ours"))
    mine = {**DOCUMENT, "rungs": [{**DOCUMENT["rungs"][0], "name": "Theirs"}, DOCUMENT["rungs"][1]]}
    url, body = f"/v1/ladders/{kept['id']}/merge", {"from_version": 1, "ladder": mine}
    shown = client.put(url, json=body, headers={"if-match": '"2"'}).json()
    assert not shown["saved"] and shown["version"] == 2
    (clash,) = shown["merge"]["conflicts"]
    assert (clash["at"], clash["first"], clash["second"]) == ("/rungs/r1/name", "Ours", "Theirs")
    settled = client.put(url, json={**body, "choices": {clash["at"]: stands}}, headers={"if-match": '"2"'}).json()
    assert settled["saved"] and settled["ladder"]["rungs"][0]["name"] == name
    history = client.get(f"/v1/ladders/{kept['id']}/history").json()["items"]
    assert "Ours" in {past["ladder"]["rungs"][0]["name"] for past in history} | {name}


@pytest.mark.parametrize(("stands", "rungs"), [("kept", ["r1", "r2"]), ("sent", ["r1"])])
def test_a_rung_that_one_changed_and_the_other_took_out_waits_for_a_choice(client, kept, stands, rungs):
    edit(client, kept, rename("r2", "Ours"))
    url = f"/v1/ladders/{kept['id']}/merge"
    body = {"from_version": 1, "ladder": {**DOCUMENT, "rungs": DOCUMENT["rungs"][:1]}}
    assert not client.put(url, json=body, headers={"if-match": "*"}).json()["saved"]
    settled = client.put(url, json={**body, "choices": {"/rungs/r2": stands}}, headers={"if-match": "*"}).json()
    assert settled["saved"] and [rung["id"] for rung in settled["ladder"]["rungs"]] == rungs


def test_a_version_that_never_was_is_told_at_its_field(client, kept):
    body = {"from_version": 9, "ladder": DOCUMENT}
    response = client.put(f"/v1/ladders/{kept['id']}/merge", json=body, headers={"if-match": "*"})
    assert response.status_code == 422 and response.json()["errors"][0]["pointer"] == "/from_version"


def test_edits_of_four_coaches_at_once_are_all_there(app, client, kept):
    """Each reads, edits and, where another was quicker, puts both together."""
    names = [f"Agreed by team {i}" for i in range(4)]
    url = f"/v1/ladders/{kept['id']}"

    def one(i: int) -> None:
        mine = client_of(app)
        agreed = {"by": names[i], "on": "2026-11-20", "text": names[i]}
        do = {"do": "agree", "rung": "r1", "agreed": agreed} if i % 2 else rename("r2", names[i])
        for _ in range(40):
            now = mine.get(url)
            if edit(mine, kept, do, version=now.headers["etag"]).status_code == 200:
                return
        raise AssertionError("never came to it")

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(one, range(4)))
    now = client.get(url).json()
    past = client.get(f"{url}/history").json()["items"]
    assert now["version"] == 5 and len(past) == 4
    seen = [(*(r["name"] for r in v["ladder"]["rungs"]), str(v["ladder"]["rungs"][0]["agreed"])) for v in [now, *past]]
    assert all(any(name in text for row in seen for text in row) for name in names), "every edit stands in a version"


def test_what_is_published_never_changes(client, kept, store):
    url = f"/v1/ladders/{kept['id']}"
    published = edit(client, kept, PUBLISH).json()["ladder"]
    assert published["published"]["version"] == 1
    refused = edit(client, kept, rename("r1", "x"))
    assert refused.status_code == 422 and "never changes" in refused.json()["errors"][0]["detail"]
    other = {**published, "name": "x"}
    assert client.put(url, json={"ladder": other}, headers={"if-match": "*"}).status_code == 422
    edit(client, kept, {"do": "revise"}, rename("r1", "First"))
    edit(client, kept, PUBLISH)
    edit(client, kept, {"do": "revise"}, rename("r1", "Second"))
    past = client.get(f"{url}/history", params={"published": True}).json()["items"]
    assert [v["ladder"]["published"]["version"] for v in past] == [2, 1]
    assert past[1]["ladder"] == published
    assert client.get(f"{url}/file", params={"published": 1}).json() == published
    assert client.get(f"{url}/file", params={"published": 3}).status_code == 404
    with pytest.raises(PublishedStays), store.writing() as session:
        ladders = Ladders(session, ONE_PERSON)
        now = ladders.find(kept["id"]).body
        ladders.change(kept["id"], None, now.model_copy(update={"version": 1}))


def test_a_ladder_is_put_away_and_comes_back(client, kept):
    url = f"/v1/ladders/{kept['id']}"
    edit(client, kept, PUBLISH)
    document = client.get(url).json()["ladder"]
    for archived in (True, False):
        away = client.put(url, json={"ladder": document, "archived": archived}, headers={"if-match": "*"})
        assert away.status_code == 200, away.text
        listed = client.get("/v1/ladders", params={"archived": archived}).json()["items"]
        assert [ladder["id"] for ladder in listed] == [kept["id"]]
        assert client.get("/v1/ladders", params={"archived": not archived}).json()["items"] == []
    assert client.get(f"{url}/history", params={"published": True}).json()["items"][0]["ladder"] == document


def test_a_fork_starts_from_a_version_and_goes_its_own_way(client, kept):
    url = f"/v1/ladders/{kept['id']}"
    edit(client, kept, PUBLISH)
    edit(client, kept, {"do": "revise"}, rename("r1", "Later"))
    fork = made(client, f"{url}/fork", {"name": "Our own", "published": 1})
    assert fork["ladder"]["forked_from"] == {"ladder": DOCUMENT["id"], "version": 1}
    assert fork["ladder"]["rungs"] == DOCUMENT["rungs"] and fork["ladder"]["published"] is None
    assert fork["ladder"]["id"] != DOCUMENT["id"]
    edit(client, fork, rename("r1", "Ours"))
    assert client.get(url).json()["ladder"]["rungs"][0]["name"] == "Later"
    told = client.get(f"{url}/compare", params={"other": fork["id"]}).json()
    assert "Later" in {change["first"] for change in told["changes"]}
    assert "Ours" in {change["second"] for change in told["changes"]}
    assert client.post(f"{url}/fork", json={"name": "x", "published": 7}).json()["errors"][0]["pointer"] == "/published"


def test_what_changed_since_it_was_published(client, kept):
    url = f"/v1/ladders/{kept['id']}/compare"
    assert client.get(url).status_code == 404
    edit(client, kept, PUBLISH)
    edit(client, kept, {"do": "revise"}, rename("r1", "First"))
    (change,) = client.get(url).json()["changes"]
    assert (change["first"], change["second"]) == (DOCUMENT["rungs"][0]["name"], "First")


@pytest.mark.parametrize(
    ("path", "body", "pointer"),
    [
        ("", {"ladder": {**DOCUMENT, "challenge": "sheltr"}}, "/ladder/challenge"),
        ("", {"ladder": {**DOCUMENT, "pupils": []}}, "/ladder/pupils"),
        ("/{id}", {"ladder": {**DOCUMENT, "id": "another"}}, "/ladder/id"),
        ("/{id}", {"ladder": {**DOCUMENT, "version": 4}}, "/ladder"),
        ("/{id}/edits", {"edits": [{"do": "fork", "id": "x", "name": "x"}]}, "/edits/0"),
        ("/{id}/edits", {"edits": []}, "/edits"),
        ("/{id}/sections", {"section_id": "nowhere", "now_on": "r1"}, "/section_id"),
        ("/{id}/sections", {"section_id": "nowhere", "now_on": "r9"}, "/now_on"),
    ],
)
def test_what_is_wrong_is_told_at_its_field(client, kept, path, body, pointer):
    method = "PUT" if path else "POST"
    url = "/v1/ladders" + path.replace("{id}", kept["id"])
    response = client.request(method, url, json=body, headers={"if-match": "*"})
    assert response.status_code == 422, response.text
    assert [e["pointer"] for e in response.json()["errors"]] == [pointer]


@pytest.fixture
def sections(client, section) -> list[str]:
    labels = ("Kestrel 4A", "Kestrel 4B", "Kestrel 4C")
    return [made(client, "/v1/sections", {"section": {**section, "label": label}})["id"] for label in labels]


def stand(client, kept) -> dict:
    response = client.get(f"/v1/ladders/{kept['id']}/sections")
    assert response.status_code == 200, response.text
    return response.json()


def place(client, kept, section_id, *, version: str = "*", **told):
    url = f"/v1/ladders/{kept['id']}/sections"
    return client.put(url, json={"section_id": section_id, **told}, headers={"if-match": version})


def ran_on(client, document, section_id, rung: int, on: str, run_body, met: int) -> None:
    settings = {**document["same"], **document["rungs"][rung]["settings"]}
    results = [{"criterion": "load", "end": {"met": met, "of": 9}}]
    body = {**run_body, "on": on, "groups": 9, "settings": settings, "results": results}
    made(client, f"/v1/sections/{section_id}/runs", {"run": body})


def test_sections_stand_where_they_were_put_and_else_where_they_fit(client, kept, sections):
    assert [s["now_on"] for s in stand(client, kept)["sections"]] == [None] * 3
    assert place(client, kept, sections[1], now_on="r2", week="2026-12-02").status_code == 200
    now = stand(client, kept)
    assert [(s["label"], s["now_on"]) for s in now["sections"]] == [
        ("Kestrel 4A", None), ("Kestrel 4B", "r2"), ("Kestrel 4C", None),
    ]  # fmt: skip
    shown = now["placement"]
    assert [s["section"] for s in shown["sections"]] == [s["label"] for s in now["sections"]]
    assert shown["sections"][1]["now_on"] == "r2" and shown["sections"][1]["down"]["rung"] == "r1"
    assert all(s["reason"] for s in shown["sections"])
    assert shown["kit"]["weeks"][0]["sections"] == ["Kestrel 4B"]
    place(client, kept, sections[1])
    assert [s["now_on"] for s in stand(client, kept)["sections"]] == [None] * 3


def test_two_coaches_who_place_sections_at_once_lose_nothing(client, kept, sections):
    """Both look at the same list; the second to place the same section hears of it, other sections are no matter."""
    seen = [f'"{s["version"]}"' for s in stand(client, kept)["sections"]]
    first = place(client, kept, sections[0], version=seen[0], now_on="r1", week="2026-12-02")
    assert first.status_code == 200 and first.headers["etag"] == f'"{first.json()["version"]}"' != seen[0]
    late = place(client, kept, sections[0], version=seen[0], now_on="r2")
    assert late.status_code == 412
    assert late.json()["current"] == first.json() and late.headers["etag"] == first.headers["etag"]
    assert place(client, kept, sections[1], version=seen[1], now_on="r2").status_code == 200
    now = stand(client, kept)["sections"]
    assert [(s["now_on"], s["week"]) for s in now] == [("r1", "2026-12-02"), ("r2", None), (None, None)]
    assert now[0]["version"] == first.json()["version"]
    # Taken off and put on again as it was, it stands as it was seen; taken off alone, it does not.
    place(client, kept, sections[0], version=first.headers["etag"])
    gone = place(client, kept, sections[0], version=first.headers["etag"], now_on="r2")
    assert gone.status_code == 412 and gone.json()["current"]["now_on"] is None
    missing = client.put(f"/v1/ladders/{kept['id']}/sections", json={"section_id": sections[0], "now_on": "r1"})
    assert missing.status_code == 428


def test_of_two_who_place_one_section_in_the_same_moment_one_hears_of_it(client, kept, sections):
    (version,) = {s["version"] for s in stand(client, kept)["sections"]}
    with ThreadPoolExecutor(4) as pool:
        rungs = ["r1", "r2", "r1", "r2"]
        said = [pool.submit(place, client, kept, sections[0], version=f'"{version}"', now_on=rung) for rung in rungs]
        statuses = [answer.result().status_code for answer in said]
    assert sorted(statuses) == [200, 412, 412, 412]


def test_two_sections_of_a_grade_on_different_rungs_are_shown(client, kept, sections):
    for id, rung in zip(sections, ("r1", "r2", "r2"), strict=True):
        place(client, kept, id, now_on=rung)
    (spread,) = stand(client, kept)["placement"]["spread"]
    assert spread["grade"] == "04" and spread["rungs"] == ["r1", "r2"]


def test_stored_runs_are_pooled_by_rung_from_three_sections_on(client, kept, sections, run_body):
    for id, met in zip(sections[:2], (9, 7), strict=True):
        ran_on(client, DOCUMENT, id, 0, "2026-10-01", run_body, met)
    first = stand(client, kept)["placement"]["results"][0]
    assert (first["sections"], first["shown"], first["criteria"]) == (2, False, [])
    # A run at other settings is one of the section, not of the rung.
    other = {**run_body, "on": "2026-10-02", "settings": {"load_positions": 3}}
    made(client, f"/v1/sections/{sections[2]}/runs", {"run": other})
    assert stand(client, kept)["placement"]["results"][0]["sections"] == 2
    ran_on(client, DOCUMENT, sections[2], 0, "2026-10-03", run_body, 4)
    results = stand(client, kept)["placement"]["results"]
    assert (results[0]["sections"], results[0]["shown"]) == (3, True)
    assert results[0]["criteria"] == [{"criterion": "load", "met": 20, "of": 27}]
    assert not any(label in results[0]["text"] for label in ("4A", "4B", "4C"))
    assert results[1]["sections"] == 0


def test_a_run_that_was_withdrawn_counts_for_nothing(client, kept, sections, run_body):
    for id in sections:
        ran_on(client, DOCUMENT, id, 0, "2026-10-01", run_body, 9)
    run = client.get(f"/v1/sections/{sections[0]}/runs").json()["items"][0]
    body = {"run": run["run"], "withdrawn": True}
    assert client.put(f"/v1/runs/{run['id']}", json=body, headers={"if-match": "*"}).status_code == 200
    assert stand(client, kept)["placement"]["results"][0]["sections"] == 2


def test_what_a_cohort_met_a_year_before_is_told(client, kept, sections, run_body, section):
    ran_on(client, DOCUMENT, sections[0], 1, "2025-10-01", run_body, 9)
    new = made(client, f"/v1/sections/{sections[0]}/rollover", {"label": "Kestrel 5A"})
    document = {**DOCUMENT, "rungs": [{**rung, "grades": ["04", "05"]} for rung in DOCUMENT["rungs"]]}
    wide = made(client, "/v1/ladders", {"ladder": document})
    now = stand(client, wide)
    place_of = next(s for s in now["sections"] if s["section_id"] == new["id"])
    assert place_of["met"] == {"grade": "04", "rung": "r2"}
    notes = next(s for s in now["placement"]["sections"] if s["section"] == "Kestrel 5A")["notes"]
    assert any("met the challenge in grade 4 on" in note for note in notes)
    first = {"do": "first_run", "rung": "r2"}
    assert edit(client, wide, first).status_code == 200
    again = next(s for s in stand(client, wide)["placement"]["sections"] if s["section"] == "Kestrel 5A")["notes"]
    assert any("this year yet, where every section starts the year" in note for note in again), "that was last year's"
    place(client, wide, new["id"], met={"grade": "03"})
    notes = stand(client, wide)["placement"]["sections"][-1]["notes"]
    assert any("in grade 3." in note for note in notes)


def test_needs_move_no_section_and_are_in_nothing_that_is_shown(client, kept, section):
    plain = made(client, "/v1/sections", {"section": section})["id"]
    needs = {**section, "label": "Kestrel 4N", "supports": {"mobility": 3, "fine_motor": 4}}
    told = made(client, "/v1/sections", {"section": needs})["id"]
    now = stand(client, kept)
    by_id = {s["section_id"]: p for s, p in zip(now["sections"], now["placement"]["sections"], strict=True)}
    same = {k: v for k, v in by_id[plain].items() if k != "section"}
    assert {k: v for k, v in by_id[told].items() if k != "section"} == same


def test_a_rung_that_is_gone_holds_no_section(client, kept, sections):
    place(client, kept, sections[0], now_on="r2", week="2026-12-02")
    edit(client, kept, {"do": "remove", "rung": "r2"})
    assert stand(client, kept)["sections"][0]["now_on"] is None


def test_a_ladder_without_sections(client, kept):
    assert stand(client, kept) == {"sections": [], "placement": None, "left_out": 0}
