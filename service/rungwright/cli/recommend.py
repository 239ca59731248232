"""`rungwright recommend`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import typer

from rungwright.api.demo import demo, demo_names
from rungwright.cli.reading import name_of, problem_lines, read_data, request_from
from rungwright.cli.terminal import BadInput, opened, say
from rungwright.recommend import RequestProblem
from rungwright.recommend import recommend as recommend_for


def run(
    file: str | None,
    demo_name: str | None,
    *,
    direction: str | None,
    units: str | None,
    weights: Path | None,
    as_json: bool,
    why: bool,
) -> None:
    data, where = request_data(file, demo_name)
    if isinstance(data, dict):
        data = _changed(data, direction, units, shown=not as_json, why=why)
    request = request_from(data, where)
    with opened(weights) as (_, rules):
        try:
            answer = recommend_for(request, rules)
        except RequestProblem as error:
            raise BadInput(*problem_lines(where, error.problems)) from None
        if as_json:
            typer.echo(answer.model_dump_json(by_alias=True, indent=2))
        else:
            from rungwright.cli.answer import told

            say(told(answer, why=why))


def request_data(file: str | None, demo_name: str | None) -> tuple[Any, str]:
    if (file is None) == (demo_name is None):
        raise BadInput(f"give either a request file (- for standard input) or --demo {demo_names()[0]}")
    if demo_name is None:
        return read_data(file), name_of(file)
    try:
        return demo(demo_name), f"demo {demo_name}"
    except KeyError:
        raise BadInput(f"there is no demo {demo_name!r}; there is {', '.join(demo_names())}") from None


def _changed(
    data: dict[str, Any], direction: str | None, units: str | None, *, shown: bool, why: bool
) -> dict[str, Any]:
    """The request with what the options say; what is wrong with the rest is told afterwards."""
    data = dict(data)
    if direction and isinstance(data.get("ask", {}), dict):
        data["ask"] = {**data.get("ask", {}), "direction": direction}
    if units:
        data["units"] = units
    # What the screen shows has to be worked out, asked for or not.
    more = (["timetable", "brief"] if shown else []) + (["explanation"] if why else [])
    include = data.get("include", [])
    if isinstance(include, list):
        data["include"] = include + [part for part in more if part not in include]
    return data
