"""A teacher's whole task in a real browser: from a section to the printed brief, the results, and what they changed."""

from __future__ import annotations

import re

import pytest

NEW = {"name": "Harbour 5", "grade": "5"}


def expect(locator):
    from playwright.sync_api import expect as playwright_expect

    return playwright_expect(locator)


def card(page, label: str):
    return page.locator(".card").filter(has=page.get_by_role("heading", name=label, exact=True))


@pytest.fixture
def count_prints(open_page):
    """Opens a page on which printing is counted: there is no printer."""

    def open_it(path: str = "/", **options: object):
        return open_page(path, before="window.prints = 0; window.print = () => { window.prints += 1; }", **options)

    return open_it


CHARACTERS_A_SECOND, SECONDS_A_CONTROL, MOST_SECONDS = 5, 1, 90


class AtHumanPace:
    """A hand at a keyboard and a pointer: its seconds are counted, not waited."""

    def __init__(self) -> None:
        self.seconds = 0.0

    def press(self, locator) -> None:
        self.seconds += SECONDS_A_CONTROL
        locator.click()

    def type(self, locator, text: str) -> None:
        self.press(locator)
        self.seconds += len(text) / CHARACTERS_A_SECOND
        locator.press("ControlOrMeta+a")
        locator.press_sequentially(text)


def test_a_new_section_is_typed_and_printed_within_ninety_seconds(count_prints):
    """All that the editor asks, a cupboard of six materials with it, to the printed brief."""
    page, hand = count_prints(), AtHumanPace()
    hand.press(page.get_by_role("link", name="Add a section"))
    hand.type(page.get_by_label("Name of the section"), "Harbour 5, room 12")
    hand.press(page.get_by_role("checkbox", name="5", exact=True))
    for name, value in (("Students", "26"), ("Students in a group", "4"), ("Adults in the room", "2"),
                        ("Minutes of one lesson", "50"), ("Lessons for the challenge", "2")):  # fmt: skip
        hand.type(page.get_by_label(name, exact=True), value)
    hand.press(page.get_by_role("radio", name="Only what I put down here"))
    hand.press(page.get_by_role("button", name=re.compile("Craft sticks: a usual amount")))
    for name, amount in (("Paper straws", "120"), ("Copy paper (A4 or letter)", "200"), ("Masking tape", "4"),
                         ("String", "2"), ("Kitchen foil", "2")):  # fmt: skip
        hand.type(page.get_by_label(name, exact=True), amount)
    hand.press(page.get_by_role("button", name="Save and pitch a challenge"))
    page.wait_for_url("**/ask?ask=fit")
    hand.press(page.get_by_role("radio", name="easier"))
    page.wait_for_url(re.compile("ask=easier"))
    hand.press(page.get_by_role("button", name="Keep and print the brief"))
    hand.press(page.get_by_role("button", name="Print", exact=True))
    assert page.evaluate("window.prints") == 1
    expect(page.get_by_text("Harbour 5, room 12 · Group:").first).to_be_visible()
    assert 20 < hand.seconds <= MOST_SECONDS


def test_a_demo_section_is_three_interactions_from_its_printed_brief(count_prints):
    page = count_prints()
    card(page, "Kestrel 4B").get_by_role("button", name="harder").click()
    page.get_by_role("button", name="Keep and print the brief").click()
    page.get_by_role("button", name="Print", exact=True).click()
    assert page.evaluate("window.prints") == 1
    expect(page.get_by_role("heading", name="Ridge refuge", exact=True)).to_be_visible()


def test_a_new_section_to_its_brief(count_prints):
    page = count_prints()
    page.get_by_role("link", name="Add a section").click()
    page.get_by_label("Name of the section").fill(NEW["name"])
    page.get_by_role("checkbox", name=NEW["grade"], exact=True).check()
    page.get_by_label("Students", exact=True).fill("26")
    page.get_by_role("radio", name="Only what I put down here").check()
    page.get_by_label("Find a material").fill("craft st")
    expect(page.get_by_label("Masking tape", exact=True)).to_be_hidden()
    page.get_by_role("button", name=re.compile("Craft sticks: a usual amount")).click()
    assert page.get_by_label("Craft sticks", exact=True).input_value() == "300"
    page.get_by_label("Find a material").fill("")
    for name, amount in (("Copy paper (A4 or letter)", "200"), ("Masking tape", "4"), ("Kitchen foil", "2")):
        page.get_by_label(name, exact=True).fill(amount)
    page.get_by_role("button", name="Save and pitch a challenge").click()
    expect(page.get_by_role("heading", name="Ridge refuge for Harbour 5")).to_be_visible()
    expect(page.get_by_text("26 students in 9 groups")).to_be_visible()
    page.get_by_role("radio", name="easier").check()
    expect(page.get_by_role("radio", name="easier")).to_be_checked()
    page.wait_for_url(re.compile("ask=easier"))
    page.get_by_role("button", name="Keep and print the brief").click()
    expect(page.get_by_text("Harbour 5 · Group:").first).to_be_visible()


def tab_to(page, name: str, most: int = 200) -> None:
    """Press Tab until what has this name has the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")
        said = page.evaluate(
            "(() => { const e = document.activeElement; const by = e.labels && e.labels[0];"
            " return ((e.getAttribute('aria-label') || (by && by.textContent) || e.textContent) || '').trim(); })()"
        )
        if said.startswith(name):
            assert page.evaluate("document.activeElement.matches(':focus-visible')")
            return
    raise AssertionError(f"the keyboard never comes to {name!r}")


def test_the_whole_task_by_keyboard_alone(count_prints):
    page = count_prints()
    tab_to(page, "Add a section")
    page.keyboard.press("Enter")
    page.wait_for_url("**/sections/new")
    tab_to(page, "Name of the section")
    page.keyboard.type("Kite room")
    tab_to(page, "4")
    page.keyboard.press("Space")
    tab_to(page, "Save and pitch a challenge")
    page.keyboard.press("Enter")
    page.wait_for_url("**/ask?ask=fit")
    tab_to(page, "about right")
    page.keyboard.press("ArrowRight")
    page.wait_for_url(re.compile("ask=harder"))
    expect(page.locator("#told")).not_to_be_empty()
    tab_to(page, "Leave out")
    first = page.locator("article.change h2").first.inner_text()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Set aside by you")).to_be_visible()
    assert page.evaluate("document.activeElement.id") == "headline"
    expect(page.locator(".aside-list")).to_contain_text(first)
    tab_to(page, "Keep and print the brief")
    page.keyboard.press("Enter")
    page.wait_for_url("**/brief")
    tab_to(page, "Print")
    page.keyboard.press("Enter")
    assert page.evaluate("window.prints") == 1


def test_changes_are_left_out_kept_as_they_are_and_stepped_at_once(open_page):
    page = open_page()
    card(page, "Kestrel 4B").get_by_role("button", name="harder").click()
    spots = page.get_by_role("article", name="Spots where the weight is tested")
    before = page.locator("#headline").inner_text()
    spots.get_by_role("link", name="Rather 3 spots").click()
    expect(spots.locator("ins")).to_have_text("3 spots")
    expect(page.locator("#headline")).not_to_have_text(before)
    expect(page.locator("#headline")).to_contain_text("With your own settings")
    expect(page.locator(".build-picture").first).to_have_attribute("aria-label", re.compile("the first of 3 spots"))
    spots.get_by_role("link", name="Take the proposed one").click()
    expect(page.locator("#headline")).to_have_text(before)
    spots.get_by_role("link", name=re.compile("^Keep")).click()
    expect(page.locator(".aside-list")).to_contain_text("stays as it is this time")
    expect(spots).to_have_count(0)
    page.go_back()
    expect(page.locator("#headline")).to_have_text(before)
    spots.get_by_role("button", name="Always keep").click()
    expect(page.locator(".aside-list")).to_contain_text("always stays as it is for this section")
    expect(spots).to_have_count(0)
    page.get_by_role("button", name=re.compile("^Set free")).click()
    expect(spots).to_be_visible()


def test_decisions_and_results_are_kept_and_change_what_is_expected(open_page):
    page = open_page()
    card(page, "Kestrel 5A").get_by_role("button", name="easier").click()
    first = page.locator("article.change").first
    first.get_by_role("link", name=re.compile("Leave out")).click()
    page.locator(".aside-list select").select_option("no_time")
    page.get_by_role("button", name="Keep this plan").click()
    page.wait_for_url("**/plans/*")
    page.get_by_role("link", name="Enter the results").click()
    for criterion, met in (("wind", 9), ("dry", 9), ("load", 9), ("entry", 9), ("room", 9)):
        page.locator(f"[name='end.{criterion}']").fill(str(met))
    page.get_by_role("button", name="Save the results").click()
    expect(page.get_by_role("heading", name="What the results changed")).to_be_visible()
    expect(page.locator(".lead")).to_contain_text("more")
    row = page.get_by_role("row", name=re.compile("Carrying the weight"))
    expect(row).to_contain_text("9 of 9")
    page.goto("/")
    expect(card(page, "Kestrel 5A")).to_contain_text("every group met every criterion")
    page.goto("/decisions")
    expect(page.locator("main")).to_contain_text("There is no time for it. (1)")


def test_results_are_entered_in_the_grid_by_keyboard(open_page):
    page = open_page()
    card(page, "Kestrel 8B").get_by_role("button", name="harder").click()
    page.get_by_role("button", name="Keep this plan").click()
    page.get_by_role("link", name="Enter the results").click()
    page.get_by_role("link", name="Group by group").click()
    page.locator("[name='end.0.wind']").focus()
    for key in "ynwyyn":
        page.keyboard.press(key)
        page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.name") == "end.0.dry"
    page.keyboard.press("y")
    page.get_by_role("button", name="Save the results").click()
    row = page.get_by_role("row", name=re.compile("Standing up to the wind"))
    # One of six had help: it counts neither way.
    expect(row).to_contain_text("3 of 5")
    expect(page.get_by_role("row", name=re.compile("Keeping the figures dry"))).to_contain_text("1 of 1")


def test_the_demo_school_goes_with_one_click_and_stays_away(open_page):
    page = open_page()
    expect(page.locator(".card")).to_have_count(9)
    page.get_by_role("button", name="Remove the demo school").click()
    expect(page.locator(".card")).to_have_count(0)
    page.reload()
    expect(page.locator(".card")).to_have_count(0)
    page.get_by_role("button", name="Try the demo school instead").click()
    expect(page.locator(".card")).to_have_count(9)


def test_everything_works_with_script_off(open_page):
    page = open_page("/sections/new", java_script_enabled=False)
    page.get_by_label("Name of the section").fill("Ferry room")
    page.get_by_role("checkbox", name="7", exact=True).check()
    page.get_by_role("button", name="Save and pitch a challenge").click()
    page.get_by_role("radio", name="harder").check()
    page.get_by_role("button", name="Work it out").click()
    assert "ask=harder" in page.url
    change = page.locator("article.change").first
    label = change.locator("h2").inner_text()
    change.get_by_role("link", name=re.compile("Leave out")).click()
    expect(page.locator(".aside-list")).to_contain_text(label)
    page.get_by_role("button", name="Keep and print the brief").click()
    expect(page.get_by_text("Print this page with your browser")).to_be_visible()
    page.get_by_role("link", name="The plan").click()
    page.get_by_role("link", name="Enter the results").click()
    page.locator("[name='end.load']").fill("5")
    page.get_by_role("button", name="Save the results").click()
    expect(page.get_by_role("heading", name="What the results changed")).to_be_visible()
    page.goto("/rules")
    page.get_by_label("Find a rule").fill("second spot weight")
    page.get_by_role("button", name="Find").click()
    page.get_by_role("link", name="A second spot where the weight was no trouble").click()
    expect(page.get_by_role("heading", name="What it stands on")).to_be_visible()


def test_a_form_that_is_wrong_says_where_and_loses_nothing(open_page):
    page = open_page("/sections/new", refused="422", java_script_enabled=False)
    page.get_by_label("Name of the section").fill("Lookout")
    page.get_by_role("checkbox", name="3", exact=True).check()
    page.get_by_text("Put down what there is").click()
    page.get_by_label("Craft sticks", exact=True).fill("40")
    page.get_by_role("radio", name="Only what I put down here").check()
    page.get_by_role("checkbox", name="3", exact=True).uncheck()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("at least 1 entries")
    assert page.get_by_label("Name of the section").input_value() == "Lookout"
    assert page.get_by_label("Craft sticks", exact=True).input_value() == "40"


def test_a_lesson_is_timed_and_its_results_are_tapped_as_they_come(open_page):
    page = open_page(viewport={"width": 820, "height": 1180}, has_touch=True)
    card(page, "Kestrel 8B").get_by_role("button", name="harder").click()
    page.get_by_role("button", name="Keep this plan").click()
    page.get_by_role("link", name="Teach it").click()
    page.get_by_role("button", name="Start the clock of lesson 1").tap()
    expect(page.locator("[data-part]")).to_have_text("Task and rules")
    page.get_by_role("button", name="Next part now").tap()
    expect(page.locator("[data-part]")).to_have_text("Plan")

    def tap(group: int, criterion: str, mark: str) -> None:
        page.locator("label").filter(has=page.locator(f"[name='first.{group}.{criterion}'][value='{mark}']")).tap()

    tap(0, "wind", "yes")
    tap(0, "load", "held.0")
    page.get_by_role("button", name="Next group").tap()
    expect(page.get_by_text("Group 2 of 6")).to_be_visible()
    tap(1, "wind", "with_help")
    # The tablet fell asleep.
    page.reload()
    expect(page.locator("[data-part]")).to_have_text("Plan")
    expect(page.get_by_text("Group 2 of 6")).to_be_visible()
    page.get_by_role("button", name="Look over the results").tap()
    page.wait_for_selector("table.grid")
    marks = {name: page.locator(f"[name='{name}']").input_value() for name in (
        "first.0.wind", "end.0.wind", "end.0.load", "first.1.wind", "first.2.wind",
    )}  # fmt: skip
    assert marks == {
        "first.0.wind": "yes",
        "end.0.wind": "yes",
        "end.0.load": "held.0",
        "first.1.wind": "with_help",
        "first.2.wind": "not_tested",
    }
    page.get_by_role("button", name="Save the results").tap()
    expect(page.get_by_role("row", name=re.compile("Carrying the weight"))).to_contain_text("0 of 1")
