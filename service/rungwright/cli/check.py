"""`rungwright check KIND` and `rungwright calibrate KIND`: one check by options with units, or from a file."""

from __future__ import annotations

import inspect
import json
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperGroup

from rungwright.cli.terminal import BadInput, say, wrapped

if TYPE_CHECKING:
    from rungwright.checks.kinds import Kind
    from rungwright.checks.result import Amount, Calibrated, Checked, FormOption


class _Kinds(TyperGroup):
    """Commands made of the checks when they are asked for, as loading the checks takes half a second."""

    group = "checks"

    def _kinds(self) -> dict[str, Kind]:
        from rungwright.checks import kinds

        return dict(kinds.CHECKS if self.group == "checks" else kinds.CALIBRATIONS)

    def list_commands(self, ctx: Any) -> list[str]:
        return list(self._kinds())

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        kind = self._kinds().get(cmd_name)
        if kind is None:
            return None
        made = typer.Typer(add_completion=False, rich_markup_mode=None)
        made.command(kind.name, help=kind.summary)(_command(kind))
        return typer.main.get_command(made)


class _Calibrations(_Kinds):
    group = "calibrations"


check = typer.Typer(
    name="check",
    cls=_Kinds,
    help="Work out one check of a build: load, wind, rain, snow and more.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
calibrate = typer.Typer(
    name="calibrate",
    cls=_Calibrations,
    help="Turn what was measured in the classroom into the values that checks use.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


def _command(kind: Kind) -> Callable[..., None]:
    """A command whose options are the inputs of the check, each a text."""

    def run(**options: Any) -> None:
        file, as_json = options.pop("file"), options.pop("json")
        _run(kind, file, {name: value for name, value in options.items() if value not in (None, [])}, as_json=as_json)

    told = {
        name: Annotated[
            list[str] | None if _several(kind, name) else str | None,
            typer.Option(f"--{name.replace('_', '-')}", help=_help(kind, name), show_default=False),
        ]
        for name in kind.model.model_fields
    }
    told = {
        "file": Annotated[
            str | None, typer.Argument(metavar="FILE", help="Inputs in JSON or YAML; - reads standard input.")
        ],
        **told,
        "json": Annotated[bool, typer.Option("--json", help="Print the whole answer as JSON.")],
    }
    keyword = inspect.Parameter.KEYWORD_ONLY
    run.__signature__ = inspect.Signature(
        [inspect.Parameter(n, keyword, default=False if n == "json" else None, annotation=a) for n, a in told.items()]
    )
    run.__annotations__ = told
    return run


def _several(kind: Kind, name: str) -> bool:
    return kind.properties[name].get("type") == "array"


def _help(kind: Kind, name: str) -> str:
    schema = kind.properties[name]
    words = [w for part in (schema, *schema.get("anyOf", [])) for w in part.get("enum", [])]
    described = schema["description"]
    return described[:1].upper() + described[1:] + (f" ({', '.join(words)})." if words else ".")


def _run(kind: Kind, file: str | None, options: dict[str, Any], *, as_json: bool) -> None:
    from rungwright.api.fields import validate
    from rungwright.checks.result import InputError
    from rungwright.cli.reading import name_of, problem_lines, read_data

    data: Any = {}
    if file is not None:
        data = read_data(file)
    where = name_of(file) if file is not None else ""
    if options and isinstance(data, dict):
        data = {**data, **{name: kind.typed(name, value) for name, value in options.items()}}
    asked = validate(kind.model, data)
    if isinstance(asked, list):
        raise BadInput(
            *(problem_lines(where, asked) if where else [f"{_option(p.pointer)}: {p.detail}" for p in asked])
        )
    try:
        answer = kind.answer(asked)
    except InputError as error:
        at = f"{where}: /{error.field}" if where else _option(f"/{error.field}")
        raise BadInput(f"{at}: {error}") from None
    if as_json:
        typer.echo(answer.model_dump_json(indent=2))
    else:
        say(told(answer))


def _option(pointer: str) -> str:
    """An input as it is written on the command line."""
    name, _, place = pointer.lstrip("/").partition("/")
    return f"--{name.replace('_', '-')}" + (f" number {int(place) + 1}" if place.isdigit() else "")


def told(answer: Checked | Calibrated) -> list[str]:
    """Lines to print: the verdict and its sentence, the numbers, what they rest on, what is not looked at."""
    verdict = getattr(answer, "verdict", None)
    lines = [wrapped(f"{verdict.said.capitalize()}. {answer.text}" if verdict else answer.text), ""]
    lines += [_line(a.label, _with_middle(a)) for a in (answer.value, *answer.amounts)]
    lines += _forms(answer)
    lines += _part(
        "Use it, beside what else the check asks",
        [f'rungwright check {u.check} --{u.input.replace("_", "-")} "{u.value}"' for u in getattr(answer, "use", [])],
    )
    lines += _keep(getattr(answer, "keep", {}))
    lines += _part("Would help", getattr(answer, "mend", []))
    lines += ["", "Inputs used"]
    lines += [_line(i.label, i.text + ("" if i.given else " (usual)")) for i in answer.inputs]
    lines += _part("Care", getattr(answer, "care", []))
    lines += _part("Not looked at", answer.not_covered)
    lines += ["", "Stands on"]
    lines += [
        wrapped(f"{s.supports} ({s.id}, {s.status.replace('_', ' ')})", 6, f"  [{s.number}]") for s in answer.sources
    ]
    return lines


def _line(label: str, text: str) -> str:
    return wrapped(f"{label}: {text}", 4, "  ")


def _with_middle(number: Amount) -> str:
    """A range, and its middle, so that each number can be followed."""
    return number.text if number.text == number.value_text else f"{number.text}; middle {number.value_text}"


def _part(title: str, texts: list[str]) -> list[str]:
    return ["", title, *(wrapped(text, 4, "  -") for text in texts)] if texts else []


def _keep(fields: dict[str, Any]) -> list[str]:
    """What to write into a section."""
    if not fields:
        return []
    written = f'"measured": {json.dumps(fields)}'
    return ["", "Keep it in the section, so that its recommendations use it", f"    {written}"]


def _forms(answer: Checked | Calibrated) -> list[str]:
    """The forms of the answer; how those that matter most are made."""
    forms = getattr(answer, "forms", [])
    if not forms:
        return []
    lines = [_form(form, how=form is forms[0] or form.label in answer.text) for form in forms]
    if answer.forms_left:
        more = f"{answer.forms_left} more with --every-form yes: less sure, not feasible or beyond this kit."
        lines.append(wrapped(more, 4, "  -"))
    return ["", "Forms beside each other", *lines]


def _form(form: FormOption, *, how: bool) -> str:
    counts = ((form.sticks, "stick"), (form.sheets, "sheet"), (form.straws, "straw"))
    takes = [f"{n} {noun}" if n == 1 else f"{n} {noun}s" for n, noun in counts if n]
    takes += [f"{form.tape_cm:g} cm of tape"] + (["white glue"] if form.glue else [])
    text = f"{form.verdict.said}: {form.label}; {form.bears.text}; takes {', '.join(takes)}; {form.fails_first} first."
    text += f" Lacks {', '.join(form.lacks)}." if form.lacks else ""
    return wrapped(text + (f" {form.how}" if how else ""), 4, "  -")
