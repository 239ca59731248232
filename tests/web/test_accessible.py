"""Every page for everybody: WCAG 2.2 AA by axe-core, narrow and wide screens, large text, little motion, few bytes."""

from __future__ import annotations

import json
import re
from datetime import date

import pytest

from rungwright.api.demo import ladder_demo
from rungwright.domain.ladder import Ladder, Published
from rungwright.domain.ladder_keeping import RungPlaceDraft
from rungwright.store import ONE_PERSON, Ladders, Sections

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
FIXED = (
    "/sections/put-away", "/cupboards?archived=yes",
    "/", "/sections/new", "/cupboards", "/cupboards/new", "/ladders", "/ladders/new", "/ladders/read-in", "/rules",
    "/decisions", "/api", "/words", "/nowhere", "/checks", "/checks/heat", "/checks/load?mass=15+kg&spots=2",
    "/checks/load?mass=370+g&family=tower&height=30+cm&sticks=60", "/checks/wind?mass=1&speed=fast",
    "/calibrations/fan?reading=2+to+3+m/s",
)  # fmt: skip
RULE = "/rules/adjust/shelter/load/second_spot_for_a_surplus"
INSIDE_A_PICTURE = "element => element.closest('.build-picture, .drawn, .over-time') !== null"
MOST_BYTES = 120_000
"""Of a page as it is sent, without pictures and fonts."""


def with_ladder(store) -> list[str]:
    """Addresses of a ladder that was published and opened again, with a section on it."""
    with store.writing() as session:
        ladders = Ladders(session, ONE_PERSON)
        document = Ladder.model_validate_json(json.dumps(ladder_demo("check")["ladder"]))
        id = ladders.add(document).id
        published = Published(version=1, on=date(2026, 11, 20), by="Coaches of Kestrel Ridge")
        ladders.change(id, None, document.model_copy(update={"version": 1, "published": published}))
        ladders.change(id, None, document.model_copy(update={"version": 1, "name": "Refuge, grades 3 and 4"}))
        section = next(
            s for s in Sections(session, ONE_PERSON).list(after=None, limit=50).items if "4B" in s.body.label
        )
        ladders.put(id, RungPlaceDraft(section_id=section.id, now_on="r2", week=date(2026, 12, 2)))
    here = f"/ladders/{id}"
    return [here, f"{here}?edit=r2", f"{here}/sections", f"{here}/compare", f"{here}/put-in", f"{here}/published/1"]


@pytest.fixture
def pages(open_page, store):
    """Opens a browser page, and tells the addresses of every kind of page."""

    def ready(**options: object) -> tuple[object, list[str]]:
        of_ladder = with_ladder(store)
        page = open_page(refused=("404", "422"), **options)
        card = page.locator(".card").filter(has=page.get_by_role("heading", name="Kestrel 4B", exact=True))
        section = card.get_by_role("link", name="Change this section").get_attribute("href")
        card.get_by_role("button", name="harder").click()
        page.get_by_role("button", name="Keep this plan").click()
        page.wait_for_url("**/plans/*")
        plan = page.url.partition("/plans/")[2]
        # Its demo run and this one are two: the page of results shows them over time.
        page.goto(f"/plans/{plan}/results")
        page.locator("[name='end.load']").fill("7")
        page.get_by_role("button", name="Save the results").click()
        page.wait_for_url("**/results/*")
        assert page.locator(".over-time svg circle").count() == 2
        results = "/results/" + page.url.partition("/results/")[2]
        asked = page.locator("article.change").first
        page.goto(f"{section}/ask?ask=harder")
        left_out = asked.get_by_role("link", name=re.compile("Leave out")).get_attribute("href")
        made = [
            section,
            f"{section}/new-year",
            f"{section}/ask?ask=harder",
            f"{section}/ask{left_out}",
            f"/plans/{plan}",
            results,
            f"{results}/correct",
            f"{section}/results",
        ]
        made += [
            f"/plans/{plan}/brief",
            f"/plans/{plan}/results",
            f"/plans/{plan}/results?by=group",
            f"/plans/{plan}/lesson",
            f"/plans/{plan}/sheets",
            f"/plans/{plan}/sheets/stations?language=en,es&large=yes",
            f"/plans/{plan}/sheets/teacher",
            f"/plans/{plan}/sheets/kit",
            f"/plans/{plan}/sheets/brief/lines",
        ]
        return page, [*FIXED, RULE, *made, *of_ladder]

    return ready


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_and_leaves_nothing_open(pages, scheme):
    from axe_playwright_python.sync_playwright import Axe

    page, addresses = pages(color_scheme=scheme, reduced_motion="reduce")
    found = []
    for address in addresses:
        page.goto(address)
        # What is folded up is looked at too.
        page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
        said = Axe().run(page, options={"runOnly": {"type": "tag", "values": TAGS}, "resultTypes": ["violations"]})
        for kind in ("violations", "incomplete"):
            for rule in said.response[kind]:
                if (kind, rule["id"]) == ("incomplete", "color-contrast"):
                    in_picture = [
                        n for n in rule["nodes"] if page.locator(n["target"][0]).first.evaluate(INSIDE_A_PICTURE)
                    ]
                    rule["nodes"] = [n for n in rule["nodes"] if n not in in_picture]
                    if not rule["nodes"]:
                        continue
                nodes = [f"{node['target']}: {node.get('failureSummary', '')}" for node in rule["nodes"][:3]]
                found.append((address, kind, rule["id"], nodes))
        found += [(address, *low) for low in faint_in_pictures(page)]
    assert found == []


def faint_in_pictures(page) -> list[tuple[str, float]]:
    """Text of drawings under a contrast of 4.5 with what it stands on: axe cannot tell what lies behind it."""
    said = page.evaluate(
        """() => [...document.querySelectorAll('.build-picture text, .drawn text, .over-time text')].map(text => {
            const style = getComputedStyle, drawn = text.closest('.drawn');
            const under = drawn
                // It may stand on any bar of its drawing, or beside them.
                ? [style(drawn).backgroundColor, ...[...drawn.querySelectorAll('rect')].map(bar => style(bar).fill)]
                : text.classList.contains('on-weight')
                    ? [style(text.closest('svg').querySelector('.weight')).fill]
                    : [style(text.closest('.worked-out') || document.body).backgroundColor];
            return [text.textContent, style(text).fill, under.filter(colour => colour.startsWith('rgb('))];
        })"""
    )
    return [(text, low) for text, over, under in said if (low := min(contrast(over, colour) for colour in under)) < 4.5]


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, definitions of contrast ratio and relative luminance."""

    def luminance(colour: str) -> float:
        parts = [int(n) / 255 for n in re.findall(r"\d+", colour)[:3]]
        red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_measured_as_the_standard_says():
    """Black on white is 21 to 1, by the definition of WCAG 2.2; grey 118 on white is about 4.54, from memory."""
    assert contrast("rgb(0, 0, 0)", "rgb(255, 255, 255)") == pytest.approx(21)
    assert contrast("rgb(118, 118, 118)", "rgb(255, 255, 255)") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize(
    ("width", "height", "scale"),
    [(320, 640, 1), (768, 1024, 1), (1280, 900, 1), (640, 400, 2)],
    ids=["phone", "tablet", "desktop", "zoom of 200 %"],
)
def test_nothing_runs_off_the_side(pages, width, height, scale):
    """A zoom of 200 % on a screen of 1280 leaves 640 units of width: that is how browsers do it."""
    page, addresses = pages(viewport={"width": width, "height": height}, device_scale_factor=scale)
    wide = []
    for address in addresses:
        page.goto(address)
        page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
        needed = page.evaluate("document.documentElement.scrollWidth")
        if needed > width:
            wide.append((address, needed))
    assert wide == []


def test_fingers_find_what_they_press(pages):
    """Buttons and choices are at least 44 units high, links between sentences excepted."""
    page, addresses = pages(viewport={"width": 768, "height": 1024}, has_touch=True)
    small = []
    for address in addresses:
        page.goto(address)
        small += page.evaluate(
            """address => [...document.querySelectorAll('button, .button, select, .chip, .line, nav a')]
            .filter(e => e.offsetParent && e.getBoundingClientRect().height < 43.5)
            .map(e => `${address}: ${e.outerHTML.slice(0, 80)}`)""",
            address,
        )
    assert small == []


def test_pages_are_light(pages):
    page, addresses = pages()
    heavy = []
    for address in addresses:
        page.goto(address)
        loaded = page.evaluate(
            """['navigation', 'resource'].flatMap(kind => performance.getEntriesByType(kind))
            .map(part => [part.name, part.decodedBodySize])"""
        )
        sizes = {url: size for url, size in loaded if not url.endswith((".ttf", ".svg"))}
        assert all(sizes.values()), sizes
        assert any(url.endswith(address) for url in sizes) and any(url.endswith(".css") for url in sizes)
        if sum(sizes.values()) > MOST_BYTES:
            heavy.append((address, sizes))
    assert heavy == []


def test_what_tells_of_a_support_is_never_on_paper(open_page):
    """The owner sees on the screen what is set for access in Kestrel 1A; no print of any page has it."""
    page = open_page()
    card = page.locator(".card").filter(has=page.get_by_role("heading", name="Kestrel 1A", exact=True))
    card.get_by_role("button", name="easier").click()
    page.get_by_role("button", name="Keep this plan").click()
    page.wait_for_url("**/plans/*")
    plan = page.url
    words = re.compile("strips, pegs and clips|access needs", re.IGNORECASE)
    assert words.search(page.locator("main").inner_text())
    page.emulate_media(media="print")
    sheets = [f"{plan}/sheets/{name}" for name in ("stations", "discussion", "teacher", "kit")]
    for address in (plan, f"{plan}/brief", f"{plan}/lesson", f"{plan}/results", f"{plan}/sheets", *sheets):
        page.goto(address)
        page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true; })")
        assert not words.search(page.locator("body").inner_text()), address


def test_a_brief_is_printed_without_what_is_for_the_screen(pages):
    page, addresses = pages()
    page.goto(next(a for a in addresses if a.endswith("/brief")))
    assert page.locator("#print").is_visible()
    page.emulate_media(media="print")
    for name in (".top", ".foot", "#print"):
        assert not page.locator(name).is_visible()
    assert page.locator("[data-sheet=record]").evaluate("e => getComputedStyle(e).breakBefore") == "page"
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.pdf().startswith(b"%PDF")


def test_nothing_moves_where_little_motion_is_wanted(pages):
    page, addresses = pages(reduced_motion="reduce")
    moving = []
    for address in addresses:
        page.goto(address)
        moving += page.evaluate(
            """address => [...document.querySelectorAll('*')].filter(e => {
                const style = getComputedStyle(e);
                return style.animationName !== 'none'
                    || style.transitionDuration.split(',').some(part => parseFloat(part) > 0);
            }).map(e => `${address}: ${e.outerHTML.slice(0, 80)}`)""",
            address,
        )
    assert moving == []


def test_what_is_chosen_is_seen_in_forced_colours(pages):
    """Where the system sets the colours, a choice still differs from those beside it."""
    page, addresses = pages(forced_colors="active")
    seen = 0
    for address in addresses:
        page.goto(address)
        pairs = page.evaluate(
            """() => [...document.querySelectorAll('input:checked + span')].map(chosen => {
                const group = chosen.closest('fieldset, .pitch');
                const other = group && group.querySelector('input:not(:checked) + span');
                const style = getComputedStyle;
                const said = e => [style(e).backgroundColor, style(e).color, style(e).borderWidth];
                return other ? [said(chosen), said(other)] : null;
            }).filter(Boolean)"""
        )
        seen += len(pairs)
        assert [address for chosen, other in pairs if chosen == other] == []
    assert seen
