"""Runs of a section. A correction keeps what stood there before."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from sqlalchemy import select

from rungwright.domain.keeping import RunDraft
from rungwright.domain.run import Run
from rungwright.domain.strict import Setting
from rungwright.store.entries import Entries, Slice
from rungwright.store.sections import Sections
from rungwright.store.tables import PastRunRow, RunRow
from rungwright.store.types import now

MOST_USED = 100
"""Runs that one recommendation reads: the newest ones."""


class Runs(Entries[RunRow]):
    table, what = RunRow, "run"

    def list(self, section: str, *, after: str | None, limit: int) -> Slice[RunRow]:
        """Those that were withdrawn too. Raises NotThere for the section."""
        Sections(self.session, self.caller).find(section)
        return self.page(self.of_workspace().where(RunRow.section_id == section), after, limit)

    def newest_first(self, section: str, limit: int) -> Sequence[RunRow]:
        """The last ones that were taught, those that were withdrawn too."""
        query = self.of_workspace().where(RunRow.section_id == section)
        return self.session.scalars(query.order_by(RunRow.taught_on.desc(), RunRow.id.desc()).limit(limit)).all()

    def newest(self, section: str) -> RunRow | None:
        """The last one that was taught and not withdrawn."""
        query = self.of_workspace().where(RunRow.section_id == section, RunRow.withdrawn.is_(False))
        return self.session.scalars(query.order_by(RunRow.taught_on.desc(), RunRow.id.desc()).limit(1)).one_or_none()

    def add(self, section: str, draft: RunDraft, settings: Mapping[str, Setting]) -> RunRow:
        """`settings`: all of that day, those not told as they were worked out. Raises NotThere, NotAllowed."""
        row = Sections(self.session, self.caller).find(section)
        self.caller.must_write_in(row.owner_id)
        return self.made(
            section_id=section,
            body=draft.run,
            settings=dict(settings),
            taught_on=draft.run.on,
            withdrawn=draft.withdrawn,
        )

    def change(
        self, id: str, versions: Collection[int] | None, draft: RunDraft, settings: Mapping[str, Setting]
    ) -> RunRow:
        """Raises NotThere, NotAllowed, Stale."""
        row = self.find_version(id, versions)
        self.caller.must_write_in(Sections(self.session, self.caller).find(row.section_id).owner_id)
        self.session.add(
            PastRunRow(
                run_id=row.id,
                version=row.version,
                workspace_id=row.workspace_id,
                body=row.body,
                settings=row.settings,
                withdrawn=row.withdrawn,
                replaced_at=now(),
            )
        )
        row.body, row.settings, row.taught_on = draft.run, dict(settings), draft.run.on
        row.withdrawn = draft.withdrawn
        return self.changed(row)

    def history(self, id: str) -> Sequence[PastRunRow]:
        """What stood there before, newest first. Raises NotThere."""
        self.find(id)
        return self.histories([id]).get(id, [])

    def histories(self, ids: Collection[str]) -> dict[str, list[PastRunRow]]:
        """As `history`, by run; one that was never changed is not in it."""
        query = select(PastRunRow).where(PastRunRow.run_id.in_(ids), PastRunRow.workspace_id == self.caller.workspace)
        found: dict[str, list[PastRunRow]] = {}
        for past in self.session.scalars(query.order_by(PastRunRow.version.desc())):
            found.setdefault(past.run_id, []).append(past)
        return found

    def evidence(self, sections: Sequence[str], challenge: str, also: Collection[str] = ()) -> list[Run]:
        """What these sections, the same students over the years, have done with a challenge, with every setting.

        `also`: other challenges whose runs are wanted; they say something of a section too.
        """
        query = self.of_workspace().where(RunRow.section_id.in_(sections), RunRow.withdrawn.is_(False))
        rows = [
            row
            for row in self.session.scalars(query.order_by(RunRow.taught_on.desc(), RunRow.id.desc()))
            if row.body.challenge == challenge or row.body.challenge in also
        ]
        return [row.body.model_copy(update={"settings": row.settings}) for row in reversed(rows[:MOST_USED])]
