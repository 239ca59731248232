"""The page "One refuge by hand" in DEVELOPERS.md: its arithmetic is right, and the program prints the same numbers."""

from __future__ import annotations

import math
import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from rungwright.cli.app import app

PAGE = (
    (Path(__file__).resolve().parents[1] / "DEVELOPERS.md")
    .read_text(encoding="utf-8")
    .split("## One refuge by hand")[1]
    .split("\n## ")[0]
)
SUMS = re.findall(r"`([^`\n]+) = ([\d.]+)`", PAGE)
BLOCKS = re.findall(r"^\$ (rungwright .+)\n((?:(?!\$|```).+\n)+)", PAGE, re.MULTILINE)


def worked_out(text: str) -> float:
    """A sum as it is written by hand."""
    for sign, code in (
        ("×", "*"), ("²", "**2"), ("³", "**3"), ("π", "pi"), ("√2", "sqrt(2)"), ("√(", "sqrt("), ("⌊", "floor("),
        ("⌋", ")"), ("atan(", "arc("),
    ):  # fmt: skip
        text = text.replace(sign, code)
    text = re.sub(r"tan\(([\d.]+)°\)", r"tan(radians(\1))", text)
    known = {n: getattr(math, n) for n in ("pi", "sqrt", "tan", "radians", "floor")}
    return eval(text, {"__builtins__": {}, "arc": lambda x: math.degrees(math.atan(x)), **known})


def test_the_page_is_read():
    assert len(SUMS) >= 17 and len(BLOCKS) >= 8


@pytest.mark.parametrize(("text", "result"), SUMS)
def test_the_arithmetic_is_right(text, result):
    places = len(result.partition(".")[2])
    # Steps go on with rounded numbers, so the last figure may be off by one.
    assert worked_out(text) == pytest.approx(float(result), abs=1.01 * 10**-places)


@pytest.mark.parametrize(("command", "lines"), BLOCKS)
def test_the_program_prints_it(command, lines, monkeypatch):
    monkeypatch.setenv("COLUMNS", "200")
    result = CliRunner().invoke(app, shlex.split(command)[1:])
    assert result.exit_code == 0, result.output
    printed = " ".join(result.stdout.split())
    for line in lines.splitlines():
        assert line in printed, line


def test_every_result_of_a_sum_is_printed_by_a_command():
    shown = " ".join(lines for _, lines in BLOCKS)
    for text, result in SUMS:
        between = result in ("24", "734", "1")
        assert between or re.search(rf"\b{re.escape(result)}\b", shown), (text, result)
