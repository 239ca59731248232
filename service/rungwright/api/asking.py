"""What a call means where sections are kept, its section, cupboard and runs; and keeping the answer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from rungwright.api.answering import answer_to, told_here
from rungwright.api.keeping import Keeper, found_or_made, named_in
from rungwright.api.problems import invalid
from rungwright.api.runs import without_access
from rungwright.api.sections import section_now
from rungwright.domain.ask import Include, RecommendationCall, RecommendationRequest
from rungwright.domain.recommendation import Explanation, Recommendation
from rungwright.recommend.problem import FieldProblem
from rungwright.rulebase import CompiledRules
from rungwright.store import Answers, Caller, Lessons, Runs, Sections
from rungwright.store.tables import AnswerRow


def complete(
    call: RecommendationCall,
    keeper: Keeper,
    caller: Caller,
    rules: CompiledRules,
    *,
    needs: bool = True,
    in_place_of: date | None = None,
) -> RecommendationRequest:
    """Needs are used where `needs` says so and the caller owns the section.

    `in_place_of`: the answer is to replace the plans of the section that wait up to this day, so that their kit is
    free for it. Raises ProblemError 422, 503.
    """
    if call.section_id is None:
        return told_here(call.model_copy(update={"keep": None}))
    with keeper.open().reading() as session, named_in("/section_id", "section"):
        sections = Sections(session, caller)
        row = sections.find(call.section_id)
        replaced = Lessons(session, caller).waiting(row.id, in_place_of) if in_place_of else ()
        section = section_now(session, caller, row, rules.base, needs=needs, without=[lesson.id for lesson in replaced])
        runs = call.runs
        if runs is None:
            name = call.challenge if isinstance(call.challenge, str) else call.challenge.id
            found = Runs(session, caller).evidence(sections.years(row), name, rules.base.challenges)
            # Access settings change no share; in the kept request they would tell others of needs.
            runs = [without_access(run, rules.base) for run in found]
    return call.complete(call.today.changed(section) if call.today else section, runs)


def complete_for_batch(
    call: RecommendationCall, keeper: Keeper, caller: Caller, rules: CompiledRules
) -> RecommendationRequest:
    """As in `complete`, without needs, and nothing can be kept. Raises ProblemError 422, 503."""
    if call.keep:
        raise invalid([FieldProblem("/keep", "answers of a batch are not kept; ask for this section alone")])
    return complete(call, keeper, caller, rules, needs=False)


@dataclass(frozen=True)
class ToKeep:
    """An answer that is worked out and not kept yet; `explanation` None where it was kept before."""

    request: RecommendationRequest
    answer: Recommendation
    explanation: Explanation | None

    def put(self, session: Session, caller: Caller, *, section: str | None) -> tuple[AnswerRow, bool]:
        """The kept answer, and whether it is new. Raises NotThere for one that was forgotten meanwhile."""
        answers = Answers(session, caller)
        if self.explanation is None:
            return answers.find(self.answer.id), False
        return answers.keep(self.request, self.answer, self.explanation, section=section)


def to_keep(request: RecommendationRequest, keeper: Keeper, caller: Caller, rules: CompiledRules) -> ToKeep:
    """Before the transaction that keeps it, so that nobody waits for the work. Raises ProblemError 422, 503."""
    answer = answer_to(request, rules)
    with keeper.open().reading() as session:
        if Answers(session, caller).kept(request, answer.id) is not None:
            return ToKeep(request, answer, None)
    explained = answer.explanation
    if explained is None:
        wanted = [*request.include, Include.EXPLANATION]
        explained = answer_to(request.model_copy(update={"include": wanted}), rules).explanation
    return ToKeep(request, answer, explained)


def keep(
    request: RecommendationRequest, keeper: Keeper, caller: Caller, rules: CompiledRules, *, section: str | None
) -> tuple[str, str, bool]:
    """Id and JSON of the kept answer, and whether it is new. Raises ProblemError 422, 503."""
    held = to_keep(request, keeper, caller, rules)

    def done() -> tuple[str, str, bool]:
        with keeper.open().writing() as session:
            row, new = held.put(session, caller, section=section)
            return row.id, row.answer, new

    return found_or_made(done)
