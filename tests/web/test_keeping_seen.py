"""In a real browser: a plan reserves its kit and gives it back, and a section goes into a new year."""

from __future__ import annotations

import re

from tests.web.test_keeping import CUPBOARD
from tests.web.test_teacher import card, expect, tab_to


def test_a_plan_is_reserved_seen_and_dropped_by_keyboard_without_script(open_page):
    page = open_page(java_script_enabled=False)
    card(page, "Kestrel 4B").get_by_role("button", name="harder").click()
    page.get_by_role("button", name="Keep this plan").press("Enter")
    note = page.locator(".note")
    expect(note).to_contain_text(re.compile(f"Reserved from {re.escape(CUPBOARD)}: .*sheets of paper"))
    note.get_by_role("link", name="The cupboard").press("Enter")
    page.locator("summary", has_text="What is reserved").click()
    row = page.locator("tr", has=page.get_by_role("rowheader", name=re.compile("^Copy paper"))).first
    expect(row).not_to_contain_text("reserved 0")
    page.go_back()
    page.get_by_role("button", name="Drop this plan and give its kit back").press("Enter")
    expect(note).to_contain_text("is free again")
    expect(page.get_by_role("button", name="Drop this plan and give its kit back")).to_have_count(0)
    page.emulate_media(media="print")
    expect(note).to_be_hidden()


def test_a_new_year_by_keyboard_alone(open_page):
    page = open_page()
    page.locator("a", has_text="Change this section").nth(3).focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/sections/*")
    tab_to(page, "Take it into a new year")
    page.keyboard.press("Enter")
    page.wait_for_url("**/new-year")
    tab_to(page, "Name of the section")
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type("Kestrel new")
    tab_to(page, "Mostly the same")
    page.keyboard.press("ArrowDown")
    tab_to(page, "Begin the new year")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Kestrel new")).to_be_visible()
    page.goto("/")
    expect(card(page, "Kestrel new")).to_contain_text("Pitch its first lesson")


def test_readiness_over_time_is_seen_in_the_dark_and_on_paper(open_page):
    page = open_page(color_scheme="dark")
    card(page, "Kestrel 4B").get_by_role("button", name="harder").click()
    page.get_by_role("button", name="Keep this plan").click()
    page.get_by_role("link", name="Enter the results").click()
    page.locator("[name='end.load']").fill("7")
    page.get_by_role("button", name="Save the results").click()
    picture = page.get_by_role("img", name="Readiness of Kestrel 4B over time")
    expect(picture).to_be_visible()
    colour = "e => [getComputedStyle(e).fill, getComputedStyle(document.body).color]"
    dot, ink = picture.locator("circle").first.evaluate(colour)
    assert dot == ink
    tab_to(page, "The same in words")
    page.keyboard.press("Enter")
    expect(page.locator("details[open] li")).to_have_count(2)
    page.emulate_media(media="print", color_scheme="light")
    expect(picture).to_be_visible()
    dot, ink = picture.locator("circle").first.evaluate(colour)
    assert dot == ink == "rgb(0, 0, 0)"
    assert picture.evaluate("e => e.getBoundingClientRect().width <= e.parentElement.clientWidth")


def test_a_result_is_corrected_and_withdrawn_by_keyboard_without_script(open_page):
    page = open_page(java_script_enabled=False)
    page.get_by_role("listitem").filter(has_text="Kestrel 4B").get_by_role("link", name="Results").press("Enter")
    expect(page.get_by_role("heading", name="Results of Kestrel 4B")).to_be_visible()
    page.get_by_role("link", name="Correct").press("Enter")
    weight = page.get_by_label("Carrying the weight, by the end")
    expect(weight).to_have_value("9")
    weight.fill("5")
    weight.press("Enter")
    expect(page.get_by_role("row", name=re.compile("Carrying the weight"))).to_contain_text("5 of 9")
    page.get_by_role("link", name="All results of Kestrel 4B").press("Enter")
    page.get_by_text("What it said before").press("Enter")
    expect(page.get_by_role("group").filter(has_text="Corrected on")).to_contain_text("Carrying the weight: 9 of 9")
    page.get_by_role("button", name="Withdraw").press("Enter")
    expect(page.get_by_role("article")).to_contain_text("withdrawn: kept, but it changes no estimate")
    page.get_by_role("button", name="Let it count again").press("Enter")
    expect(page.get_by_role("button", name="Withdraw")).to_be_visible()
