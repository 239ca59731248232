"""From sheets to PDF, or to pictures of the pages: offline, tagged (PDF/UA-1), fonts embedded, equal bytes each time.

A warning of the compiler is an error here: it would mean a page that is not as it should be.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import fontpkg_atkinson_hyperlegible as font
import typst

from rungwright.sheets.blocks import Sheet
from rungwright.sheets.paper import Paper

_TEMPLATE = Path(__file__).parent / "templates" / "sheet.typ"
FONT = "Atkinson Hyperlegible"


class TypesettingError(RuntimeError):
    """The compiler refused a sheet, or had to warn about it: a fault of a template or of its words."""


@cache
def _fonts() -> typst.Fonts:
    files = Path(font.__file__).parent / "files"
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(files)])


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
