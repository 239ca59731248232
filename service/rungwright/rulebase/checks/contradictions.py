"""Tests of one property that no value can pass together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any


def contradiction(
    words: Mapping[str, Any], possible: Sequence[Any] | None = None, low: float | None = None, high: float | None = None
) -> str | None:
    """Why no value passes all of `words`, or None.

    Parameters:
        words: test word -> value, each of the right type
        possible: all that the value may be, where that is a list
        low, high: the ends of what a number may be, where there are any
    """
    if "absent" in words and len(words) > 1:
        return f"`absent` and `{next(w for w in words if w != 'absent')}` exclude each other"
    floor, ceiling = _interval(words, low, high)
    if floor[0] > ceiling[0] or (floor[0] == ceiling[0] and (floor[1] or ceiling[1])):
        return f"there is no number {_end(floor, 'above', 'at least')} and {_end(ceiling, 'below', 'at most')}"
    listed = _listed(words, possible)
    if listed is not None:
        excluded = [*words.get("none of", ()), *([words["is not"]] if "is not" in words else ())]
        left = [v for v in listed if not any(_same(v, x) for x in excluded) and _inside(v, floor, ceiling)]
        if not left:
            return "every value that one test allows is ruled out by another"
    return None


def _interval(
    words: Mapping[str, Any], low: float | None, high: float | None
) -> tuple[tuple[float, bool], tuple[float, bool]]:
    """(number, end excluded) of the highest floor and the lowest ceiling."""
    floors = [(float("-inf") if low is None else low, False)]
    ceilings = [(float("inf") if high is None else high, False)]
    if "between" in words:
        floors.append((words["between"][0], False))
        ceilings.append((words["between"][1], False))
    floors += [(words[w], w == "above") for w in ("at least", "above") if w in words]
    ceilings += [(words[w], w == "below") for w in ("at most", "below") if w in words]
    return max(floors), min(ceilings, key=lambda end: (end[0], not end[1]))


def _listed(words: Mapping[str, Any], possible: Sequence[Any] | None) -> list[Any] | None:
    """The values left by the tests that name values, or None where any value is left."""
    lists = [list(possible)] if possible is not None else []
    lists += [list(words["one of"])] if "one of" in words else []
    lists += [[words["is"]]] if "is" in words else []
    if not lists:
        return None
    return [v for v in lists[0] if all(any(_same(v, other) for other in others) for others in lists[1:])]


def _same(one: Any, other: Any) -> bool:
    return one == other and isinstance(one, bool) == isinstance(other, bool)


def _inside(value: Any, floor: tuple[float, bool], ceiling: tuple[float, bool]) -> bool:
    if isinstance(value, (bool, str)):
        return True
    above = value > floor[0] if floor[1] else value >= floor[0]
    return above and (value < ceiling[0] if ceiling[1] else value <= ceiling[0])


def _end(end: tuple[float, bool], excluded: str, included: str) -> str:
    return f"{excluded if end[1] else included} {end[0]}"
