"""Kept answers, which never change, and what was decided about their proposals."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import ClassVar

from sqlalchemy import Select

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.keeping import Choice, DecisionDraft
from rungwright.domain.recommendation import Explanation, Recommendation
from rungwright.domain.strict import Setting
from rungwright.store.callers import LOCAL
from rungwright.store.entries import Entries, Slice
from rungwright.store.errors import NotThere
from rungwright.store.tables import AnswerRow, DecisionRow
from rungwright.store.types import now

EVERYONE = ""


class Answers(Entries[AnswerRow]):
    table, what = AnswerRow, "recommendation"
    order: ClassVar[str] = "place"

    @property
    def me(self) -> str:
        return self.caller.key or LOCAL

    def of_workspace(self) -> Select[tuple[AnswerRow]]:
        """Those that this caller may read."""
        return super().of_workspace().where(AnswerRow.reader.in_([EVERYONE, self.me]))

    def list(self, *, section: str | None, after: str | None, limit: int) -> Slice[AnswerRow]:
        query = self.of_workspace()
        if section is not None:
            query = query.where(AnswerRow.section_id == section)
        return self.page(query, after, limit)

    def readable(self, id: str | None) -> bool:
        """Whether there is such an answer for this caller."""
        return (
            id is not None and self.session.scalars(self.of_workspace().where(AnswerRow.id == id)).first() is not None
        )

    def kept(self, request: RecommendationRequest, id: str) -> AnswerRow | None:
        """The answer to just this request, where it was kept before."""
        query = super().of_workspace().where(AnswerRow.id == id, AnswerRow.reader == self._reader(request))
        return self.session.scalars(query).one_or_none()

    def _reader(self, request: RecommendationRequest) -> str:
        """An answer worked out with needs may be read by who asked alone."""
        return self.me if any((request.section.supports or {}).values()) else EVERYONE

    def newest(self, section: str) -> AnswerRow | None:
        """The last one that was kept of a section."""
        query = self.of_workspace().where(AnswerRow.section_id == section)
        return self.session.scalars(query.order_by(AnswerRow.place.desc()).limit(1)).one_or_none()

    def keep(
        self,
        request: RecommendationRequest,
        answer: Recommendation,
        explanation: Explanation,
        *,
        section: str | None,
    ) -> tuple[AnswerRow, bool]:
        """The kept answer, and whether it is new: one that is there already stays as it is."""
        if (there := self.kept(request, answer.id)) is not None:
            return there, False
        row = AnswerRow(
            place=self.next_id(),
            workspace_id=self.caller.workspace,
            id=answer.id,
            reader=self._reader(request),
            section_id=section,
            request=request,
            answer=answer.model_dump_json(by_alias=True),
            explanation=explanation.model_dump_json(by_alias=True),
            created_at=answer.created_at,
        )
        self.session.add(row)
        self.session.flush()
        self.log("kept", row.id)
        return row, True


@dataclass(frozen=True)
class RuleDecisions:
    """What was decided about the proposals of one rule, the last decision about each."""

    rule: str
    counts: Counter[str]
    reasons: Counter[str]


class Decisions(Entries[DecisionRow]):
    table, what = DecisionRow, "decision"

    def list(self, answer: str) -> Sequence[DecisionRow]:
        """All of one answer, oldest first. Raises NotThere."""
        row = Answers(self.session, self.caller).find(answer)
        query = self.of_workspace().where(DecisionRow.place == row.place)
        return self.session.scalars(query.order_by(DecisionRow.id)).all()

    def add(self, answer: AnswerRow, proposal: Proposed, draft: DecisionDraft) -> tuple[DecisionRow, bool]:
        """The decision, and whether it is new: the same one again, with no other in between, adds nothing."""
        self.caller.must_write()
        query = self.of_workspace().where(DecisionRow.place == answer.place, DecisionRow.proposal == proposal.id)
        last = self.session.scalars(query.order_by(DecisionRow.id.desc()).limit(1)).one_or_none()
        said = (draft.choice.value, draft.value, draft.reason, draft.note)
        if last is not None and (last.choice, last.value, last.reason, last.note) == said:
            return last, False
        row = DecisionRow(
            id=self.next_id(),
            workspace_id=self.caller.workspace,
            place=answer.place,
            proposal=proposal.id,
            lever=proposal.lever,
            rule=proposal.rule,
            choice=draft.choice.value,
            value=draft.value,
            reason=draft.reason,
            note=draft.note,
            decided_at=now(),
        )
        self.session.add(row)
        self.session.flush()
        self.log("decided", row.id)
        return row, True

    def by_rule(self, *, but: Collection[str]) -> list[RuleDecisions]:
        """Pooled over the workspace, most declined first. `but`: rules that would tell of needs."""
        last = {
            (row.place, row.proposal): row for row in self.session.scalars(self.of_workspace().order_by(DecisionRow.id))
        }
        found: dict[str, RuleDecisions] = {}
        for row in last.values():
            if row.rule not in but:
                pooled = found.setdefault(row.rule, RuleDecisions(row.rule, Counter(), Counter()))
                pooled.counts[row.choice] += 1
                if row.reason:
                    pooled.reasons[row.reason] += 1
        return sorted(found.values(), key=lambda r: (-r.counts[Choice.DECLINED], r.rule))


@dataclass(frozen=True)
class Proposed:
    """What a decision has to know of a proposal."""

    id: str
    lever: str
    rule: str
    to: Setting
    reasons: tuple[str, ...]


def proposal_of(row: AnswerRow, id: str) -> Proposed:
    """Raises NotThere.

    An answer is read as the data it is, not as the model of today: an old one stays readable when the model grows.
    """
    for said in json.loads(row.answer)["proposals"]:
        if said["id"] == id:
            reasons = tuple(reason["code"] for reason in said["decline_reasons"])
            return Proposed(id, said["lever"], said["rule"]["id"], said["to"], reasons)
    raise NotThere("proposal", id)
