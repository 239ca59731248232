"""The lesson as it is taught: marks with k of n, help when it runs late, and all of it without script."""

from __future__ import annotations

import json
import re

import pytest

from rungwright.store import ONE_PERSON, Runs
from rungwright.web.marks import mark_of, positions_held
from tests.web.test_pages import kept_plan
from tests.web.test_teacher import card, expect

TWO_SPOTS = "Kestrel 4B"


def test_every_spot_must_hold():
    assert [mark_of(f"held.{k}", 2) for k in (2, 1, 0)] == ["yes", "no", "no"]
    assert [mark_of(said, 2) for said in ("yes", "with_help", "held.3")] == ["yes", "with_help", "held.3"]


def test_spots_that_held_are_counted_by_the_end():
    rows = [
        {"first": "held.1", "end": "held.2"},
        {"first": "held.0", "end": "not_tested"},
        {"first": "held.2", "end": "with_help"},
        {"first": "not_tested", "end": "not_tested"},
    ]
    assert positions_held(rows, 2) == {"of": 2, "counts": [1, 0, 1]}
    assert positions_held(rows[3:], 2) is None


def test_k_of_n_is_tapped_looked_over_and_kept(client, store):
    plan = kept_plan(client, TWO_SPOTS)
    text = client.get(f"{plan}/lesson").text
    marks = re.findall(r'name="first\.0\.load" value="([^"]+)"><span>([^<]+)', text)
    assert marks == [
        ("held.2", "2 of 2"), ("held.1", "1 of 2"), ("held.0", "0 of 2"), ("with_help", "with help"),
        ("not_tested", "not tested"),
    ]  # fmt: skip
    assert re.findall(r'name="first\.0\.wind" value="([^"]+)"', text) == ["yes", "no", "with_help", "not_tested"]
    said = {"by": "group", "on": "2026-11-20", "groups": "9"}
    said |= {"first.0.load": "held.1", "end.0.load": "held.2", "first.1.load": "held.0", "first.2.load": "with_help"}
    over = client.post(f"{plan}/results", data={**said, "then": "check"})
    assert re.search(r'name="end\.1\.load".*?value="held\.0" selected', over.text, re.DOTALL)
    kept = client.post(f"{plan}/results", data={**said, "end.1.load": "held.0"}).headers["location"]
    with store.reading() as session:
        run = Runs(session, ONE_PERSON).find(kept.removeprefix("/results/")).body
    assert (run.positions_held.of, run.positions_held.counts) == (2, [1, 0, 1])
    assert [row.end.get("load") for row in run.grid[:3]] == ["yes", "no", None]
    assert [row.first.get("load") for row in run.grid[:3]] == ["no", "no", "with_help"]


def test_who_is_called_to_the_tests_is_told_with_the_part_that_tests(client):
    text = client.get(f"{kept_plan(client, TWO_SPOTS)}/lesson").text
    told = re.findall(r"data-calls='([^']*)'", text)
    calls = json.loads(told[0])
    assert len(told) == 1 and [start for start, _ in calls] == sorted(start for start, _ in calls)
    assert {int(re.match(r"group (\d+) to ", said)[1]) for _, said in calls} == set(range(1, 10))
    assert calls[0] == [0.0, "group 1 to wind 1"]


def test_minutes_that_were_shared_out_before_are_no_help_when_it_runs_late(client):
    text = client.get(f"{kept_plan(client, TWO_SPOTS)}/lesson").text
    assert "Let groups test at their own tables." in text
    assert "Shorten the time to build." not in text and "Start the planning before" not in text


def test_a_mark_that_no_page_sends_is_refused(client):
    plan = kept_plan(client, TWO_SPOTS)
    said = {"by": "group", "on": "2026-11-20", "groups": "9", "end.0.load": "held.3"}
    assert client.post(f"{plan}/results", data=said).status_code == 422


@pytest.mark.parametrize(
    ("query", "status", "said"),
    [
        ("", 200, "Running late"),
        ("left=30&untested=2", 200, "In 30 minutes"),
        ("left=0&untested=9", 200, "no test can be done"),
        ("left=soon&untested=2", 422, "Minutes from 0 to 240"),
        ("left=5&untested=10", 422, "A whole number from 1 to 9"),
        ("left=5", 422, "A whole number from 1 to 9"),
    ],
)
def test_help_when_it_runs_late(client, query, status, said):
    answer = client.get(f"{kept_plan(client, TWO_SPOTS)}/lesson?{query}")
    assert answer.status_code == status and said in answer.text


def test_a_lesson_is_taught_with_script_off(open_page):
    page = open_page(java_script_enabled=False)
    card(page, TWO_SPOTS).get_by_role("button", name="harder").click()
    page.get_by_role("button", name="Keep this plan").click()
    page.get_by_role("link", name="Teach it").click()
    page.get_by_text("Running late?", exact=True).click()
    page.get_by_label("Minutes left").fill("20")
    page.get_by_label("Groups not tested yet").fill("3")
    page.get_by_role("button", name="What can still be done").click()
    expect(page.get_by_role("status")).to_contain_text("In 20 minutes the 3 groups that are left can still do")
    tap = "input[name='first.{}.{}'][value='{}']"
    page.locator(tap.format(0, "load", "held.1")).check()
    page.locator(tap.format(8, "wind", "yes")).check()
    page.get_by_role("button", name="Look over the results").click()
    assert page.locator("[name='end.0.load']").input_value() == "held.1"
    page.get_by_role("button", name="Save the results").click()
    expect(page.get_by_role("row", name=re.compile("Carrying the weight"))).to_contain_text("0 of 1")
    expect(page.get_by_role("row", name=re.compile("Standing up to the wind"))).to_contain_text("1 of 1")


def test_one_thumb_reaches_every_mark_and_the_next_group(open_page):
    """A phone in one hand: what is tapped is at least 44 units high, and the next group is always in sight."""
    page = open_page(viewport={"width": 320, "height": 640}, has_touch=True)
    card(page, TWO_SPOTS).get_by_role("button", name="harder").click()
    page.get_by_role("button", name="Keep this plan").click()
    page.get_by_role("link", name="Teach it").click()
    page.locator("#tap").scroll_into_view_if_needed()
    for value in ("held.2", "held.1", "with_help", "not_tested"):
        mark = page.locator("label").filter(has=page.locator(f"[name='first.0.load'][value='{value}']"))
        box = mark.bounding_box()
        assert box["height"] >= 44 and box["width"] >= 44, value
        mark.tap()
        assert page.locator(f"[name='first.0.load'][value='{value}']").is_checked()
    turn = page.get_by_role("button", name="Next group").bounding_box()
    assert turn["y"] + turn["height"] <= 640
    page.get_by_role("button", name="Next group").tap()
    expect(page.get_by_text("Group 2 of 9")).to_be_visible()


def test_the_grid_takes_k_of_n_by_keyboard(open_page):
    page = open_page()
    card(page, TWO_SPOTS).get_by_role("button", name="harder").click()
    page.get_by_role("button", name="Keep this plan").click()
    page.get_by_role("link", name="Enter the results").click()
    page.get_by_role("link", name="Group by group").click()
    page.locator("[name='end.0.load']").focus()
    for key in "2201w":
        page.keyboard.press(key)
        page.keyboard.press("Enter")
    page.get_by_role("button", name="Save the results").click()
    # Five groups: one had help, two held at both spots.
    expect(page.get_by_role("row", name=re.compile("Carrying the weight"))).to_contain_text("2 of 4")


def test_who_is_next_stands_beside_the_clock(open_page):
    page = open_page(before="const day = Date.now; window.ahead = 0; Date.now = () => day() + window.ahead;")
    card(page, TWO_SPOTS).get_by_role("button", name="harder").click()
    page.get_by_role("button", name="Keep this plan").click()
    page.get_by_role("link", name="Teach it").click()
    page.get_by_role("button", name="Start the clock").click()
    turns = page.locator("[data-turns]")
    for part in ("Plan", "Build", "Test"):
        expect(turns).to_be_hidden()
        page.get_by_role("button", name="Next part now").click()
        expect(page.locator("[data-part]")).to_have_text(part)
    expect(turns).to_contain_text(re.compile(r"Now: group 1 to wind 1, group 2 to wind 2\.\s+Next: group"))
    page.evaluate("window.ahead = 2 * 60_000")
    expect(turns).not_to_contain_text("group 1 to wind 1")
    expect(page.get_by_role("button", name="Start the clock")).to_be_hidden()
