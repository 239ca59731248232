"""A teacher's own lines on the sheets of a section: kept apart from the answers, so that a new one keeps them."""

from __future__ import annotations

from rungwright.domain.own_lines import Edits
from rungwright.store.entries import Entries
from rungwright.store.errors import Stale
from rungwright.store.sections import Sections
from rungwright.store.tables import OwnLinesRow


def stamp(row: OwnLinesRow | None) -> str:
    """Which lines these are: lines that were withdrawn and written anew are others, of whatever version."""
    return f"{row.id}.{row.version}" if row is not None else ""


class OwnLines(Entries[OwnLinesRow]):
    table, what = OwnLinesRow, "own lines"

    def of(self, section: str, challenge: str) -> dict[tuple[str, str], Edits]:
        """By sheet and language; empty where nothing was changed."""
        return {key: row.edits for key, row in self.rows(section, challenge).items()}

    def rows(self, section: str, challenge: str) -> dict[tuple[str, str], OwnLinesRow]:
        """As `of`, with their versions."""
        query = self.of_workspace().where(OwnLinesRow.section_id == section, OwnLinesRow.challenge == challenge)
        return {(row.sheet, row.language): row for row in self.session.scalars(query)}

    def put(
        self, section: str, challenge: str, sheet: str, language: str, edits: Edits, *, seen: str | None = None
    ) -> None:
        """In the place of those before; without a change nothing is kept.

        `seen`: the `stamp` of what was changed; None takes any. Raises NotThere, NotAllowed, Stale.
        """
        # The section is held, so that two who write the first lines of a sheet at once do not both find none.
        self.caller.must_write_in(Sections(self.session, self.caller).find(section, to_change=True).owner_id)
        query = self.of_workspace().where(
            OwnLinesRow.section_id == section,
            OwnLinesRow.challenge == challenge,
            OwnLinesRow.sheet == sheet,
            OwnLinesRow.language == language,
        )
        row = self.session.scalars(query.with_for_update()).one_or_none()
        if seen is not None and seen != stamp(row):
            raise Stale(self.what, row.id if row else section)
        if not edits.named:
            if row is not None:
                self.session.delete(row)
                self.log("withdrawn", row.id)
        elif row is None:
            self.made(version=1, section_id=section, challenge=challenge, sheet=sheet, language=language, edits=edits)
        else:
            row.edits = edits
            self.changed(row)
