"""Grade codes KG, 01 .. 12 and the four bands."""

from collections.abc import Sequence
from enum import StrEnum
from statistics import fmean
from typing import Annotated

from pydantic import BeforeValidator, WithJsonSchema

GRADE_CODES = ("KG", *(f"{n:02d}" for n in range(1, 13)))


class Band(StrEnum):
    K_2 = "K-2"
    G3_5 = "3-5"
    G6_8 = "6-8"
    G9_12 = "9-12"


BAND_TOPS = {Band.K_2: 2, Band.G3_5: 5, Band.G6_8: 8, Band.G9_12: 12}
BAND_MIDDLES = {Band.K_2: 1.0, Band.G3_5: 4.0, Band.G6_8: 7.0, Band.G9_12: 10.5}


def grade_code(value: object) -> str:
    """Normalise `K`, `k`, `kg`, `5`, `"05"`, 5 to a code of `GRADE_CODES`; ValueError says what is allowed."""
    text = str(value).strip().upper() if isinstance(value, (str, int)) and not isinstance(value, bool) else ""
    if text in ("K", "KG", "0", "00"):
        return "KG"
    if text.isascii() and text.isdigit() and len(text) <= 2 and 1 <= int(text) <= 12:
        return f"{int(text):02d}"
    raise ValueError(f"{value!r} is not a grade; use KG or 01 to 12 (K and 5 are read too)")


Grade = Annotated[
    str,
    BeforeValidator(grade_code),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "pattern": r"^([Kk][Gg]?|0?[0-9]|1[0-2])$"},
                {"type": "integer", "minimum": 0, "maximum": 12},
            ],
            "description": "KG or 01 to 12; K, 5 and the number 5 are read too",
            "examples": ["04"],
        },
        mode="validation",
    ),
]


def grade_number(code: str) -> int:
    """KG is 0."""
    return GRADE_CODES.index(code)


def band_of(grade: float) -> Band:
    """The band of a grade number in 0..12; halves (mixed sections) go to the band above: 2.5 is 3-5."""
    return next(band for band, top in BAND_TOPS.items() if grade <= top)


def middle_grade(codes: tuple[str, ...] | list[str]) -> float:
    return fmean(grade_number(code) for code in codes)


def grade_said(code: str) -> str:
    return "K" if code == "KG" else code.lstrip("0")


def grades_said(codes: Sequence[str]) -> str:
    """`grade 4`, `grades K to 2`, `grades 3 and 5`."""
    ordered = sorted(set(codes), key=grade_number)
    first, last = grade_said(ordered[0]), grade_said(ordered[-1])
    if len(ordered) == 1:
        return f"grade {first}"
    if grade_number(ordered[-1]) - grade_number(ordered[0]) == len(ordered) - 1 > 1:
        return f"grades {first} to {last}"
    said = [grade_said(code) for code in ordered]
    return f"grades {', '.join(said[:-1])} and {said[-1]}"
