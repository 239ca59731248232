"""Pictures are whole, say in words what they show, and show what they are given."""

from __future__ import annotations

from datetime import date
from xml.etree import ElementTree

import pytest

from rungwright.pictures import Point, Row, dots_with_ranges, readiness_over_time

SVG = "{http://www.w3.org/2000/svg}"


def parsed(text: str) -> ElementTree.Element:
    root = ElementTree.fromstring(text)
    assert root.tag == SVG + "svg" and root.get("role") == "img"
    # A screen reader takes the first two children: what it is, and what it shows.
    assert [child.tag for child in root][:2] == [SVG + "title", SVG + "desc"]
    assert root.find(SVG + "title").text and root.find(SVG + "desc").text
    width, height = (float(x) for x in root.get("viewBox").split()[2:])
    for circle in root.iter(SVG + "circle"):
        x, y, r = (float(circle.get(name)) for name in ("cx", "cy", "r"))
        assert r <= x <= width - r + 1 and r <= y <= height - r + 1
    return root


def test_readiness_over_time_rises_where_it_rises():
    points = [Point(date(2026, 10, 14), 0.5, 0.3, 0.7), Point(date(2026, 11, 14), 0.8, 0.65, 0.9)]
    root = parsed(readiness_over_time(points, groups=9, label="Kestrel <4B>"))
    assert root.find(SVG + "title").text == "Readiness of Kestrel <4B> over time"
    heights = [float(c.get("cy")) for c in root.iter(SVG + "circle")]
    assert heights[1] < heights[0]
    said = root.find(SVG + "desc").text
    assert "2026-10-14, about 4 of 9 groups, from 3 to 6." in said and "%" not in "".join(root.itertext())
    days = [t.text for t in root.iter(SVG + "text")]
    assert "14 Oct" in days and "14 Nov" in days


def test_readiness_needs_a_run():
    with pytest.raises(ValueError, match="no run"):
        readiness_over_time([], groups=9, label="x")


def test_kinds_are_told_apart_by_shape():
    kinds = ("a", "b", "c", "d")
    rows = [Row("one", {k: (0.2 * i + 0.1, 0.0, 1.0) for i, k in enumerate(kinds)})]
    root = parsed(dots_with_ranges(rows, title="t", says="s", scale="x"))
    circles = [c for c in root.iter(SVG + "circle")]
    assert {c.get("fill") for c in circles} == {"currentColor", "none"}
    assert len(list(root.iter(SVG + "rect"))) == 2 and len(list(root.iter(SVG + "path"))) == 2
