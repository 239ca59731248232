"""The answer in a sentence: how many changes, what is expected with and without them, and what is in the way."""

from __future__ import annotations

from rungwright.domain import recommendation as out
from rungwright.domain.ask import Direction
from rungwright.domain.lever import LeverKind
from rungwright.measure.time import lessons_needed
from rungwright.measure.verdicts import NOT_FEASIBLE
from rungwright.recommend import wording
from rungwright.recommend.decided import Decided
from rungwright.recommend.facts import not_there
from rungwright.recommend.resolve import Case


def summary(d: Decided) -> out.Summary:
    groups, now, then = d.case.section.groups, d.expected_before, d.expected_after
    amount = (lambda e: e.all_criteria.share) if groups == 1 else (lambda e: e.groups)
    standing = wording.sentence(f"as it stands, {wording.outcome_clause(amount(now), groups)}")
    moves, practical = d.choice.best.moves, d.choice.practical
    if moves:
        count = (
            "One change makes" if len(moves) == 1 else f"{wording.number_word(len(moves)).capitalize()} changes make"
        )
        way = "harder" if d.direction == "harder" else "easier"
        headline = f"{count} this {way}. {wording.sentence(wording.outcome_clause(amount(then), groups))}"
        was, will = (wording.about_groups(e.groups, groups) for e in (now, then))
        if groups > 1 and was != will:
            headline += f" If nothing changes, {was} should."
        elif groups > 1:
            headline += f" That is a little {'fewer' if d.direction == 'harder' else 'more'} than if nothing changes."
    else:
        headline = f"{_nothing_proposed(d)} {standing}"
    headline += _nearly_inside(d)
    if practical:
        headline += " One practical change helps the lesson to work."
    if moves and d.case.request.ask.notches > 1 and d.inference.limits.one_notch:
        headline += f" You asked for more than one step. {d.inference.limits.one_notch}"
    elif moves and not reached(d):
        headline += " " + _not_reached(d)
    headline += _does_not_fit(d)
    headline += _ask_first(d)
    if d.after.verdict("kit", 0) == NOT_FEASIBLE:
        headline += " The cupboard lacks part of the kit: see the kit check."
    if lacking := [test.label for test in not_there(d.case)]:
        named = wording.listed(lacking)
        headline += f" Nothing was told to make the {named} test{'s' if len(lacking) > 1 else ''} with: get it first."
    first = then.all_first * groups
    if groups == 1:
        first_test = "At the first test it may well miss something; that is what the second try is for."
    else:
        first_test = f"At the first test expect {wording.about_groups(first, groups)} to meet every criterion" + (
            "; that is what the second try is for." if d.after.versions.second[0].any() else "."
        )
    return out.Summary(headline=headline, standing=standing, first_test=first_test, evidence=evidence_sentence(d.case))


def reached(d: Decided) -> bool:
    """Whether the target was reached; `fit` aims at the middle of the band, and anywhere inside is reached."""
    if d.case.request.ask.direction != Direction.FIT:
        return d.choice.best.distance == 0
    (low, high), best = d.case.request.ask.band, d.choice.best
    return d.direction == "none" or low <= round(float(best.measured.middle_share[best.row]), 6) <= high


def evidence_sentence(case: Case) -> str:
    runs = case.own_runs
    others = len(case.teaching_runs) - len(runs)
    if not runs and not others:
        return "No earlier run of this section is known, so this is what is usual for the grade: a rough guess."
    if not runs:
        return (
            f"Based on {_runs(others)} of another challenge, which count{'s' if others == 1 else ''} for less, and on "
            "what is usual for the grade: a rough guess."
        )
    groups = runs[-1].groups
    told = f"{groups} group{'s' if groups > 1 else ''}"
    also = f" {_runs(others).capitalize()} of another challenge count{'s' if others == 1 else ''} for less."
    if len(runs) > 1:
        text = f"Based on {len(runs)} earlier runs, the last with {told}."
    elif groups < 4:
        text = f"Based on one earlier run with only {told}: thin evidence, so treat this as a rough guess."
    else:
        text = f"Based on one earlier run with {told}, so treat this as a rough guess."
    return text + (also if others else "")


def _nothing_proposed(d: Decided) -> str:
    asked = d.case.request.ask.direction
    if asked == Direction.FIT and d.direction == "none":
        return "This section most likely stands inside the range you aim for, so nothing needs to change."
    if d.direction == "harder" and d.before.verdict("time", 0) == NOT_FEASIBLE:
        return "Nothing is made harder while the lesson does not fit its minutes."
    if d.choice.at_edge and d.direction == "harder":
        return "This is at the hard end for these groups already, so nothing harder is proposed."
    if d.choice.at_edge:
        return "This is at the gentle end already, so nothing easier is proposed."
    ask, levers = d.case.request.ask, d.case.levers
    wanted = {c.lever for c in d.inference.candidates if levers[c.lever].kind == LeverKind.CHALLENGE}
    if wanted and wanted <= {*ask.pinned, *ask.declined, *(d.case.section.kept_levers or ())}:
        return f"You kept or declined every change that would make this {d.direction}."
    if any(h.kind == "too_far" for h in d.choice.held):
        return (
            "Anything harder would leave fewer than half of these groups meeting all criteria, so nothing is changed."
            if d.direction == "harder"
            else "Anything easier would leave these groups hardly a criterion to work for, so nothing is changed."
        )
    return f"No change that would make this {d.direction} passes the checks."


def _does_not_fit(d: Decided) -> str:
    if d.after.verdict("time", 0) != NOT_FEASIBLE:
        return ""
    section = d.case.section
    lessons = lessons_needed(d.case.challenge, section, d.after.checks["time"], 0)
    more = (
        f"as it is, it takes {wording.number_word(lessons)} such lessons; "
        if lessons and lessons > len(section.sessions)
        else ""
    )
    return f" But this does not fit its minutes: {more}see what would help at the time check."


def _ask_first(d: Decided) -> str:
    """Where hardly a group would make it even so, the settings are not the first thing to look at."""
    if not d.case.own_runs or d.expected_after.all_criteria.share >= HARDLY_ANY or d.direction == "harder":
        return ""
    return (
        " First find out what went wrong last time: builds that were not finished, a fan or a weight that was stronger "
        "than meant, a slip on the record sheet."
    )


HARDLY_ANY = 0.25
"""Expected share of groups under which small changes are not the first thing to try; agreed here."""


def _nearly_inside(d: Decided) -> str:
    """Why `fit` moves a section whose expected share lies inside the band."""
    low, high = d.case.request.ask.band
    inside = low <= round(d.expected_before.all_criteria.share, 6) <= high
    if d.case.request.ask.direction != Direction.FIT or d.direction == "none" or not inside:
        return ""
    return f" As it stands it is near the {_EDGE[d.direction]} edge of what you aim for."


_EDGE = {"harder": "easy", "easier": "hard"}


def _not_reached(d: Decided) -> str:
    if d.case.request.ask.direction == Direction.FIT:
        return "The range you aim for cannot be reached with these changes; this is the closest."
    change = abs(float(d.after.demand[0] - d.before.demand[0]))
    seen = abs(d.expected_after.groups - d.expected_before.groups)
    if change > d.choice.target.demand[2] and seen < 1:
        return "It is the smallest step there is."
    size = "larger" if change > d.choice.target.demand[2] else "smaller"
    return f"It is a {size} step than you asked for; it is the closest there is."


def _runs(count: int) -> str:
    return "one run" if count == 1 else f"{wording.number_word(count)} runs"
