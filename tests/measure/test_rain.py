"""Rain: depth and rate, the words of two services at their edges, cover against roof."""

import pytest

from rungwright.domain.grades import Band
from rungwright.measure.build import build_checks
from rungwright.measure.columns import columns
from rungwright.measure.form import SMALL
from rungwright.measure.rain import (
    paper_carries_and_cover_small,
    rain_depth_mm,
    rain_rate_mm_h,
    rain_statement,
    rain_word,
    shower_word,
)
from rungwright.measure.verdicts import CLEAR, UNCERTAIN
from tests.measure.refuge import challenge, levers


def measured(*changes: dict):
    cols = columns(levers(), [{**challenge().presets[Band.G3_5], **change} for change in changes])
    return cols, build_checks(cols, Band.G3_5, figure_height_mm=75)


def test_ten_strokes_on_a_roof():
    # Derived (1 L/m2 is 1 mm): 10 x 1 ml in 1 min on 200 x 200 mm: 0.25 mm, 15 mm/h, AMS heavy
    depth = rain_depth_mm(millilitres=10, area_mm2=200 * 200)
    assert depth == pytest.approx(0.25)
    rate = rain_rate_mm_h(depth_mm=depth, minutes=1)
    assert rate == pytest.approx(15)
    assert rain_word(rate) == "heavy"


@pytest.mark.parametrize(("rate", "ml"), [(2.5, 1.67), (7.6, 5.07), (50, 33.3)])
def test_millilitres_a_minute_for_a_rate(rate, ml):
    # Derived, on 200 x 200 mm
    depth = rain_depth_mm(millilitres=ml, area_mm2=200 * 200)
    assert rain_rate_mm_h(depth_mm=depth, minutes=1) == pytest.approx(rate, rel=4e-3)


def test_words():
    # AMS Glossary of Meteorology: light to 2.5 mm/h, moderate 2.6-7.6, heavy over 7.6
    assert [rain_word(r) for r in (0, 2.5, 2.6, 7.6, 7.7)] == ["light", "light", "moderate", "moderate", "heavy"]
    # Met Office showers, second hand: slight under 2, moderate 2-10, heavy 10-50, violent over 50
    assert [shower_word(r) for r in (1.9, 2.1, 9.9, 10.1, 49.9, 50.1)] == [
        "slight", "moderate", "moderate", "heavy", "heavy", "violent",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "call",
    [
        lambda: rain_depth_mm(millilitres=-1, area_mm2=1),
        lambda: rain_depth_mm(millilitres=1, area_mm2=0),
        lambda: rain_rate_mm_h(depth_mm=1, minutes=0),
    ],
)
def test_out_of_domain(call):
    with pytest.raises(ValueError):
        call()


def test_cover_against_the_roof():
    # Derived: outside 118 x 118 mm with a tenth more for seams: 153.2 cm2
    _, built = measured({}, {"cover_cm2": 153}, {"cover_cm2": 154}, {"cover_cm2": 0})
    assert built.rain.roof_cm2[0] == pytest.approx(SMALL.outer_width * SMALL.outer_depth / 100 * 1.1)
    assert built.rain.roof_cm2[0] == pytest.approx(153.164)
    assert built.rain.cover_ratio[0] == pytest.approx(900 / 153.164)
    assert list(built.rain.verdict) == [CLEAR, UNCERTAIN, CLEAR, UNCERTAIN]


def test_weight_goes_first_only_where_bare_paper_carries():
    soft = {"rigid_pieces": 0}
    cols, built = measured({"cover_cm2": 0}, {**soft, "cover_cm2": 0}, {**soft, "cover_cm2": 900})
    assert list(paper_carries_and_cover_small(cols, built.load)) == [False, True, False]


def test_sentences():
    _, built = measured({}, {"cover_cm2": 90}, {"cover_cm2": 0, "rigid_pieces": 0, "rain_strokes": 20})
    covered, part, bare = (rain_statement(built.rain, i, units="both") for i in range(3))
    assert covered.text == (
        "A cover of 900 cm² (140 sq in) reaches over the whole roof with its overlaps; "
        "10 strokes in a minute fall like a heavy shower."
    )
    assert part.text.startswith(
        "A cover of 90 cm² (14 sq in) reaches over more than half of the roof, so slope and seams decide"
    )
    assert "wet rolled paper may lose most of its strength" in bare.text
    # 10 strokes of 0.8-1.2 ml on 118 x 118 mm
    assert (covered.numbers["depth_mm_low"], covered.numbers["depth_mm_high"]) == (0.57, 0.86)
    assert covered.numbers["rate_mm_h"] == pytest.approx(10e3 / 118**2 * 60, abs=0.05)
