"""`rungwright learn`."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import typer

from rungwright.api.fields import validate
from rungwright.cli.reading import name_of, problem_lines, read_data
from rungwright.cli.terminal import BadInput, opened, say, wrapped
from rungwright.domain.weights import LearningRequest, LearntWeight, Weights
from rungwright.recommend import RequestProblem
from rungwright.recommend.basis import apart_told
from rungwright.recommend.learn import learn_weights
from rungwright.rulebase import RuleBase
from rungwright.rulebase.words import counted
from rungwright.settings import SettingsError, open_weights


def run(files: list[str], to: Path | None) -> None:
    request, where = _joined([_read(file) for file in files]), ", ".join(name_of(file) for file in files)
    with opened() as (_, rules):
        try:
            with typer.progressbar(length=1, label="Learning", file=sys.stderr) as bar:

                def progress(done: int, of: int) -> None:
                    bar.length = of
                    bar.update(done - bar.pos)

                weights = learn_weights(request, rules, learned_on=date.today(), progress=progress)
        except RequestProblem as error:
            raise BadInput(*problem_lines(where, error.problems)) from None
        lines = told(weights, rules.base)
    if to:
        kept = _write(to, weights.model_dump_json(indent=2) + "\n")
        lines += ["", wrapped(f"Written to {to}. To use them: rungwright recommend --weights {to}")]
        lines += [wrapped(f"The earlier weights are kept in {kept}.")] if kept else []
    say(lines)


def _read(file: str) -> LearningRequest:
    request = validate(LearningRequest, read_data(file))
    if isinstance(request, list):
        raise BadInput(*problem_lines(name_of(file), request))
    return request


def _joined(requests: list[LearningRequest]) -> LearningRequest:
    first = requests[0]
    if any(other.challenge != first.challenge for other in requests):
        raise BadInput("the files are of different challenges; learn from one challenge at a time")
    sections: list[Any] = [section for request in requests for section in request.sections]
    return LearningRequest(challenge=first.challenge, sections=sections)


def _keep(to: Path) -> str | None:
    """Move an earlier document out of the way under its version. Raises BadInput where the file is something else."""
    if not to.exists():
        return None
    try:
        version = open_weights(to).version
    except (SettingsError, OSError):
        raise BadInput(
            f"{to} is there and holds no learnt weights; give another file, so that nothing is lost"
        ) from None
    kept = to.with_name(f"{to.stem}.{version}{to.suffix}")
    to.replace(kept)
    return kept.name


def _write(to: Path, text: str) -> str | None:
    """Whole or not at all; an earlier document is kept, its new name is returned."""
    part = to.with_name(to.name + ".part")
    try:
        part.write_text(text, encoding="utf-8")
        kept = _keep(to)
        part.replace(to)
    except OSError as error:
        raise BadInput(f"{to}: cannot be written: {error.strerror or error}") from None
    finally:
        part.unlink(missing_ok=True)
    return kept


def told(weights: Weights, base: RuleBase) -> list[str]:
    """What was learned, as lines for a teacher."""
    data = weights.data
    if not data.sections:
        lines = [wrapped("Nothing could be compared, so every weight is still a starting guess.")]
    else:
        lines = [
            wrapped(
                f"Compared {counted(data.runs, 'run')} of {counted(data.sections, 'section')}, "
                f"{counted(data.groups, 'group')} in all. Weights {weights.version}."
            )
        ]
    lines += [wrapped(text, 2, "-") for text in _left_out(weights)]
    lines += ["", wrapped(apart_told(weights.apart))]
    learned = [w for w in weights.weights if w.learned_here]
    tried = [w for w in weights.weights if w.sections and not w.learned_here]
    lines += _part("Learned here", learned, base)
    lines += _part("Still a starting guess, moved a little by what was seen", tried, base)
    rest = len(weights.weights) - len(learned) - len(tried)
    if rest:
        lines += ["", wrapped(f"{counted(rest, 'other weight')}: no class here has tried a change of it yet.")]
    return lines


def _part(title: str, weights: list[LearntWeight], base: RuleBase) -> Iterator[str]:
    if weights:
        yield from ("", title)
    for w in weights:
        yield wrapped(
            f"{_label(w, base)}: {_size(w)}, from {counted(w.sections, 'section')} ({counted(w.groups, 'group')})",
            2,
            "-",
        )


def _label(w: LearntWeight, base: RuleBase) -> str:
    on = "every criterion" if w.criteria == ["all"] else ", ".join(base.names.get(c, c) for c in w.criteria)
    what = base.levers[w.lever].label if w.lever in base.levers else w.lever or f"margin of the {w.margin} check"
    return f"{what}, on {on}"


def _size(w: LearntWeight) -> str:
    low, high = (max(w.factor + sign * 1.2816 * w.sd, 0) for sign in (-1, 1))
    return f"{w.factor:.2f} of the starting guess ({low:.2f} to {high:.2f} would be no surprise)"


def _left_out(weights: Weights) -> Iterator[str]:
    data = weights.data
    for count, why in (
        (data.flagged, "flagged"),
        (data.settings_not_told, "without their settings"),
        (data.another_challenge, "of another challenge"),
        (data.nothing_to_compare, "the only one of their section, with nothing to compare"),
    ):
        if count:
            yield f"Left out {counted(count, 'run')}: {why}."
