"""Words of the pages for numbers, days and groups; what the answers say stands in `recommend.wording`."""

from __future__ import annotations

import math
import re
from datetime import date, datetime

from markupsafe import Markup, escape

from rungwright.recommend.wording import about_count


def number(value: float) -> str:
    """Whole numbers plain, others with one decimal."""
    return f"{value:.1f}".removesuffix(".0")


def minutes(value: float) -> str:
    said = number(value)
    return f"{said} minute" if said == "1" else f"{said} minutes"


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def day(value: date | datetime) -> str:
    return f"{value.day} {value:%B %Y}"


def code(text: str) -> Markup:
    """What stands between backticks, as code."""
    return Markup(re.sub(r"`([^`]+)`", r"<code>\1</code>", escape(text)))


def expected_groups(share: float, groups: int) -> str:
    """An expected share as a number of groups: `6 or 7`; one group may or may not."""
    if groups == 1:
        return "likely" if share >= 0.75 else "could go either way" if share >= 0.25 else "unlikely"
    return about_count(share * groups)


def range_of_groups(low: float, high: float, groups: int) -> str:
    """A range of shares as whole groups: `5 to 8`."""
    first, last = math.floor(low * groups + 0.5), math.floor(high * groups + 0.5)
    return str(first) if first == last else f"{first} to {last}"
