"""From sheets to PDF, or to pictures of the pages: offline, tagged (PDF/UA-1), fonts embedded, equal bytes each time.

A warning of the compiler is an error here: it would mean a page that is not as it should be.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

import fontpkg_atkinson_hyperlegible as font
import typst
from fontTools.ttLib import TTFont

from rungwright.sheets.blocks import Sheet
from rungwright.sheets.paper import Paper

_TEMPLATE = Path(__file__).parent / "templates" / "sheet.typ"
FONT = "Atkinson Hyperlegible"


_FILES = Path(font.__file__).parent / "files"
_SPACES = "\n\t"


class TypesettingError(RuntimeError):
    """The compiler refused a sheet, or had to warn about it: a fault of a template or of its words."""


class UnknownLetters(TypesettingError):
    """A text has letters that the font does not have."""

    def __init__(self, letters: str):
        told = " ".join(f"{c} (U+{ord(c):04X})" if c.isprintable() else f"U+{ord(c):04X}" for c in letters[:5])
        super().__init__(f"the font of the sheets does not have {told}")


@cache
def _fonts() -> typst.Fonts:
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(_FILES)])


@cache
def _letters() -> frozenset[str]:
    """What every style of the font has."""
    styles = []
    for path in _FILES.glob("*.ttf"):
        with TTFont(path) as style:
            styles.append(set(style.getBestCmap()))
    return frozenset(map(chr, set.intersection(*styles))).union(_SPACES)


def _texts(data: object) -> Iterator[str]:
    if isinstance(data, str):
        yield data
    elif isinstance(data, (dict, list)):
        for part in data.values() if isinstance(data, dict) else data:
            yield from _texts(part)


def pdf(sheets: Sequence[Sheet], paper: Paper) -> bytes:
    """One document. Several sheets are one sheet in several languages, side by side. Raises TypesettingError."""
    return _compiled(sheets, paper, format="pdf", pdf_standards=["ua-1"], timestamp=0)


def page_pictures(sheets: Sequence[Sheet], paper: Paper, *, dots_an_inch: int = 300) -> list[bytes]:
    """The pages as PNG at a true scale. Raises TypesettingError."""
    made = _compiled(sheets, paper, format="png", ppi=float(dots_an_inch))
    return list(made) if isinstance(made, list) else [made]


def _compiled(sheets: Sequence[Sheet], paper: Paper, **how: object) -> bytes | list[bytes]:
    data = {
        "sheets": [sheet.model_dump(mode="json") for sheet in sheets],
        "paper": {"width": paper.width, "height": paper.height, "margin": paper.margin},
        "font": FONT,
    }
    if unknown := {letter for text in _texts(data) for letter in text} - _letters():
        raise UnknownLetters("".join(sorted(unknown)))
    try:
        made, warnings = typst.compile_with_warnings(
            str(_TEMPLATE),
            root=str(_TEMPLATE.parent),
            font_paths=_fonts(),
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
            **how,
        )
    except typst.TypstError as error:
        raise TypesettingError(getattr(error, "diagnostic", None) or str(error)) from None
    if warnings:
        raise TypesettingError("; ".join(str(w.message) for w in warnings))
    return made
