"""The answer page, the start page and the rule pages as a teacher and a coach read them: what meets the eye first."""

from __future__ import annotations

import json
import re
from pathlib import Path

from rungwright.domain.keeping import SectionDraft
from rungwright.store import ONE_PERSON, Sections
from rungwright.web.check_numbers import LACKS, SAID
from tests.web.test_pages import kept_plan, sections

EXAMPLES = Path(__file__).parents[2] / "examples"


def test_what_needs_a_look_stands_before_the_plan_is_kept(client):
    """With what would help first; a check that is clear is one line, and its numbers have words and units."""
    text = client.get(f"{sections(client)['Kestrel K']}/ask?ask=easier&challenge=shelter").text
    watch = text.partition('class="watch"')[2].partition("</ul>")[0]
    assert "Time is uncertain." in watch and "Would help:" in watch and "Load" not in watch
    assert text.index('class="watch"') < text.index("Keep and print the brief") < text.index('id="checks"')
    checks = text.partition('id="checks"')[2].partition("</section>")[0]
    assert checks.index("Time: uncertain.") < checks.index("Load: clear")
    assert checks.count('class="held-up"') == checks.count('class="verdict clear"') > 3
    assert "<dt>It bears at least</dt>" in checks and "margin" not in checks


def test_our_starting_guess_is_said_once(client):
    text = client.get(f"{sections(client)['Kestrel 4B']}/ask?ask=harder&challenge=shelter").text
    assert text.count('class="change"') == 2
    assert text.count("our starting guess") == 1


def test_proofs_are_told_in_groups_and_words(client):
    for address in sections(client).values():
        text = client.get(f"{address}/ask?ask=harder&challenge=shelter").text
        for fact in re.findall(r"<li>(.*?)</li>", "".join(re.findall(r"looked at</dt><dd><ul>(.*?)</ul>", text, re.S))):
            assert "_" not in fact and not fact.endswith("share."), fact


def test_numbers_of_every_check_have_words():
    for path in sorted(EXAMPLES.glob("*/answer.json")):
        for check in json.loads(path.read_text())["after"]["checks"]:
            for key in check["numbers"]:
                assert key == "form" or key in SAID or key.startswith(LACKS), (path.parent.name, key)


def test_questions_about_the_same_stand_under_one_heading(client):
    for address in sections(client).values():
        text = client.get(f"{address}/ask?ask=fit&challenge=shelter").text
        for place in ("prompts", "yourself"):
            part = text.partition(f'id="{place}"')[2].partition("</section>")[0]
            headings = re.findall(r"<summary>(.*?) \(\d+\)</summary>", part)
            assert len(headings) == len(set(headings))


def test_one_group_is_told_of_as_one(client):
    body = {"label": "Room 3", "grade": "3", "students": "1", "group_size": "1", "adults": "1", "minutes": "60"}
    kept = client.post("/sections", data={**body, "lessons": "1", "from": "usual", "tools": "usual", "then": "fit"})
    text = client.get(kept.headers["location"]).text
    assert "1 student in 1 group" in text and "could go either way</span>" in text
    assert " of 1 groups" not in text and "groups of 1" not in text and "to 1 of 1" not in text


def test_many_sections_can_be_searched(client, store):
    assert "Find a section" not in client.get("/").text
    with store.writing() as session:
        first = Sections(session, ONE_PERSON).list(after=None, limit=1).items[0]
        section = Sections(session, ONE_PERSON).whole(first)
        for n in range(60):
            named = section.model_copy(update={"label": f"Room {n}"})
            Sections(session, ONE_PERSON).add(SectionDraft(section=named, cupboard_id=None))
    text = client.get("/").text
    assert text.count('<li class="card">') == 69 and "Find a section" in text
    found = client.get("/?find=room+5").text
    assert found.count('<li class="card">') == 11 and "11 of 69 sections" in found
    assert "0 of 69 sections" in client.get("/?find=%3Cb%3E").text and "<b>" not in client.get("/?find=%3Cb%3E").text


def test_a_section_with_a_plan_comes_first(client):
    plan = kept_plan(client, "Kestrel 8B")
    first = client.get("/").text.partition('<li class="card">')[2].partition("</li>")[0]
    assert "Kestrel 8B" in first and f"{plan}/brief" in first


def test_a_rule_that_speaks_says_what_it_says(client):
    rule = "/rules/adjust/shelter/load/second_spot_for_a_surplus"
    section = sections(client)["Kestrel 4B"].rpartition("/")[2]
    tried = client.get(rule, params={"section": section, "ask": "harder"}).text.partition('role="status"')[2]
    assert "9 of 9 groups carried the weight last time." in tried
    assert f'href="/sections/{section}/ask?ask=harder"' in tried
    # The example is told in whole words, and no test is told twice.
    text = client.get(rule).text
    assert "“4 of 4 groups carried the weight last time." in text and "{" not in text.partition("<main")[2]


def test_what_is_wrong_with_a_check_is_told_by_the_name_of_its_field(client):
    text = client.get("/checks/load?mass=370&sticks=x").text.partition('role="alert"')[2].partition("</div>")[0]
    assert ">The weight: " in text and ">Craft sticks: " in text


def test_what_nearly_every_operation_answers_is_told_once(client):
    text = client.get("/api").text
    assert text.count("429 Too many calls") == 1
    assert text.count("422 The request is not valid") > 10
