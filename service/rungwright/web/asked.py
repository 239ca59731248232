"""What the address of an answer asks. All of it stands in the query: it can be gone back to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from urllib.parse import urlencode

from starlette.datastructures import QueryParams

from rungwright.api.problems import ProblemError, ProblemType
from rungwright.domain.ask import Ask, Direction, Include, RecommendationCall, Units
from rungwright.domain.keeping import Today
from rungwright.domain.lever import Lever, setting_key, tidy
from rungwright.domain.strict import Setting
from rungwright.rulebase import RuleBase

SHOWN = [Include.TIMETABLE, Include.KIT, Include.BRIEF]
MOST = 20
"""Levers that one address may name, of each sort."""
TODAY = ("present", "adults", "minutes")


@dataclass(frozen=True)
class Asked:
    """`left_out`: levers whose change was left out, in that order. `stay`: levers that stay as they are.

    `to`: lever -> the setting used instead of the proposed one. `today`: what is different this once.
    """

    challenge: str
    direction: Direction = Direction.FIT
    notches: int = 1
    left_out: tuple[str, ...] = ()
    stay: tuple[str, ...] = ()
    to: tuple[tuple[str, Setting], ...] = ()
    today: tuple[tuple[str, int], ...] = ()

    @classmethod
    def read(cls, query: QueryParams, base: RuleBase) -> Asked:
        """Raises ProblemError 400 for what no page asks."""
        try:
            challenge = _known(query.get("challenge") or next(iter(base.challenges)), base.challenges)
            # A lever that another challenge has stays behind when this one is chosen.
            here = {name for preset in base.challenges[challenge].presets.values() for name in preset}
            return cls(
                challenge=challenge,
                direction=Direction(query.get("ask", "fit")),
                notches=_whole(query.get("notches", "1"), 1, 3),
                left_out=tuple(n for n in _names(query, "left_out", base) if n in here),
                stay=tuple(n for n in _names(query, "stay", base) if n in here),
                to=tuple(s for s in (_setting(t, base.levers) for t in query.getlist("to")[:MOST]) if s[0] in here),
                today=tuple((name, _whole(query[name], 1, 240)) for name in TODAY if query.get(name)),
            )
        except ValueError as error:
            raise ProblemError(ProblemType.BAD_REQUEST, f"This address cannot be answered: {error}.") from None

    def query(self, **changes: object) -> str:
        """The query of this, or of this with something changed."""
        asked = replace(self, **changes)
        pairs = [("ask", asked.direction.value), ("challenge", asked.challenge)]
        pairs += [("notches", str(asked.notches))] if asked.notches != 1 else []
        pairs += [(name, lever) for name in ("left_out", "stay") for lever in getattr(asked, name)]
        pairs += [("to", f"{lever}:{setting_key(value)}") for lever, value in asked.to]
        pairs += [(name, str(value)) for name, value in asked.today]
        return urlencode(pairs, safe=":")

    def without(self, lever: str) -> str:
        """This with the change of a lever left out."""
        return self.query(left_out=(*self.left_out, lever), to=self._to_but(lever))

    def staying(self, lever: str) -> str:
        return self.query(stay=(*self.stay, lever), to=self._to_but(lever))

    def back(self, lever: str) -> str:
        """This with a lever free again."""
        return self.query(
            left_out=tuple(name for name in self.left_out if name != lever),
            stay=tuple(name for name in self.stay if name != lever),
        )

    def set_to(self, lever: str, value: Setting | None) -> str:
        """This with another setting of a lever than the proposed one; None goes back to the proposed one."""
        return self.query(to=self._to_but(lever) + (((lever, value),) if value is not None else ()))

    def _to_but(self, lever: str) -> tuple[tuple[str, Setting], ...]:
        return tuple((name, value) for name, value in self.to if name != lever)

    def call(self, section: str) -> RecommendationCall:
        """Raises ValidationError for numbers of today that no lesson has."""
        return RecommendationCall(
            challenge=self.challenge,
            section_id=section,
            today=Today(**dict(self.today)) if self.today else None,
            ask=Ask(
                direction=self.direction,
                notches=self.notches,
                declined=list(dict.fromkeys(self.left_out)),
                pinned=list(dict.fromkeys(self.stay)),
            ),
            include=SHOWN,
            units=Units.BOTH,
        )


def _names(query: QueryParams, field: str, base: RuleBase) -> list[str]:
    return [_known(name, base.levers) for name in query.getlist(field)[:MOST]]


def _known(name: str, known: Mapping[str, object]) -> str:
    if name not in known:
        raise ValueError(f"there is no {name[:60]!r}")
    return name


def _whole(text: str, low: int, high: int) -> int:
    if not (text.isascii() and text.isdigit() and low <= int(text[:6]) <= high):
        raise ValueError(f"{text[:20]!r} is no whole number from {low} to {high}")
    return int(text)


def _setting(text: str, levers: Mapping[str, Lever]) -> tuple[str, Setting]:
    name, _, said = text.partition(":")
    lever = levers[_known(name, levers)]
    if lever.type == "number":
        value: Setting = tidy(float(said))
    else:
        value = next((s for s in lever.settings if setting_key(s) == said), said)
    if not lever.accepts(value):
        raise ValueError(f"{said[:40]!r} is no setting of {lever.label}")
    return name, value
