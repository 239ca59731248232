"""What is kept between lessons: sections, cupboards, lessons, runs, answers, decisions, ladders, keys.

`Store` gives transactions, `prepare` brings its tables up to date. All queries stand in the repositories: `Sections`,
`Cupboards`, `Lessons`, `Runs`, `Answers`, `Decisions`, `Ladders`, `OwnLines`, each for one caller, and `keys`.
"""

from rungwright.store.answers import Answers, Decisions
from rungwright.store.callers import LOCAL, ONE_PERSON, Caller
from rungwright.store.cupboards import Cupboards
from rungwright.store.database import Store
from rungwright.store.errors import NotAllowed, NotThere, Stale, StoreError, StoreUnavailable, WrongVersion
from rungwright.store.ladders import Ladders
from rungwright.store.lessons import Lessons
from rungwright.store.own_lines import OwnLines
from rungwright.store.runs import Runs
from rungwright.store.sections import Sections
from rungwright.store.upgrade import prepare

__all__ = [
    "LOCAL",
    "ONE_PERSON",
    "Answers",
    "Caller",
    "Cupboards",
    "Decisions",
    "Ladders",
    "Lessons",
    "NotAllowed",
    "NotThere",
    "OwnLines",
    "Runs",
    "Sections",
    "Stale",
    "Store",
    "StoreError",
    "StoreUnavailable",
    "WrongVersion",
    "prepare",
]
