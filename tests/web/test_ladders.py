"""Ladders on their pages: drafted, kept, edited by two at once, published, shared, with sections on the rungs."""

from __future__ import annotations

import html
import json
import re

import pytest

from rungwright.api.demo import ladder_demo
from rungwright.domain.keeping import Role
from rungwright.store.keys import add_key
from tests.web.test_teacher import expect, tab_to

DOCUMENT = ladder_demo("check")["ladder"]
OVER_3_TO_5 = "/ladders/draft?challenge=shelter&low=03&high=05&students=24&group_size=3&minutes=50&lessons=2&from=usual"


def keep(client, document=DOCUMENT) -> str:
    """Address of a kept ladder."""
    answer = client.post("/ladders", data={"document": json.dumps(document)})
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def text_of(client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200, answer.text
    return html.unescape(re.sub(r"<[^>]+>", " ", answer.text))


def version(client, address: str) -> str:
    return re.search(r'name="version" value="(\d+)"', client.get(address).text).group(1)


def edit(client, address: str, do: str, rung: str = "", **fields: str):
    fields = {"version": version(client, address), "rung": rung, "do": do, **fields}
    return client.post(f"{address}/edits", data=fields)


def names(client, address: str) -> list[str]:
    return re.findall(r'class="rung-number">\d+</span> ([^<]+)<', client.get(address).text)


def test_a_draft_is_looked_at_before_anything_is_kept(client):
    assert "There is none yet" in text_of(client, "/ladders")
    page = client.get(OVER_3_TO_5).text
    assert "a draft, not kept yet" in page and "First refuge" in page
    assert "There is none yet" in text_of(client, "/ladders")
    document = html.unescape(re.search(r'name="document" value="([^"]+)"', page).group(1))
    address = keep(client, json.loads(document))
    assert names(client, address) == re.findall(r'class="rung-number">\d+</span> ([^<]+)<', page)
    assert "Ridge refuge" in text_of(client, "/ladders")


def test_a_form_that_is_sent_twice_makes_one_ladder(client):
    def once(page: str) -> str:
        return re.search(r'name="once" value="(\w+)"', page).group(1)

    for page in (OVER_3_TO_5, "/ladders/read-in"):
        form = {"document": json.dumps(DOCUMENT), "once": once(client.get(page).text)}
        made = [client.post("/ladders", data=form).headers["location"] for _ in range(2)]
        assert made[0] == made[1]
    form = {"name": "Our own", "once": once(client.get(made[0]).text)}
    forks = [client.post(f"{made[0]}/fork", data=form).headers["location"] for _ in range(2)]
    assert forks[0] == forks[1] != made[0]
    assert client.post(f"{made[0]}/fork", data={**form, "name": "Another"}).headers["location"] != forks[0]
    assert len(set(re.findall(r'href="(/ladders/\w{20,})"', client.get("/ladders").text))) == 4


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"low": "05", "high": "03"}, "from the lowest to the highest"),
        ({"students": "many"}, "students"),
        ({"rungs": "40"}, "rungs"),
        ({"challenge": "sheltr"}, "did you mean"),
    ],
)
def test_a_draft_that_cannot_be_is_told_and_the_form_stays(client, changed, said):
    answer = client.get(OVER_3_TO_5, params=dict(re.findall(r"(\w+)=([^&]+)", OVER_3_TO_5)) | changed)
    assert answer.status_code == 422
    assert (said in answer.text and 'value="24"' in answer.text) or "many" in answer.text


def test_a_ladder_around_what_a_section_did_last(client):
    form = client.get("/ladders/new").text
    section = re.search(r'<option value="(\w+)">Kestrel 4B</option>', form).group(1)
    query = {"challenge": "shelter", "section": section, "easier": "1", "harder": "2"}
    answer = client.get("/ladders/draft", params=query)
    assert answer.status_code == 200
    told = re.findall(r'class="rung-number">\d+</span> ([^<]+)<', answer.text)
    assert "As it is now" in told and len(told) == 4
    assert "supports" not in answer.text and "new_to_language" not in answer.text, "needs are in no shared document"


def test_a_shared_file_is_read_in_as_it_was(client):
    address = keep(client)
    file = client.get(f"{address}/file")
    assert file.json() == DOCUMENT and "attachment" in file.headers["content-disposition"]
    for wrong, said in (("{", "is not a ladder"), ('{"format": "x"}', "/format"), ("[]", "/")):
        answer = client.post("/ladders", data={"document": wrong})
        assert answer.status_code == 422 and said in answer.text
        assert html.escape(wrong, quote=True).replace("&quot;", "&#34;") in answer.text, (
            "what was pasted is still there"
        )


def test_each_button_edits_and_the_ladder_is_checked_again(client):
    address = keep(client)
    assert edit(client, address, "rename", "r1", name="A first refuge").status_code == 303
    went = edit(client, address, "set:load_positions:2", "r2")
    assert went.headers["location"] == f"{address}?edit=r2#rung-r2"
    page = text_of(client, address)
    assert "A first refuge" in page and "2 spots" in page
    edit(client, address, "pin:entry", "r1")
    assert "(pinned)" in text_of(client, f"{address}?edit=r1")
    refused = edit(client, address, "set:entry:can_be_closed", "r1")
    assert refused.status_code == 422 and "is pinned on A first refuge" in refused.text
    edit(client, address, "free:entry", "r1")
    assert "(pinned)" not in text_of(client, f"{address}?edit=r1")
    edit(client, address, "agree", "r1", text="Groups of two.", by="Coaches of Kestrel Ridge", on="2026-11-20")
    assert "Agreed here: Groups of two." in re.sub(r"\s+", " ", text_of(client, address))
    edit(client, address, "agree", "r1", text="", by="", on="")
    assert "Groups of two." not in text_of(client, address)
    edit(client, address, "first_run", "r1")
    assert "every section starts the year here" in text_of(client, address)
    edit(client, address, "first_run:none", "r1")
    assert "every section starts the year here" not in text_of(client, address)
    assert edit(client, address, "insert", "r1").status_code == 303
    assert len(names(client, address)) == 3
    edit(client, address, "remove", "r3")
    assert len(names(client, address)) == 2
    edit(client, address, "name", name="Our refuge")
    assert "<h1>Our refuge</h1>" in client.get(address).text


def test_an_order_that_falls_is_refused_with_the_reason(client):
    address = keep(client)
    refused = edit(client, address, "up", "r1")
    assert refused.status_code == 422 and "cannot stand above" in refused.text
    assert names(client, address) == ["First refuge", "Rain on the walls"]


def test_edits_of_two_coaches_of_different_things_are_both_there(client):
    address = keep(client)
    seen = version(client, address)
    for rung, name in (("r1", "One"), ("r2", "Two")):
        data = {"version": seen, "rung": rung, "do": "rename", "name": name}
        assert client.post(f"{address}/edits", data=data).status_code == 303
    assert names(client, address) == ["One", "Two"]


@pytest.mark.parametrize(("stands", "left"), [("kept", "Ours"), ("sent", "Theirs & <more>")])
def test_two_edits_of_the_same_thing_are_shown_side_by_side(client, stands, left):
    address = keep(client)
    seen = version(client, address)
    for name in ("Ours", "Theirs & <more>"):
        data = {"version": seen, "rung": "r1", "do": "rename", "name": name}
        answer = client.post(f"{address}/edits", data=data)
    assert answer.status_code == 409 and "Ours" in answer.text and "Theirs &amp; &lt;more&gt;" in answer.text
    assert names(client, address)[0] == "Ours", "nothing is written yet"
    fields = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', answer.text))
    fields = {name: html.unescape(value) for name, value in fields.items()}
    chosen = client.post(f"{address}/merge", data={**fields, "at./rungs/r1/name": stands})
    assert chosen.status_code == 303
    assert html.unescape(names(client, address)[0]) == left


def test_a_choice_that_was_made_before_one_more_change_is_asked_again(client):
    address = keep(client)
    seen = version(client, address)
    for name in ("Ours", "Theirs"):
        answer = client.post(f"{address}/edits", data={"version": seen, "rung": "r1", "do": "rename", "name": name})
    fields = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', answer.text))
    fields = {name: html.unescape(value) for name, value in fields.items()}
    edit(client, address, "rename", "r1", name="Newest")
    again = client.post(f"{address}/merge", data={**fields, "at./rungs/r1/name": "sent"})
    assert again.status_code == 409 and "Newest" in again.text
    assert names(client, address)[0] == "Newest"


def colleagues(client, address: str, **names: str) -> str:
    """The file of a ladder with rungs renamed elsewhere."""
    document = client.get(f"{address}/file").json()
    for rung in document["rungs"]:
        rung["name"] = names.get(rung["id"], rung["name"])
    return json.dumps(document)


def test_a_colleagues_file_goes_in_beside_what_was_changed_here(client):
    address = keep(client)
    file = colleagues(client, address, r2="Theirs")
    edit(client, address, "rename", "r1", name="Ours")
    assert "put-in" in client.get(address).text
    page = text_of(client, f"{address}/put-in")
    assert "As it is now: Draft, not published yet" in page and "As it was until 20" in page
    # What it started from is found where nobody says it.
    went = client.post(f"{address}/put-in", data={"document": file, "from_version": ""})
    assert went.status_code == 303
    assert names(client, address) == ["Ours", "Theirs"]
    told = text_of(client, went.headers["location"])
    assert "Rain on the walls: name: Theirs instead of Rain on the walls" in told and "Ours instead" not in told
    again = client.post(f"{address}/put-in", data={"document": file, "from_version": "1"})
    assert "The two are alike" in text_of(client, again.headers["location"])


def test_a_colleagues_file_that_clashes_is_chosen_first(client):
    address = keep(client)
    edit(client, address, "publish", by="Coaches of Kestrel Ridge", on="2026-11-20")
    file = colleagues(client, address, r1="Theirs", r2="Rain")
    edit(client, address, "revise")
    edit(client, address, "rename", "r1", name="Ours")
    clash = client.post(f"{address}/put-in", data={"document": file, "from_version": ""})
    assert clash.status_code == 409 and "the file’s" in clash.text and "another coach changed" not in clash.text
    assert names(client, address) == ["Ours", "Rain on the walls"], "nothing is written yet"
    fields = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', clash.text))
    fields = {name: html.unescape(value) for name, value in fields.items()}
    assert fields["from_version"] == "2", "what was published is as near as the draft that was opened from it"
    chosen = client.post(f"{address}/merge", data={**fields, "at./rungs/r1/name": "sent"})
    assert chosen.status_code == 303 and names(client, address) == ["Theirs", "Rain"]
    assert names(client, f"{address}/published/1") == ["First refuge", "Rain on the walls"]


def test_a_file_that_is_no_edit_of_the_ladder_is_told_and_stays_in_the_form(client):
    address = keep(client)
    other = json.dumps({**DOCUMENT, "id": "another_ladder"})
    for file, said in ((other, "no edit of"), ("{", "is not a ladder"), ("", "is not a ladder")):
        answer = client.post(f"{address}/put-in", data={"document": file, "from_version": ""})
        assert answer.status_code == 422 and said in answer.text, said
        assert html.escape(file, quote=True).replace("&quot;", "&#34;") in answer.text
    assert version(client, address) == "1"
    wrong = client.post(f"{address}/put-in", data={"document": colleagues(client, address), "from_version": "9"})
    assert wrong.status_code == 422 and "there is no version" in wrong.text


def test_a_published_version_stays_and_the_next_draft_begins_from_it(client):
    address = keep(client)
    published = edit(client, address, "publish", by="Coaches of Kestrel Ridge", on="2026-11-20")
    assert published.status_code == 303
    page = client.get(address).text
    assert "published on 20 November 2026 by Coaches of Kestrel Ridge" in page and "Change this rung" not in page
    assert edit(client, address, "rename", "r1", name="x").status_code == 422
    assert edit(client, address, "revise").status_code == 303
    edit(client, address, "rename", "r1", name="Changed")
    assert "First refuge: name: Changed instead of First refuge" in text_of(client, f"{address}/compare")
    assert names(client, f"{address}/published/1") == ["First refuge", "Rain on the walls"]
    assert client.get(f"{address}/published/2").status_code == 404
    fork = client.post(f"{address}/fork", data={"name": "Our own", "published": "1"})
    assert names(client, fork.headers["location"]) == ["First refuge", "Rain on the walls"]
    assert "Our own" in text_of(client, f"{address}/compare")


def test_a_draft_is_not_published_as_it_has_become_since(client):
    address = keep(client)
    seen = version(client, address)
    edit(client, address, "rename", "r1", name="Changed")
    data = {"version": seen, "do": "publish", "by": "Coaches of Kestrel Ridge", "on": "2026-11-20"}
    assert client.post(f"{address}/edits", data=data).status_code == 412
    assert "Draft, not published yet" in text_of(client, address)


def placing(client, address: str, label: str) -> tuple[str, str]:
    """Id of a section on the page that puts it on a rung, and where it stands there."""
    card = client.get(f"{address}/sections").text.split(f"<h2>{label}</h2>")
    section = re.search(r'id="s-(\w+)">$', card[0]).group(1)
    return section, re.search(r'name="version" value="(\d+)"', card[1]).group(1)


def test_sections_are_put_on_rungs_and_stand_on_the_steps(client):
    address = keep(client)
    section, seen = placing(client, address, "Kestrel 4B")
    data = {"section_id": section, "version": seen, "now_on": "r2", "week": "2026-12-02"}
    assert client.post(f"{address}/sections", data=data).status_code == 303
    assert "2: Rain on the walls, with Kestrel 4B" in client.get(address).text
    after = text_of(client, f"{address}/sections")
    assert "Week of 30 November 2026" in after and "met the challenge in" not in after
    seen = placing(client, address, "Kestrel 4B")[1]
    client.post(f"{address}/sections", data={**data, "version": seen, "met": "03"})
    after = text_of(client, f"{address}/sections")
    assert "Most of this section met the challenge in grade 3." in after and "Week of 30 November 2026" in after
    assert "needs" not in after and "support" not in after
    seen = placing(client, address, "Kestrel 4B")[1]
    client.post(f"{address}/sections", data={"section_id": section, "version": seen, "now_on": "", "week": ""})
    assert "with Kestrel 4B" not in client.get(address).text


def test_a_section_that_another_coach_put_elsewhere_meanwhile_is_shown(client):
    address = keep(client)
    section, seen = placing(client, address, "Kestrel 4B")
    for rung, status in (("r2", 303), ("r1", 409)):
        late = client.post(f"{address}/sections", data={"section_id": section, "version": seen, "now_on": rung})
        assert late.status_code == status
    assert "Another coach put Kestrel 4B elsewhere meanwhile" in late.text
    assert "2: Rain on the walls, with Kestrel 4B" in client.get(address).text


def test_a_ladder_is_put_away_and_brought_back(client):
    address = keep(client)
    client.post(f"{address}/put-away", data={"do": "away"})
    assert "There is none yet" in text_of(client, "/ladders")
    assert DOCUMENT["name"] in text_of(client, "/ladders?archived=yes")
    client.post(f"{address}/put-away", data={"do": "back"})
    assert DOCUMENT["name"] in text_of(client, "/ladders")


@pytest.mark.parametrize("role", [Role.TEACHER, Role.PLANNER])
def test_who_is_no_coach_reads_and_changes_nothing(client, store, role):
    address = keep(client)
    with store.writing() as session:
        _, key = add_key(session, label="Room 12", role=role)
    client.cookies.set(
        "rungwright_session", client.post("/sign-in", data={"key": key, "to": "/"}).cookies["rungwright_session"]
    )
    for page in (address, f"{address}/sections", "/ladders", f"{address}/compare"):
        text = client.get(page).text
        assert "First refuge" in text or page in ("/ladders", f"{address}/compare")
        # Looking and signing out are all there is.
        assert set(re.findall(r'<form method="post" action="([^"]+)"', text)) == {"/sign-out"}, page
    for path, data in (
        ("/edits", {"version": "1", "rung": "r1", "do": "rename", "name": "x"}),
        ("/fork", {"name": "x"}),
        ("/put-in", {"document": json.dumps(DOCUMENT), "from_version": ""}),
        ("/put-away", {"do": "away"}),
        ("/sections", {"section_id": "x", "now_on": "r1"}),
    ):
        assert client.post(f"{address}{path}", data=data).status_code == 403, path
    assert client.get(f"{address}/put-in").status_code == 403
    assert client.post("/ladders", data={"document": json.dumps(DOCUMENT)}).status_code == 403


def test_no_ladder_page_has_script_or_style_inside(client):
    address = keep(client)
    edit(client, address, "publish", by="Coaches of Kestrel Ridge", on="2026-11-20")
    for page in ("/ladders", "/ladders/new", OVER_3_TO_5, "/ladders/read-in", address, f"{address}/sections"):
        text = client.get(page).text
        assert not re.search(r"<style|\sstyle=|\son\w+=|<script(?! type=\"module\" src=\"/static/)", text), page


def test_a_ladder_from_draft_to_published_by_keyboard_alone(open_page):
    page = open_page("/ladders")
    tab_to(page, "Draft a ladder")
    page.keyboard.press("Enter")
    page.wait_for_url("**/ladders/new")
    tab_to(page, "From grade")
    page.keyboard.type("3")
    tab_to(page, "to grade")
    page.keyboard.type("5")
    tab_to(page, "Draft it")
    page.keyboard.press("Enter")
    page.wait_for_url("**/ladders/draft?**")
    tab_to(page, "Keep this ladder")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile("/ladders/[0-9a-f]{22}$"))
    rung = page.locator(".rung-step").nth(1)
    tab_to(page, "Change this rung: First refuge")
    tab_to(page, "Change this rung")
    page.keyboard.press("Enter")
    tab_to(page, "Figures to shelter, harder")
    told = page.evaluate("document.activeElement.getAttribute('title')")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(r"edit=r2#rung-r2$"))
    assert told in rung.locator(".steppers").inner_text()
    tab_to(page, "Publish this draft")
    page.keyboard.press("Enter")
    tab_to(page, "Team, never")
    page.keyboard.type("Coaches of Kestrel Ridge")
    tab_to(page, "Publish")
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_contain_text("published on")


def test_everything_about_ladders_works_with_script_off(open_page):
    page = open_page("/ladders/read-in", java_script_enabled=False, refused="422")
    page.get_by_label("What is in the file").fill(json.dumps(DOCUMENT))
    page.get_by_role("button", name="Read it in").click()
    page.locator("#rung-r2 .edit > summary").click()
    page.get_by_role("button", name="Where the rain comes from, harder").last.click()
    assert "above and all round" in page.locator("#rung-r2").inner_text()
    page.locator("#rung-r2").get_by_role("button", name="Move down").click()
    assert "cannot stand above" in page.get_by_role("alert").inner_text()
    page.get_by_role("link", name="Sections on it").click()
    card = page.locator(".card").filter(has=page.get_by_role("heading", name="Kestrel 4B", exact=True))
    card.get_by_label("Does now").select_option(label="2. Rain on the walls")
    card.get_by_role("button", name="Put Kestrel 4B there").click()
    page.get_by_role("link", name=DOCUMENT["name"]).first.click()
    page.get_by_role("link", name="Put a colleague’s file in").click()
    changed = {**DOCUMENT, "name": "Our refuge"}
    page.get_by_label("What is in the file").fill(json.dumps(changed))
    page.get_by_label("What both started from").select_option("1")
    page.get_by_role("button", name="Put both together").click()
    assert "Our refuge instead of" in page.locator("main").inner_text()
    page.get_by_role("link", name="Our refuge").first.click()
    assert "Kestrel 4B" in page.locator(".steps-picture").inner_html()


def test_a_file_is_chosen_where_there_is_script(open_page, tmp_path):
    file = tmp_path / "ladder.json"
    file.write_text(json.dumps(DOCUMENT), encoding="utf-8")
    page = open_page("/ladders/read-in")
    page.get_by_label("The file", exact=True).set_input_files(str(file))
    page.wait_for_function("document.getElementById('document').value.length > 100")
    page.get_by_role("button", name="Read it in").click()
    page.wait_for_url(re.compile("/ladders/[0-9a-f]{22}$"))
    assert page.locator("h1").inner_text() == DOCUMENT["name"]
