"""A small SVG writer on the standard library's XML: every picture has a title and a description."""

from __future__ import annotations

from xml.etree import ElementTree

FONT = "system-ui, sans-serif"
INK = "currentColor"
"""The page's own text colour, so that light, dark and print all work."""


class Drawing:
    """`width` x `height` in user units, one unit a pixel at usual size. `title` and `says` are read aloud."""

    def __init__(self, width: float, height: float, *, title: str, says: str):
        self.root = ElementTree.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "viewBox": f"0 0 {width:g} {height:g}",
                "width": f"{width:g}",
                "height": f"{height:g}",
                "role": "img",
                "font-family": FONT,
                "font-size": "14",
            },
        )
        ElementTree.SubElement(self.root, "title").text = title
        ElementTree.SubElement(self.root, "desc").text = says

    def add(self, tag: str, text: str | None = None, **attributes: str | float) -> None:
        """An element; `stroke_width` becomes `stroke-width`, numbers are kept to a hundredth."""
        said = {
            name.replace("_", "-"): f"{round(value, 2):g}" if isinstance(value, (int, float)) else value
            for name, value in attributes.items()
        }
        ElementTree.SubElement(self.root, tag, said).text = text

    def line(self, x1: float, y1: float, x2: float, y2: float, *, width: float = 1, opacity: float = 1) -> None:
        self.add("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=INK, stroke_width=width, opacity=opacity)

    def dot(self, x: float, y: float, radius: float, *, filled: bool = True) -> None:
        self.add("circle", cx=x, cy=y, r=radius, fill=INK if filled else "none", stroke=INK, stroke_width=1.5)

    def text(self, x: float, y: float, words: str, *, anchor: str = "start", size: float = 14) -> None:
        self.add("text", words, x=x, y=y, fill=INK, text_anchor=anchor, font_size=size)

    def __str__(self) -> str:
        return ElementTree.tostring(self.root, encoding="unicode")
