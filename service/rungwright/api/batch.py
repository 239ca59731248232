"""A batch: many requests in, one line out for each, in order; one that is wrong does not stop the others."""

from __future__ import annotations

import logging
from collections.abc import Iterator, Sequence
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from rungwright.api.answering import Complete, answered, told_here
from rungwright.api.body import parsed
from rungwright.api.problems import Problem, ProblemError, ProblemType, internal, problem
from rungwright.domain.recommendation import Recommendation
from rungwright.rulebase import CompiledRules

MOST = 1000
"""Requests in one batch."""

PATH = "/v1/recommendations/batch"

log = logging.getLogger("rungwright.api")

Index = Annotated[int, Field(ge=0, description="place of the request in the batch, from 0")]


class _Line(BaseModel):
    model_config = ConfigDict(extra="forbid")


class AnsweredLine(_Line):
    """A request that was answered."""

    index: Index
    recommendation: Recommendation


class ProblemLine(_Line):
    """A request that could not be answered; pointers of the problem start at that request."""

    index: Index
    problem: Problem


def requests_of(raw: bytes, *, lines: bool) -> Sequence[Any]:
    """The requests of a batch: of NDJSON the lines as bytes (each is read when its turn comes), of JSON the values.

    Raises ProblemError: 400 malformed JSON, 413 too many, 422 not a list.
    """
    if lines:
        items: list[Any] = [line for line in raw.split(b"\n") if line.strip()]
        if not items:
            raise ProblemError(ProblemType.MALFORMED_JSON, "The body is empty.")
    else:
        items = parsed(raw)
        if not isinstance(items, list):
            raise ProblemError(ProblemType.INVALID_REQUEST, "Send a list of requests, or NDJSON with one on each line.")
    if len(items) > MOST:
        raise ProblemError(ProblemType.TOO_LARGE, f"A batch may have {MOST} requests at most; this has {len(items)}.")
    return items


def answers(items: Sequence[Any], rules: CompiledRules, complete: Complete = told_here) -> Iterator[str]:
    """One line of NDJSON for each request, in order."""
    for index, item in enumerate(items):
        try:
            data = parsed(item) if isinstance(item, bytes) else item
            yield f'{{"index":{index},"recommendation":{answered(data, rules, complete)}}}\n'
        except ProblemError as error:
            yield ProblemLine(index=index, problem=problem(error, PATH)).model_dump_json() + "\n"
        except Exception:
            # The answer has begun, so its status cannot change any more: the line says it, the log keeps the details.
            log.exception("request %d of a batch failed", index)
            yield ProblemLine(index=index, problem=problem(internal(), PATH)).model_dump_json() + "\n"
