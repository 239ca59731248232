"""Results on pages: looked at, corrected and withdrawn; nothing of what they said is lost."""

from __future__ import annotations

import html
import re

import pytest

from rungwright.api.demo import demo
from rungwright.domain.keeping import Role, RunDraft
from rungwright.domain.run import Run
from rungwright.store.keys import add_key
from rungwright.web.result_form import filled, of_run, read
from tests.web.test_keeping import entered
from tests.web.test_pages import form_of, kept_plan, sections

COUNTS = {
    "challenge": "shelter",
    "settings": {"load_positions": 2},
    "on": "2026-11-20",
    "groups": 9,
    "results": [
        {"criterion": "wind", "first": {"met": 6, "of": 9}, "end": {"met": 8, "of": 9}},
        {"criterion": "dry", "end": {"met": 4, "of": 7}},
        {"criterion": "load", "first": {"met": 3, "of": 9}, "end": {"met": 5, "of": 8}},
    ],
    "positions_held": {"of": 2, "counts": [1, 2, 6]},
    "minutes_over": -3.0,
    "flags": ["many_absent"],
}
GRID = {
    **{name: COUNTS[name] for name in ("challenge", "settings", "on", "minutes_over", "flags")},
    "groups": 3,
    "positions_held": {"of": 2, "counts": [1, 0, 2]},
    "grid": [
        {"first": {"load": "yes", "dry": "no"}, "end": {"load": "yes", "dry": "yes"}},
        {"first": {"load": "no", "dry": "with_help"}, "end": {}},
        {"first": {}, "end": {}},
    ],
}


def results(client, label: str = "Kestrel 4B") -> str:
    """Address of the newest results of a section."""
    return re.search(r'href="(/results/\w+)"', client.get(f"{sections(client)[label]}/results").text)[1]


def api(address: str) -> str:
    return address.replace("/results/", "/v1/runs/")


@pytest.mark.parametrize("run", [COUNTS, GRID], ids=["counts", "grid"])
def test_a_form_that_is_sent_as_it_is_filled_says_the_same(run, rules):
    run = Run.model_validate_json(RunDraft.model_validate({"run": run}).run.model_dump_json())
    by_group = run.grid is not None
    lesson = of_run(run, {"load_positions": 2}, rules.base)
    assert read(filled(run, by_group=by_group), lesson, by_group=by_group) == RunDraft(run=run)


def test_groups_may_be_corrected_as_counts(rules):
    run = RunDraft.model_validate({"run": GRID}).run
    lesson = of_run(run, {"load_positions": 2}, rules.base)
    counted = read(filled(run, by_group=False), lesson, by_group=False).run
    assert counted.grid is None and counted.tallies() == run.tallies()


def test_a_correction_keeps_what_was_said_and_changes_what_is_expected(client):
    section, run = sections(client)["Kestrel 4B"], results(client)
    before = client.get(api(run)).json()
    form = {**form_of(client.get(f"{run}/correct").text), "end.load": "5", "of.load": "8"}
    answer = client.post(f"{run}/correct", data=form)
    assert (answer.status_code, answer.headers["location"]) == (303, run)
    after = client.get(api(run)).json()
    told = {r["criterion"]: r["end"] for r in after["run"]["results"]}
    assert told["load"] == {"met": 5, "of": 8} and told["dry"] == {"met": 8, "of": 9}
    assert after["settings"] == before["settings"] and after["run"]["settings"] == before["run"]["settings"]
    assert [past["run"] for past in client.get(f"{api(run)}/history").json()["items"]] == [before["run"]]
    page = html.unescape(client.get(f"{section}/results").text)
    assert page.index("weight: 5 of 8") < page.index("Before, it said") < page.index("weight: 9 of 9")
    assert "5 of 8" in client.get(run).text


def test_the_same_correction_twice_is_one(client):
    run = results(client)
    form = {**form_of(client.get(f"{run}/correct").text), "end.load": "5"}
    assert [client.post(f"{run}/correct", data=form).status_code for _ in range(2)] == [303, 303]
    assert len(client.get(f"{api(run)}/history").json()["items"]) == 1


def test_who_comes_late_is_told_and_keeps_what_was_typed(client):
    run = results(client)
    form = form_of(client.get(f"{run}/correct").text)
    client.post(f"{run}/correct", data={**form, "end.load": "5"})
    late = client.post(f"{run}/correct", data={**form, "end.load": "7"})
    assert late.status_code == 409 and "changed elsewhere" in late.text
    again = form_of(late.text)
    assert again["end.load"] == "7" and again["version"] == "2"
    withdrawn = client.post(f"{run}/counting", data={"version": "1", "do": "withdraw"})
    assert withdrawn.status_code == 409 and client.get(api(run)).json()["withdrawn"] is False
    assert client.post(f"{run}/correct", data=again).status_code == 303
    assert len(client.get(f"{api(run)}/history").json()["items"]) == 2


def test_what_is_wrong_with_a_correction_changes_nothing(client):
    run = results(client)
    before = client.get(api(run)).json()
    form = form_of(client.get(f"{run}/correct").text)
    for field, value in (("end.load", "12"), ("on", "soon"), ("groups", "0")):
        answer = client.post(f"{run}/correct", data={**form, field: value})
        assert answer.status_code == 422 and f'id="wrong-{field}"' in answer.text, field
        assert f'value="{value}"' in answer.text
    assert client.get(api(run)).json() == before


def test_what_is_withdrawn_teaches_nothing_until_it_counts_again(client):
    section, run = sections(client)["Kestrel 4B"], results(client)
    ask = f"{section}/ask?ask=fit"
    assert "No earlier run" not in client.get(ask).text
    client.post(f"{run}/counting", data={"version": "1", "do": "withdraw"})
    assert "No earlier run" in client.get(ask).text and "withdrawn" in client.get(f"{section}/results").text
    assert "were withdrawn" in client.get(run).text
    client.post(f"{run}/counting", data={"version": "2", "do": "count"})
    assert "No earlier run" not in client.get(ask).text
    page = client.get(f"{section}/results").text
    assert "Counts again since" in page and "Withdrawn on" in page


def test_groups_are_corrected_in_their_grid(client):
    plan = kept_plan(client, "Kestrel 4B")
    marks = {f"end.{group}.wind": "yes" if group < 6 else "no" for group in range(9)}
    sent = {"by": "group", "on": "2026-11-20", **marks}
    run = client.post(f"{plan}/results", data=sent).headers["location"]
    page = client.get(f"{run}/correct").text
    assert page.count('<option value="yes" selected>') == 6
    marks["end.8.wind"] = "yes"
    answer = client.post(f"{run}/correct", data={**form_of(page), **marks})
    assert answer.status_code == 303
    assert "7 of 9" in client.get(f"{sections(client)['Kestrel 4B']}/results").text


def test_who_may_only_look_cannot_correct(client, store):
    run = results(client)
    plan = kept_plan(client, "Kestrel 4B")
    entered(client, plan)
    with store.writing() as session:
        _, key = add_key(session, label="Planning tool", role=Role.PLANNER)
    signed = client.post("/sign-in", data={"key": key, "to": "/"})
    client.cookies.set("rungwright_session", signed.cookies["rungwright_session"])
    listed = client.get(f"{sections(client)['Kestrel 4B']}/results").text
    assert "What it changed" in listed and "Correct</a>" not in listed and "Withdraw<" not in listed
    assert client.get(f"{run}/correct").status_code == 403
    for do in ("correct", "counting"):
        assert client.post(f"{run}/{do}", data={"version": "1", "do": "withdraw"}).status_code == 403


def test_an_answer_of_no_section_takes_no_results(client, rules):
    kept = client.post("/v1/recommendations", json={**demo(), "keep": True}).json()["id"]
    for answer in (client.get(f"/plans/{kept}/results"), client.post(f"/plans/{kept}/results", data={"end.load": "1"})):
        assert answer.status_code == 404 and "of no section" in answer.text
