"""How the minutes of planning, building and improving share a lesson, and the phases of its timetable."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement, pairwise

import numpy as np

from rungwright.domain.challenge import Challenge
from rungwright.domain.lever import Lever
from rungwright.domain.recommendation import Phase
from rungwright.domain.section import Section
from rungwright.domain.strict import Setting
from rungwright.measure.columns import Columns
from rungwright.measure.time import TimeCheck, time_check

WORK_SHARES = {"plan_minutes": 1, "build_minutes": 3, "redesign_minutes": 1}  # common practice
WORTH_BEGINNING = 4.0  # minutes of a phase worth beginning before the bell: common practice
LABELS = {
    "start": "task and rules",
    "try_out": "try-out",
    "plan": "plan",
    "build": "build",
    "test": "test",
    "improve": "improve",
    "test_again": "test again",
    "talk": "talk about results",
    "tidy": "tidy up",
}


def phase_minutes(
    challenge: Challenge,
    section: Section,
    levers: Mapping[str, Lever],
    settings: Mapping[str, Setting],
    *,
    order_paper: bool,
    set_aside: float = 0.0,
    keep: Collection[str] = (),
) -> dict[str, int | float] | None:
    """Minutes to plan, build and improve that fit the lessons, or None where even the least of each does not.

    Parameters: `settings`, every lever's value; its three minutes are the most that each gets. `keep`, levers among
    `WORK_SHARES` that the caller set: they stay as they are. `set_aside`: minutes kept free.

    What is left after fixed and test minutes is shared about 1 : 3 : 1, in whole minutes; ties go to building, then
    improving. Building never falls under the band's least, planning and improving under their shortest setting; a
    lesson with no improving is not given any.
    """
    top = {name: settings[name] for name in WORK_SHARES}
    least = {
        "plan_minutes": min(levers["plan_minutes"].settings),
        "build_minutes": challenge.minutes.build_at_least[section.band],
        "redesign_minutes": min(s for s in levers["redesign_minutes"].settings if s > 0),
    }
    now = {name: top[name] if name in keep else min(top[name], int(np.ceil(least[name]))) for name in WORK_SHARES}
    cols = Columns(levers, settings, [{}, now])
    paper = np.array([order_paper, order_paper])
    at_most, at_least = time_check(challenge, section, cols, paper, set_aside=set_aside).spare
    if at_most >= 0:
        return top
    # Where groups test when ready, longer building shortens the queue: measured at the least, the rest is safe.
    if at_least < 0:
        return None
    for _ in range(int(at_least)):
        open_ = [n for n in ("build_minutes", "redesign_minutes", "plan_minutes") if now[n] + 1 <= top[n]]
        if not open_:
            break
        now[min(open_, key=lambda n: now[n] / WORK_SHARES[n])] += 1
    return now


def phases(challenge: Challenge, section: Section, check: TimeCheck, i: int) -> list[Phase]:
    """The timetable of version `i`: phases in order, each with its lesson (1 is the first), start and length [min].

    Phases are kept whole where some way of sharing them over the lessons allows it, and a wet test is repeated in a
    later lesson where it can be; otherwise a phase goes on in the next lesson. What does not fit at all runs past the
    end of the last lesson.
    """
    clock, lessons = challenge.minutes, int(check.lessons[i])
    start, tidy = clock.introduce, clock.clear_up[section.band]
    room = [max(s.minutes - start - tidy, 0.0) for s in section.sessions[:lessons]]
    work = [
        ("try_out", check.extra[i]),
        ("plan", check.plan[i]),
        ("build", check.build[i]),
        ("test", check.first_round[i]),
        ("improve", check.redesign[i]),
        ("test_again", check.second_round[i]),
        ("talk", clock.discuss),
    ]
    work = [(name, float(minutes)) for name, minutes in work if minutes > 0]
    spare = max(float(check.spare[i]) + check.set_aside, 0.0)
    shared = _whole(work, room, dry_between=bool(check.wet_again[i])) or _split(work, room, waste=spare)
    out: list[Phase] = []
    for lesson, parts in enumerate(shared, start=1):
        at, begun = 0.0, {p.phase for p in out}
        for name, minutes in (("start", start), *parts, ("tidy", tidy)):
            if minutes <= 0:
                continue
            label = LABELS[name] + (", continued" if name in begun and name not in ("start", "tidy") else "")
            out.append(
                Phase(phase=name, label=label, lesson=lesson, start=round(at, 1), minutes=round(float(minutes), 1))
            )
            at += minutes
    return out


Part = tuple[str, float]


@dataclass(frozen=True)
class _Sharing:
    lessons: list[list[Part]]
    dries: bool
    fullest: float


def _whole(work: Sequence[Part], room: Sequence[float], *, dry_between: bool) -> list[list[Part]] | None:
    """Phases shared over the lessons with none split: dry in time first, then the fullest lesson least full."""
    best: _Sharing | None = None
    for cuts in combinations_with_replacement(range(len(work) + 1), len(room) - 1):
        edges = (0, *cuts, len(work))
        lessons = [list(work[a:b]) for a, b in pairwise(edges)]
        used = [sum(minutes for _, minutes in lesson) for lesson in lessons]
        if any(u > r + 1e-9 for u, r in zip(used, room, strict=True)):
            continue
        lesson_of = {name: k for k, lesson in enumerate(lessons) for name, _ in lesson}
        dries = not dry_between or lesson_of["test"] < lesson_of["test_again"]
        fullest = max(u - r for u, r in zip(used, room, strict=True))
        if best is None or (not dries, fullest) < (not best.dries, best.fullest):
            best = _Sharing(lessons, dries, fullest)
    return best.lessons if best else None


def _split(work: Sequence[Part], room: Sequence[float], *, waste: float) -> list[list[Part]]:
    """Phases one after another, cut at the end of a lesson; the last lesson takes the rest.

    The last few minutes of a lesson are left free rather than begin a phase, as far as there are minutes to `waste`.
    """
    lessons: list[list[Part]] = [[] for _ in room]
    k, left = 0, room[0]
    for name, minutes in work:
        while k < len(room) - 1 and minutes > left + 1e-9:
            if left >= WORTH_BEGINNING or (left >= 1 and left > waste):
                lessons[k].append((name, left))
                minutes -= left
            else:
                waste -= left
            k, left = k + 1, room[k + 1]
        lessons[k].append((name, minutes))
        left -= minutes
    return lessons
