"""The PDFs: tagged, titled, in their language, with their fonts, alike each time, on the paper that was asked."""

from __future__ import annotations

import io

import pypdf
import pytest

from rungwright.domain.grades import Band
from rungwright.sheets import (
    Lesson,
    NotPrintable,
    PaperName,
    SheetName,
    TypesettingError,
    Wanted,
    printed,
    sheets_of,
    typesetting,
)
from rungwright.sheets.blocks import Column, Table
from rungwright.sheets.paper import PAPERS

POINTS_A_MM = 72 / 25.4
ALL = list(SheetName)
CALLED = {"test_manner": "stations"}
SHORT_OF_STICKS = [{"material": "craft_stick", "quantity": 10}, {"material": "copy_paper", "quantity": 500}]


def opened(lesson: Lesson, name: SheetName) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(printed(lesson, name)))


def text_of(lesson: Lesson, name: SheetName) -> str:
    return " ".join(" ".join(page.extract_text() for page in opened(lesson, name).pages).split())


@pytest.mark.parametrize("band", list(Band))
@pytest.mark.parametrize("languages", [("en",), ("es",), ("en", "es")])
@pytest.mark.parametrize("name", ALL)
def test_every_sheet_is_tagged_titled_and_in_its_language(lesson_for, band, name, languages):
    # A warning of the compiler is an error, and so is a missing text alternative or letter.
    lesson = lesson_for(
        band.value, Wanted(languages=languages), section={"materials": SHORT_OF_STICKS}, settings=CALLED
    )
    pdf = opened(lesson, name)
    root = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert pdf.metadata.title
    assert b"pdfuaid:part" in root["/Metadata"].get_data()
    teachers = name in (SheetName.TEACHER, SheetName.KIT)
    assert root["/Lang"] == ("en" if teachers else languages[0])


@pytest.mark.parametrize("name", ALL)
def test_the_same_request_gives_the_same_bytes(lesson_for, name):
    lesson = lesson_for("3-5", section={"materials": SHORT_OF_STICKS})
    assert printed(lesson, name) == printed(lesson, name)


@pytest.mark.parametrize("paper", list(PaperName))
@pytest.mark.parametrize("name", ALL)
def test_the_page_has_the_size_of_the_paper(lesson_for, name, paper):
    lesson = lesson_for("6-8", Wanted(paper=paper), section={"materials": SHORT_OF_STICKS})
    size = {PaperName.LETTER: (215.9, 279.4), PaperName.A4: (210, 297)}[paper]  # ANSI/ASME Y14.1; ISO 216
    for page in opened(lesson, name).pages:
        assert float(page.mediabox.width) == pytest.approx(size[0] * POINTS_A_MM, abs=0.1)
        assert float(page.mediabox.height) == pytest.approx(size[1] * POINTS_A_MM, abs=0.1)


def fonts_of(pdf: pypdf.PdfReader) -> list[pypdf.generic.DictionaryObject]:
    found = []
    for page in pdf.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            found += font.get_object()["/DescendantFonts"]
    return [f.get_object() for f in found]


@pytest.mark.parametrize("name", ALL)
def test_its_fonts_are_embedded_and_open(lesson_for, name):
    fonts = fonts_of(opened(lesson_for("3-5", section={"materials": SHORT_OF_STICKS}), name))
    assert fonts
    for font in fonts:
        assert "AtkinsonHyperlegible" in font["/BaseFont"]
        assert {"/FontFile2", "/FontFile3"} & set(font["/FontDescriptor"].get_object())


def test_spanish_letters_are_there(lesson_for):
    lesson = lesson_for("3-5", Wanted(languages=("es",)))
    text = text_of(lesson, SheetName.BRIEF)
    for word in ("sorprendido", "montaña", "Después", "última", "¿Qué", "Cuenta como sí"):
        assert word in text


def test_two_languages_stand_side_by_side(lesson_for):
    lesson = lesson_for("3-5", Wanted(languages=("en", "es")))
    for name in (SheetName.BRIEF, SheetName.RECORD, SheetName.STATIONS, SheetName.DISCUSSION, SheetName.FIGURES):
        text = text_of(lesson, name)
        english, spanish = (" ".join(sheet.title.split()) for sheet in sheets_of(lesson, name))
        assert english in text and spanish in text


@pytest.mark.parametrize("band", list(Band))
def test_both_languages_have_the_same_parts(lesson_for, band):
    """Side by side needs as many lines here as there."""
    lesson = lesson_for(band.value, Wanted(languages=("en", "es")), section={"materials": SHORT_OF_STICKS})
    for name in ALL:
        shapes = []
        for sheet in sheets_of(lesson, name):
            shapes.append([(b.kind, len(getattr(b, "lines", [])) if b.kind == "lines" else 0) for b in sheet.blocks])
        assert all(shape == shapes[0] for shape in shapes)


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("band", ["K-2", "9-12"])
def test_large_print_is_18_points_or_more(lesson_for, name, band):
    # 18 points is the usual least for large print: common practice.
    lesson = lesson_for(band, Wanted(large=True), section={"materials": SHORT_OF_STICKS}, settings=CALLED)
    assert all(sheet.points >= 18 for sheet in sheets_of(lesson, name))
    sizes = set()
    for page in opened(lesson, name).pages:
        page.extract_text(visitor_text=lambda t, cm, tm, font, size, sizes=sizes: sizes.add(abs(tm[3] * size)))
    assert max(sizes) >= 18


def test_sixty_students_each_alone_and_a_long_label(lesson_for):
    section = {"students": 60, "group_size": 1, "label": "Kestrel Ridge " * 5 + "section", "materials": SHORT_OF_STICKS}
    for languages in (("en",), ("en", "es")):
        lesson = lesson_for("6-8", Wanted(languages=languages), section=section, settings=CALLED)
        for name in ALL:
            assert opened(lesson, name).pages
        tally = text_of(lesson, SheetName.RECORD)
        assert " 60 " in tally


def test_a_table_of_twelve_criteria_lays_out_with_every_head(lesson_for):
    [sheet] = sheets_of(lesson_for("3-5"), SheetName.RECORD)
    tally = sheet.blocks[-1]
    heads = [Column(title=f"criterion {n:02d}", align="center") for n in range(1, 13)]
    cells = tally.rows[0][:1] + [tally.rows[0][1]] * 12
    wide = Table(columns=[tally.columns[0], *heads], rows=[cells] * 20, row_mm=8)
    made = typesetting.pdf([sheet.model_copy(update={"blocks": [wide]})], PAPERS[PaperName.A4])
    pdf = pypdf.PdfReader(io.BytesIO(made))
    text = " ".join(page.extract_text() for page in pdf.pages)
    assert all(f"criterion {n:02d}" in " ".join(text.split()) for n in range(1, 13))


def test_every_picture_has_its_words(lesson_for):
    def alts(node) -> list[str]:
        node = node.get_object()
        if isinstance(node, list):
            return [alt for part in node for alt in alts(part)]
        if not isinstance(node, dict):
            return []
        here = [str(node.get("/Alt", ""))] if node.get("/S") == "/Figure" else []
        return here + (alts(node["/K"]) if "/K" in node else [])

    lesson = lesson_for("3-5")
    for name, least in ((SheetName.BRIEF, 5), (SheetName.RECORD, 5), (SheetName.FIGURES, 6), (SheetName.TEACHER, 1)):
        found = alts(opened(lesson, name).trailer["/Root"]["/StructTreeRoot"])
        assert len(found) >= least, name
        assert all(found), name


def test_a_sheet_without_a_title_is_refused(lesson_for):
    [sheet] = sheets_of(lesson_for("3-5"), SheetName.BRIEF)
    with pytest.raises(TypesettingError):
        typesetting.pdf([sheet.model_copy(update={"title": ""})], PAPERS[PaperName.A4])


@pytest.mark.parametrize("letter", ["\u4e2d", "\u0007", "\U0001f3d4", "\u202e"])
def test_a_letter_that_the_font_lacks_is_told(lesson_for, letter):
    lesson = lesson_for("3-5", section={"label": f"Kestrel {letter}"})
    with pytest.raises(NotPrintable, match=rf"U\+{ord(letter):04X}") as caught:
        printed(lesson, SheetName.BRIEF)
    assert caught.value.field == "section"


def test_words_of_a_label_are_words_and_no_commands(lesson_for):
    label = "#panic() *4B* $x$ <a> @b \\ `c` [d] // e"
    assert label in text_of(lesson_for("3-5", section={"label": label}), SheetName.RECORD)


@pytest.mark.parametrize("band", list(Band))
@pytest.mark.parametrize("languages", [("en",), ("es",), ("en", "es")])
def test_a_station_card_is_one_page_and_its_back_in_large_print_has_what_counts(lesson_for, band, languages):
    lesson = lesson_for(band.value, Wanted(languages=languages), settings=CALLED)
    assert len(opened(lesson, SheetName.STATIONS).pages) == len(lesson.answer.kit.stations)
    [large, *_] = sheets_of(
        lesson_for(band.value, Wanted(languages=languages, large=True), settings=CALLED), "stations"
    )
    heads = [b.text for b in large.blocks if b.kind == "heading"]
    counts = next(b.heading for b in large.blocks if b.kind == "lines" and b.with_next and b.heading)
    for paper in PaperName:
        of = lesson_for(band.value, Wanted(languages=languages, large=True, paper=paper), settings=CALLED)
        for page in opened(of, SheetName.STATIONS).pages:
            text = page.extract_text().strip()
            assert any(head in text for head in heads) or counts in text
