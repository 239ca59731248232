"""`rungwright late`."""

from __future__ import annotations

from rungwright.cli.printing import answered
from rungwright.cli.terminal import BadInput, opened, say, wrapped
from rungwright.sheets import late_line


def run(file: str | None, demo_name: str | None, *, minutes_left: float, untested: int | None) -> None:
    with opened() as (_, rules):
        answer, _, _ = answered(file, demo_name, rules)
        groups = answer.section.groups if untested is None else untested
        try:
            say([wrapped(late_line(answer, minutes_left=minutes_left, untested=groups))])
        except ValueError as error:
            raise BadInput(str(error)) from None
