"""What meets the eye first, in a real browser: on a tablet, a phone, on paper and by keyboard."""

from __future__ import annotations

import re

import pytest

from rungwright.domain.keeping import SectionDraft
from rungwright.store import ONE_PERSON, Sections
from tests.web.test_teacher import card, expect, tab_to


def test_a_tablet_shows_the_answer_and_its_first_change_at_once(open_page):
    page = open_page(viewport={"width": 820, "height": 1180})
    asked = card(page, "Kestrel K")
    asked.get_by_role("button", name="easier").click()
    low = 0.0
    for part in ("#headline", ".outcome", ".watch", "#keep", "article.change .swap"):
        box = page.locator(part).first.bounding_box()
        assert box["y"] >= low and box["y"] + box["height"] <= 1180, part
        low = box["y"]
    # The build and the checks stand beside the minutes and what is to be got ready.
    build, minutes = (page.locator(f"section[aria-labelledby={name}]").bounding_box() for name in ("build", "minutes"))
    assert build["x"] + build["width"] <= minutes["x"]


def test_a_clear_check_is_opened_by_keyboard_and_has_room_for_a_finger(open_page):
    page = open_page()
    card(page, "Kestrel 4B").get_by_role("button", name="harder").click()
    summary = page.locator(".held-up summary").filter(has_text="Load: clear")
    numbers = page.locator(".held-up").filter(has_text="Load: clear").locator(".numbers")
    expect(numbers).to_be_hidden()
    assert summary.bounding_box()["height"] >= 44
    tab_to(page, "Load: clear")
    page.keyboard.press("Enter")
    expect(numbers).to_be_visible()
    expect(numbers).to_contain_text("times what is needed")


def test_questions_are_whole_on_paper(open_page):
    page = open_page()
    card(page, "Kestrel 4B").get_by_role("button", name="harder").click()
    questions = page.locator("section[aria-labelledby=prompts] li")
    assert questions.count() > 5
    assert not any(questions.nth(i).is_visible() for i in range(questions.count()))
    page.emulate_media(media="print")
    assert all(questions.nth(i).is_visible() for i in range(questions.count()))


@pytest.mark.parametrize("script", [True, False])
def test_a_phone_folds_what_is_not_needed_first_and_a_tablet_and_paper_show_it(open_page, script):
    page = open_page(viewport={"width": 360, "height": 740}, java_script_enabled=script)
    card(page, "Kestrel 4B").get_by_role("button", name="harder").click()
    fold = page.locator("summary").filter(has_text=re.compile(r"All \d criteria"))
    tables = [page.locator(name) for name in ("table.criteria", "table.kit", "table.phases")]
    assert [table.first.is_visible() for table in tables] == [False] * 3
    fold.press("Enter")
    expect(tables[0]).to_be_visible()
    fold.press("Enter")
    page.set_viewport_size({"width": 768, "height": 1024})
    expect(fold).to_be_hidden()
    assert [table.first.is_visible() for table in tables] == [True] * 3
    page.set_viewport_size({"width": 360, "height": 740})
    page.emulate_media(media="print")
    assert [table.first.is_visible() for table in tables] == [True] * 3
    # Cautions are never folded.
    page.emulate_media(media="screen")
    assert page.get_by_text("fingers and feet clear").is_visible()


def test_the_longest_name_of_a_section_fits_a_phone(open_page, store):
    with store.writing() as session:
        first = Sections(session, ONE_PERSON).list(after=None, limit=1).items[0]
        section = Sections(session, ONE_PERSON).whole(first).model_copy(update={"label": "Refuge" * 13 + "12"})
        id = Sections(session, ONE_PERSON).add(SectionDraft(section=section, cupboard_id=None)).id
    page = open_page(viewport={"width": 320, "height": 640})
    for address in ("/", f"/sections/{id}", f"/sections/{id}/ask?ask=harder"):
        page.goto(address)
        assert page.evaluate("document.documentElement.scrollWidth") <= 320, address


def test_six_rungs_are_seen_whole_on_a_tablet(open_page):
    page = open_page("/ladders/new", viewport={"width": 820, "height": 1180})
    page.get_by_role("button", name="Draft it").click()
    steps = page.locator(".steps-picture")
    expect(steps.locator(".step-number")).to_have_count(6)
    box = steps.bounding_box()
    assert box["x"] >= 0 and box["x"] + box["width"] <= 820
