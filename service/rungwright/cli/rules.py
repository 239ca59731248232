"""`rungwright rules`: check, list, show, explain and test the rule base."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from rungwright.cli.terminal import NOT_SOUND, BadInput, opened, say, wrapped

if TYPE_CHECKING:
    from rungwright.rulebase import Rule, RuleBase

rules = typer.Typer(name="rules", help="Look at and test the rule base.", no_args_is_help=True, rich_markup_mode=None)


class Engine(StrEnum):
    AUTO = "auto"
    DURABLE = "durable"
    CLIPS = "clips"
    PLAIN = "plain"


class StageName(StrEnum):
    DERIVE = "derive"
    ADJUST = "adjust"
    LIMIT = "limit"
    CAUTION = "caution"
    PROMPT = "prompt"


@rules.command()
def check() -> None:
    """Read the rule base and tell every mistake with file, line and column."""
    with opened() as (_, compiled):
        base = compiled.base
        say([f"Sound: {len(base.rules)} rules, {len(base.levers)} levers, {len(base.materials)} materials."])


@rules.command("list")
def list_(stage: Annotated[StageName | None, typer.Option(help="Only rules of this step.")] = None) -> None:
    """List the rules with their titles."""
    with opened() as (_, compiled):
        chosen = [r for r in compiled.base.rules.values() if stage is None or r.stage == stage]
    say([f"{rule.id}\n{wrapped(rule.title, 4)}" for rule in chosen] or ["There are no such rules."])


@rules.command()
def show(rule: Annotated[str, typer.Argument(help="Id of a rule: the path of its file without .yaml.")]) -> None:
    """Show one rule: when it fires, what it does, why, and what it stands on."""
    from rungwright.cli.rule_text import shown

    with opened() as (_, compiled):
        say(shown(compiled.base, _found(compiled.base, rule)))


@rules.command()
def explain(
    request: Annotated[str, typer.Argument(help="A request in JSON or YAML; - reads standard input.")],
    rule: Annotated[str | None, typer.Argument(help="Only this rule.")] = None,
) -> None:
    """Tell for each rule whether it fired for a request, or the first condition that failed."""
    from rungwright.cli.reading import name_of, problem_lines, read_data, request_from
    from rungwright.recommend import RequestProblem, recommend

    data = read_data(request)
    if isinstance(data, dict):
        data = {**data, "include": ["explanation"]}
    asked = request_from(data, name_of(request))
    with opened() as (_, compiled):
        wanted = _found(compiled.base, rule).id if rule else None
        try:
            explanation = recommend(asked, compiled).explanation
        except RequestProblem as error:
            raise BadInput(*problem_lines(name_of(request), error.problems)) from None
    considered = [c for c in explanation.considered if wanted in (None, c.rule)]
    if not considered:
        say([f"{wanted} is not for this family of challenges."])
    for entry in considered:
        say(
            [
                wrapped(
                    f"{'fired' if entry.fired else 'did not fire'}: {entry.title}. {entry.text}",
                    4,
                    f"{entry.rule}\n    ",
                )
            ]
        )


@rules.command()
def test(
    engine: Annotated[Engine, typer.Option(help="Engine to run the cases on.")] = Engine.AUTO,
    gate: Annotated[
        bool, typer.Option("--gate", help="Also move every parameter by one step: a case must fail.")
    ] = False,
) -> None:
    """Run the cases that the rules carry."""
    from rungwright.engine import EngineError
    from rungwright.rulebase import gate as run_gate
    from rungwright.rulebase import run_cases

    with opened() as (_, compiled):
        try:
            cases = run_cases(compiled.base, str(engine))
        except EngineError as error:
            raise BadInput(str(error)) from None
        wrong = [c for c in cases if not c.passed]
        lines = [f"{c.rule}: {c.case}: {c.detail}" for c in wrong]
        lines.append(f"{len(cases) - len(wrong)} of {len(cases)} cases pass.")
        if gate:
            survivors = run_gate(compiled.base)
            lines += [f"{s.rule}: {s.parameter} can move to {s.moved_to:g} and no case notices" for s in survivors]
            lines.append(
                "Every parameter is held by a case." if not survivors else f"{len(survivors)} moves unnoticed."
            )
            wrong += survivors
    say(lines)
    if wrong:
        raise typer.Exit(NOT_SOUND)


def _found(base: RuleBase, rule_id: str) -> Rule:
    from rungwright.rulebase.problems import nearest

    wanted = rule_id.removesuffix(".yaml")
    if wanted not in base.rules:
        raise BadInput(f"there is no rule {rule_id!r}{nearest(wanted, base.rules)}")
    return base.rules[wanted]
