"""Measured on the picture of the page at 300 dots an inch: what is to scale is to scale, within half a millimetre."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from rungwright.measure.figures import tilt_to_tip_deg
from rungwright.sheets import PaperName, SheetName, Wanted, sheets_of, typesetting
from rungwright.sheets.figures import CHECK_BAR_MM

DOTS_AN_INCH = 300
MM_A_DOT = 25.4 / DOTS_AN_INCH
WITHIN_MM = 0.5


def page(lesson) -> np.ndarray:
    pages = typesetting.page_pictures(
        sheets_of(lesson, SheetName.FIGURES), lesson.wanted.size, dots_an_inch=DOTS_AN_INCH
    )
    assert len(pages) == 1, "the figures of a page are cut together"
    return np.asarray(Image.open(io.BytesIO(pages[0])).convert("L")) < 128


def runs(dark: np.ndarray) -> list[tuple[int, int]]:
    """Start and end of each stretch of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], dark.astype(np.int8), [0]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def longest(line: np.ndarray) -> int:
    return max((b - a for a, b in runs(line)), default=0)


CASES = [
    (PaperName.LETTER, ("en",), False, "3-5", "base_given"),
    (PaperName.A4, ("es",), False, "3-5", "base_given"),
    (PaperName.A4, ("en", "es"), False, "6-8", "own_solution"),
    (PaperName.LETTER, ("en",), True, "K-2", "lying"),
    (PaperName.LETTER, ("en", "es"), True, "3-5", "base_given"),
]


@pytest.mark.parametrize(("paper", "languages", "large", "band", "standing"), CASES)
def test_the_check_bar_and_the_figures_are_as_long_as_they_say(lesson_for, paper, languages, large, band, standing):
    wanted = Wanted(paper=paper, languages=languages, large=large)
    lesson = lesson_for(band, wanted, settings={"figure_standing": standing, "figure_count": 2})
    dark = page(lesson)
    # The bar: the longest dark stretch that is three millimetres thick.
    rows = [y for y in range(dark.shape[0]) if longest(dark[y]) * MM_A_DOT > 80]
    thick = [r for r in runs(np.isin(np.arange(dark.shape[0]), rows)) if (r[1] - r[0]) * MM_A_DOT > 2.5]
    assert len(thick) == 1
    middle = sum(thick[0]) // 2
    assert abs(longest(dark[middle]) * MM_A_DOT - CHECK_BAR_MM) < WITHIN_MM
    assert abs((thick[0][1] - thick[0][0]) * MM_A_DOT - 3) < WITHIN_MM
    # The first figure: its cutting line is the first tall line on the left below the bar.
    below = dark[thick[0][1] :]
    figure = lesson.answer.kit.figures
    foot = (figure.base_mm or 0) / 2
    tall = figure.height_mm + foot
    columns = [x for x in range(below.shape[1]) if longest(below[:, x]) * MM_A_DOT > 0.9 * tall]
    sides = [(a + b) / 2 for a, b in runs(np.isin(np.arange(below.shape[1]), columns))]
    assert len(sides) >= 2
    assert abs((sides[1] - sides[0]) * MM_A_DOT - figure.width_mm) < WITHIN_MM
    heights = [longest(below[:, x]) * MM_A_DOT for x in columns]
    assert abs(max(heights) - tall) < WITHIN_MM


def test_a_given_foot_stands_to_the_tilt_that_is_told(lesson_for):
    figure = lesson_for("3-5", settings={"figure_standing": "base_given"}).answer.kit.figures
    assert figure.base_mm is not None
    # tan 15 degrees = 0.268: a foot of 2 * 37.5 * 0.268 = 20.1 mm, up to the next even millimetre.
    assert figure.base_mm == 22
    assert figure.tips_at_deg == pytest.approx(tilt_to_tip_deg(base_mm=22, centre_of_mass_mm=37.5), abs=0.05)
    assert figure.tips_at_deg >= 15


@pytest.mark.parametrize("standing", ["prompted", "own_solution"])
def test_no_foot_is_given_away_where_standing_is_the_task(lesson_for, standing):
    lesson = lesson_for("9-12", settings={"figure_standing": standing})
    assert lesson.answer.kit.figures.base_mm is None
    [sheet] = sheets_of(lesson, SheetName.FIGURES)
    assert not any("Fold" in line.text for line in sheet.blocks[0].lines)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 8])
def test_the_page_and_its_copies_give_every_group_its_figures(lesson_for, count):
    lesson = lesson_for("6-8", settings={"figure_count": count})
    [sheet] = sheets_of(lesson, SheetName.FIGURES)
    told, figure, groups = sheet.blocks[0].lines[0].text, lesson.answer.kit.figures, lesson.answer.section.groups
    here = len(sheet.blocks[2].svgs)
    copies = 1 if "once" in told else int(told.split(" times")[0].rsplit(" ", 1)[1])
    assert here % count == 0, "whole sets on a page"
    assert copies * here >= groups * figure.sets * count > (copies - 1) * here
    assert str(groups * figure.sets * count) in told


@pytest.mark.parametrize("paper", list(PaperName))
@pytest.mark.parametrize("large", [False, True])
@pytest.mark.parametrize("languages", [("en",), ("es",), ("en", "es")])
@pytest.mark.parametrize("standing", ["lying", "base_given", "own_solution"])
def test_the_figures_of_a_page_never_run_over(lesson_for, paper, large, languages, standing):
    wanted = Wanted(paper=paper, languages=languages, large=large)
    settings = {"figure_standing": standing, "figure_count": 4}
    lesson = lesson_for("3-5", wanted, settings=settings, ask={"direction": "fit", "pinned": list(settings)})
    sheets = sheets_of(lesson, SheetName.FIGURES)
    assert lesson.answer.kit.figures.standing == standing
    assert len(typesetting.page_pictures(sheets, wanted.size, dots_an_inch=20)) == 1
