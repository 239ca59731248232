"""What a printed sheet is made of. A sheet is data: the same blocks go to paper and to a page.

Lengths are in millimetres. Texts are plain, without markup.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from rungwright.domain.strict import Strict

Marker = Literal["none", "bullet", "number", "box", "care"]


class Line(Strict):
    """One sentence or two that a teacher may reword or take out. `fixed` lines stay: they keep people safe."""

    id: str
    text: str
    fixed: bool = False


class Heading(Strict):
    kind: Literal["heading"] = "heading"
    text: str
    level: int = 2


class Paragraph(Strict):
    kind: Literal["paragraph"] = "paragraph"
    line: Line
    size: Literal["small", "usual", "large"] = "usual"


class Lines(Strict):
    """`framed` draws a box around a heading and its lines, for what must not be missed. `with_next` keeps them whole,
    and on one page with what comes next."""

    kind: Literal["lines"] = "lines"
    heading: str | None = None
    marker: Marker = "bullet"
    framed: bool = False
    with_next: bool = False
    columns: int = 1
    lines: list[Line]


class Card(Strict):
    """A criterion: its picture, what must be, how it is tested, and what counts as yes."""

    id: str
    picture: str
    alt: str
    title: str
    must: Line
    how: list[Line]
    counts: str
    yes: Line


class Cards(Strict):
    kind: Literal["cards"] = "cards"
    cards: list[Card]


class Column(Strict):
    """`width` is a share of the free width, or `auto` for as wide as its words."""

    title: str
    width: float | Literal["auto"] = 1
    align: Literal["left", "center", "right"] = "left"


class Cell(Strict):
    text: str = ""
    picture: str | None = None
    alt: str = ""
    boxes: list[str] = Field(default=[], description="a box to tick with its word, each")
    bold: bool = False
    fill: bool = False


class Table(Strict):
    """`row_mm` is the least height of a row: room for the hand that writes in it."""

    kind: Literal["table"] = "table"
    columns: list[Column]
    rows: list[list[Cell]]
    row_mm: float | None = None


class Writing(Strict):
    """Ruled lines to write on."""

    kind: Literal["writing"] = "writing"
    label: str
    lines: int
    line_mm: float


class Frame(Strict):
    """An empty frame to draw in."""

    kind: Literal["frame"] = "frame"
    label: str
    height_mm: float


class Picture(Strict):
    kind: Literal["picture"] = "picture"
    svg: str
    alt: str
    width: float | None = Field(default=None, description="mm; the whole width where not given")


class Cutouts(Strict):
    """Pictures at true scale, to be cut out."""

    kind: Literal["cutouts"] = "cutouts"
    svgs: list[str]
    alt: str
    width: float
    height: float
    columns: int


class Ruler(Strict):
    """A bar of a true length, to see whether a printer has kept the scale."""

    kind: Literal["ruler"] = "ruler"
    length: float
    text: str
    alt: str


class Break(Strict):
    kind: Literal["break"] = "break"


Block = Annotated[
    Heading | Paragraph | Lines | Cards | Table | Writing | Frame | Picture | Cutouts | Ruler | Break,
    Field(discriminator="kind"),
]


class Sheet(Strict):
    """One sheet in one language. `points` is the size of its letters; `blanks` are filled in by hand at the top."""

    name: str
    language: str
    title: str
    section: str
    blanks: list[str]
    points: float
    blocks: list[Block]
