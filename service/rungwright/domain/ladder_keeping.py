"""What is sent about ladders that are kept: drafts, edits, merges, forks, and where sections stand."""

from typing import Annotated, Literal

from pydantic import Field

from rungwright.domain.keeping import KeptId
from rungwright.domain.ladder import Ladder, Name
from rungwright.domain.ladder_request import Edit, Met
from rungwright.domain.strict import Day, Id, Strict

Standing = Literal["kept", "sent"]


class LadderDraft(Strict):
    """A ladder as it is sent: the whole document, which is also the file that coaches share."""

    ladder: Ladder
    archived: bool = Field(default=False, description="no longer used: kept, but left out of lists")


class LadderEdits(Strict):
    """Edits of the version that `If-Match` names, made in order or not at all."""

    edits: list[Edit] = Field(min_length=1, max_length=50)


class LadderMergeDraft(Strict):
    """Somebody's edit of an older version, put together with what is kept now.

    `choices`: for what both changed in different ways, the conflict's `at` -> whose value stands.
    """

    from_version: int = Field(ge=1, description="the version that the edit was made in")
    ladder: Ladder
    choices: dict[Annotated[str, Field(max_length=200)], Standing] = Field(default={}, max_length=2000)


class LadderForkDraft(Strict):
    """A ladder of one's own that starts as this one."""

    name: Name
    published: int | None = Field(default=None, ge=1, description="the published version; none: as it is now")


class RungPlaceDraft(Strict):
    """Where a section stands on a ladder. With nothing but the section, it stands nowhere."""

    section_id: KeptId
    now_on: Id | None = Field(default=None, description="the rung it does now; none: the one that suits it")
    week: Day | None = Field(default=None, description="a day of the week it is taught in")
    met: Met | None = Field(default=None, description="an earlier year; omitted, what its own runs tell")
