"""How grades and rungs are said."""

from __future__ import annotations

from collections.abc import Sequence

from rungwright.domain.grades import grade_number


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
