"""Paper sizes, ISO 216 and ANSI/ASME Y14.1, in millimetres."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class PaperName(StrEnum):
    LETTER = "letter"
    A4 = "a4"


@dataclass(frozen=True)
class Paper:
    width: float
    height: float
    margin: float = 14.0


PAPERS = {PaperName.LETTER: Paper(215.9, 279.4), PaperName.A4: Paper(210.0, 297.0)}
