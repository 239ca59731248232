"""One answer to be printed, and how it is wanted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from rungwright.domain.recommendation import Recommendation
from rungwright.domain.units import Units
from rungwright.rulebase import RuleBase
from rungwright.rulebase.problems import nearest
from rungwright.rulebase.sheet_words import RULES_LANGUAGE
from rungwright.sheets.bands import LARGE_TEACHER_POINTS, TEACHER_POINTS
from rungwright.sheets.edits import Edits
from rungwright.sheets.paper import PAPERS, Paper, PaperName
from rungwright.sheets.speech import Speech


class NotPrintable(ValueError):
    """The answer cannot be printed so. `field` names what is wrong: challenge, language or story."""

    def __init__(self, field: str, message: str):
        super().__init__(message)
        self.field = field


@dataclass(frozen=True)
class Wanted:
    """How sheets are wanted. Two `languages` stand side by side; `story` counts from 1; the letter says `needed_by`."""

    paper: PaperName = PaperName.LETTER
    large: bool = False
    languages: tuple[str, ...] = (RULES_LANGUAGE,)
    story: int = 1
    needed_by: date | None = None
    edits: Mapping[tuple[str, str], Edits] = field(default_factory=dict)
    """a teacher's own lines by sheet and language"""

    @property
    def size(self) -> Paper:
        return PAPERS[self.paper]


@dataclass(frozen=True)
class Lesson:
    """An answer with its timetable, kit and brief. Raises NotPrintable where words for it are missing."""

    answer: Recommendation
    base: RuleBase
    units: Units
    wanted: Wanted

    def __post_init__(self) -> None:
        answer, base = self.answer, self.base
        if answer.timetable is None or answer.kit is None or answer.brief is None:
            raise ValueError("a lesson is printed from an answer that includes its timetable, kit and brief")
        if not 1 <= len(set(self.wanted.languages)) == len(self.wanted.languages) <= 2:
            raise NotPrintable("language", "give one language, or two different ones to stand side by side")
        for language in self.wanted.languages:
            if language not in base.words:
                raise NotPrintable("language", f"there is no language {language!r}{nearest(language, base.words)}")
            self._check_words(language)

    def _check_words(self, language: str) -> None:
        challenge = self.answer.challenge.id
        spoken = self.base.words[language].challenges.get(challenge)
        if spoken is None:
            known = nearest(challenge, self.base.words[language].challenges)
            raise NotPrintable("challenge", f"there are no words to print {challenge!r} with{known}")
        for line in self.answer.brief.criteria:
            if line.criterion not in spoken.criteria:
                known = nearest(line.criterion, spoken.criteria)
                raise NotPrintable("challenge", f"there are no words to print the criterion {line.criterion!r}{known}")
        if not 1 <= self.wanted.story <= len(spoken.stories):
            raise NotPrintable("story", f"there are the stories 1 to {len(spoken.stories)}")

    def speech(self, language: str) -> Speech:
        return Speech(self.answer, self.base, language, self.units, self.wanted.story - 1)

    @cached_property
    def speeches(self) -> list[Speech]:
        return [self.speech(language) for language in self.wanted.languages]

    @cached_property
    def english(self) -> Speech:
        """The teacher's own pages are in the language of the rules."""
        return self.speech(RULES_LANGUAGE)

    def teacher_points(self, *, large: bool) -> float:
        return LARGE_TEACHER_POINTS if large else TEACHER_POINTS
