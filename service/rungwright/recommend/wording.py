"""Sentences a teacher would say aloud: groups, not percentages; ranges, not false exactness."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rungwright.domain.lever import Lever, LeverKind
from rungwright.domain.recommendation import Evidence

ASKED = {"easier": "easier", "fit": "about right", "harder": "harder"}
SCHOOL_RULES = "Your school's rules come first."

NUMBER_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def number_word(n: int) -> str:
    return NUMBER_WORDS[n] if 0 <= n < len(NUMBER_WORDS) else str(n)


def about_count(expected: float) -> str:
    """`6 or 7`, or `6` where the expected number is close to it."""
    low = int(expected)
    part = expected - low
    if part < 0.25:
        return str(low)
    return str(low + 1) if part >= 0.75 else f"{low} or {low + 1}"


def about_groups(expected: float, groups: int) -> str:
    """`about 6 or 7 of your 9 groups`; the expected number lies between the two, or close to the one."""
    count = about_count(expected)
    if count == "0":
        return f"hardly any of your {groups} groups"
    return f"all {groups} of your groups" if count == str(groups) else f"about {count} of your {groups} groups"


def outcome_clause(expected: float, groups: int) -> str:
    """What is expected by the end, as a clause."""
    if groups == 1:
        chance = expected
        if chance >= 0.75:
            how = "will probably meet"
        elif chance >= 0.5:
            how = "has a fair chance to meet"
        elif chance >= 0.25:
            how = "may well miss one of"
        else:
            how = "is unlikely to meet"
        return f"your one group {how} all criteria by the end"
    return f"{about_groups(expected, groups)} should meet every criterion by the end"


def effect_clause(change: float, groups: int) -> str:
    """What a move does to the expected number of groups; a count only from three quarters of a group."""
    size, way = abs(change), "fewer" if change < 0 else "more"
    if size < 0.05:
        return "no change in the number of groups expected"
    if size < 0.5 or groups == 1:
        return f"a little {'harder' if change < 0 else 'easier'}; you may not see it in one lesson"
    if size < 0.75:
        return f"somewhat {'harder' if change < 0 else 'easier'}; between none and one group {way}"
    count = round(size)
    return f"about {number_word(count)} group{'s' if count > 1 else ''} {way}"


def counted_groups(n: int) -> str:
    return "the one group" if n == 1 else f"all {n} groups"


def minutes(amount: float) -> str:
    """`1 minute`, `7.5 minutes`."""
    return f"{amount:g} minute{'' if amount == 1 else 's'}"


def listed(items: list[str], joiner: str = "and") -> str:
    """`a, b and c`."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {joiner} {items[-1]}"


def sentence(text: str) -> str:
    """First letter large, a full stop at the end."""
    text = text.strip()
    text = text[:1].upper() + text[1:]
    return text if text.endswith((".", "?", "!")) else text + "."


def grades(codes: Sequence[str]) -> str:
    """`Grade 4`, `Grades 2 and 3`, `Kindergarten`."""
    said = [code.lstrip("0") or "KG" for code in codes]
    if said == ["KG"]:
        return "Kindergarten"
    return f"Grade {said[0]}" if len(said) == 1 else f"Grades {listed(said)}"


def change_of_minutes(what: str, minutes: float) -> str:
    """`3.5 minutes more of lesson`; empty where there is no change."""
    if abs(minutes) < 0.05:
        return ""
    size = f"{abs(minutes):.1f}".removesuffix(".0")
    return f"{size} {'minute' if size == '1' else 'minutes'} {'more' if minutes > 0 else 'less'} of {what}"


def proof(item: Evidence) -> str:
    """One fact behind a reason, with its value and unit."""
    value = item.value
    if value is None or isinstance(value, bool):
        value = {None: "not told", True: "yes", False: "no"}[value]
    elif isinstance(value, float):
        value = f"{value:g}"
    about = f" ({item.about})" if item.about else ""
    unit = f" {item.unit}" if item.unit and not isinstance(item.value, (str, bool)) else ""
    return f"{item.meaning}{about}: {value}{unit}"


def without_school_rules(text: str) -> str:
    """A caution without the sentence that ends most of them: where they are listed it is said once, for all."""
    return text.removesuffix(f" {SCHOOL_RULES}")


def tells_of_access(preparation: str, levers: Mapping[str, Lever]) -> bool:
    """Whether a line of what to get ready is about a lever of access: on a shared sheet it would tell of a need."""
    label = preparation.partition(":")[0].lower()
    return any(lever.label.lower() == label for lever in levers.values() if lever.kind == LeverKind.ACCESS)
