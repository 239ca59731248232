"""An answer as readable text. Everything is said in words; signs only repeat it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from rungwright.cli.terminal import can_show, width, wrapped
from rungwright.domain.recommendation import (
    After,
    Before,
    Brief,
    CheckResult,
    Explanation,
    Proposal,
    Recommendation,
    Timetable,
)
from rungwright.recommend.basis import UNTRIED
from rungwright.recommend.wording import (
    ASKED,
    SCHOOL_RULES,
    change_of_minutes,
    grades,
    listed,
    proof,
    without_school_rules,
)
from rungwright.rulebase.words import counted


def told(answer: Recommendation, *, why: bool = False) -> list[str]:
    """Lines to print, in the order a teacher reads: who, what was asked, the answer, changes, the rest."""
    section = answer.section
    lines = [
        wrapped(f"{answer.challenge.label} for {section.label}"),
        wrapped(
            f"{grades(section.grades)}, {counted(section.students, 'student')} in "
            f"{counted(section.groups, 'group')}, {section.minutes} minutes. Asked: {ASKED[answer.asked]}."
        ),
        "",
        wrapped(answer.summary.headline),
        "",
        *_outcome("If nothing changes", answer.before, section.groups),
    ]
    if answer.proposals:
        lines += _outcome("After", answer.after, section.groups)
    lines += [wrapped(text, 2) for text in (answer.summary.first_test, answer.summary.evidence) if text]
    lines += _proposals(answer, why)
    lines += _alternatives(answer)
    lines += _pitched(answer.brief)
    lines += _part("Held back", (f"{h.label}: {h.text}" for h in answer.held_back))
    lines += _checks(answer.after.checks)
    lines += _minutes(answer.timetable)
    lines += _part(
        "Fitted to this section", (f"{_sentence(f'{a.label}: {a.text}')} {a.why}" for a in answer.before.adjusted)
    )
    lines += _prompts(answer)
    if answer.cautions:
        lines += _part("Care", [SCHOOL_RULES, *(without_school_rules(c.text) for c in answer.cautions)])
    lines += _part("Taken to be so", answer.assumptions)
    lines += _part("Not looked at", answer.not_evaluated)
    if why and answer.explanation:
        lines += _explained(answer.explanation)
    rules = answer.rule_base
    lines += ["", wrapped(f"Answer {answer.id}, rule base {rules.version} ({rules.digest[:12]}).")]
    return lines


def _outcome(label: str, part: Before | After, groups: int) -> list[str]:
    low, high = part.expected.all_criteria.groups_likely
    words = f"{low} to {high} of {groups}" if low != high else f"{low} of {groups}"
    return [
        wrapped(f"{label}: {words} groups would be no surprise."),
        "  " + dots(low, high, groups),
    ]


def dots(low: int, high: int, groups: int) -> str:
    """One sign a group: expected to meet every criterion, could go either way, not expected to."""
    signs = "●◐○" if can_show("●◐○") else "#+."
    row = signs[0] * low + signs[1] * (high - low) + signs[2] * (groups - high)
    return row if len(row) <= width() - 2 else row[: width() - 5] + "..."


def _proposals(answer: Recommendation, why: bool) -> Iterator[str]:
    for number, proposal in enumerate(answer.proposals, 1):
        yield ""
        yield from _proposal(number, proposal, why)
    untried = [str(n) for n, p in enumerate(answer.proposals, 1) if any(b.supports == UNTRIED for b in p.basis)]
    if untried:
        does = "does" if len(untried) == 1 else "do"
        yield ""
        yield wrapped(f"How much {listed(untried)} {does} is our starting guess: no class here has tried it yet.")


def _proposal(number: int, proposal: Proposal, why: bool) -> Iterator[str]:
    change = f"{proposal.label}: {proposal.from_text} → {proposal.to_text}"
    yield wrapped(change[:1].upper() + change[1:], 3, f"{number}.")
    yield wrapped(proposal.reason.text, 3)
    effect = proposal.effect
    does = [effect.text, change_of_minutes("lesson", effect.minutes)]
    does += [change_of_minutes("preparation", effect.preparation_minutes), *effect.kit]
    yield _fact("What it does", "; ".join(part.rstrip(".") for part in does if part) + ".")
    for basis in proposal.basis:
        if basis.supports != UNTRIED:
            yield _fact("Stands on", f"{basis.label}: {basis.supports}")
    if proposal.needs:
        yield _fact("Get first", "; ".join(proposal.needs))
    yield _fact("Rule", ", also ".join([proposal.rule.id, *proposal.also]))
    if why:
        for item in proposal.reason.evidence:
            yield _fact("Proof", proof(item))


def _fact(label: str, text: str) -> str:
    return wrapped(text, 18, f"   {label}")


def _part(title: str, texts: Iterator[str] | list[str]) -> list[str]:
    items = [wrapped(text, 2, "-") for text in texts]
    return ["", title, *items] if items else []


def _prompts(answer: Recommendation) -> Iterator[str]:
    for title, audience in (("Ask the groups", "groups"), ("Ask yourself first", "teacher")):
        prompts = [prompt for prompt in answer.prompts if prompt.audience == audience]
        if prompts:
            yield from ("", title)
        for before, prompt in zip([None, *prompts], prompts, strict=False):
            if before is None or before.label != prompt.label:
                yield wrapped(prompt.label, 2)
            yield from (wrapped(question, 4, "  -") for question in prompt.questions)


def _pitched(brief: Brief | None) -> list[str]:
    """What is built and tested, changes included."""
    if brief is None:
        return []
    kit = f"Each group gets: {', '.join(brief.kit)}."
    return _part("The challenge then", [*brief.constraints, *brief.testing, kit])


def _alternatives(answer: Recommendation) -> list[str]:
    return _part(
        "Instead of these, as good", (_sentence(", and ".join(c.text for c in a.changes)) for a in answer.alternatives)
    )


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:].rstrip(".") + "."


def _checks(checks: list[CheckResult]) -> list[str]:
    lines = ["", "Checks"]
    for check in checks:
        lines.append(wrapped(f"{check.kind.capitalize()}: {check.verdict.said}. {check.text}", 2, "-"))
        lines += [wrapped(f"Would help: {text}", 4) for text in check.mend]
    return lines


def _minutes(table: Timetable | None) -> list[str]:
    if table is None:
        return []
    needed, there = math.ceil(table.minutes_needed), math.floor(table.minutes_available)
    lines = ["", f"Minutes: {needed} needed, {there} there"]
    lessons = {phase.lesson for phase in table.phases}
    for lesson in sorted(lessons):
        phases = ", ".join(
            f"{phase.label} {phase.minutes:.1f}".removesuffix(".0") for phase in table.phases if phase.lesson == lesson
        )
        lines.append(wrapped(f"Lesson {lesson}: {phases}" if len(lessons) > 1 else phases, 2))
    return lines


def _explained(explanation: Explanation) -> list[str]:
    lines = ["", "What each rule said"]
    for rule in explanation.considered:
        lines.append(wrapped(f"{rule.rule}: {rule.text}", 4, "  + " if rule.fired else "  - "))
    return [*lines, wrapped(f"+ fired, - did not. Target: {explanation.target}.", 2)]
