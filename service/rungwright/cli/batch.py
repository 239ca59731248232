"""`rungwright batch`."""

from __future__ import annotations

import sys

import typer

from rungwright.api.batch import answers, requests_of
from rungwright.api.problems import ProblemError
from rungwright.cli.reading import name_of, read_bytes
from rungwright.cli.terminal import BadInput, opened


def run(file: str) -> None:
    raw = read_bytes(file)
    try:
        items = requests_of(raw, lines=not raw.lstrip().startswith(b"["))
    except ProblemError as error:
        raise BadInput(f"{name_of(file)}: {error.detail}") from None
    with opened() as (_, rules), typer.progressbar(length=len(items), label="Sections", file=sys.stderr) as bar:
        for line in answers(items, rules):
            # UTF-8 whatever the terminal: the output is data.
            sys.stdout.buffer.write(line.encode())
            bar.update(1)
    sys.stdout.buffer.flush()
