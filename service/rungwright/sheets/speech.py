"""What a language says in a band about the settings of one answer."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from rungwright.domain.grades import Band
from rungwright.domain.lever import Lever, setting_key
from rungwright.domain.recommendation import KitItem, Recommendation
from rungwright.domain.strict import Setting
from rungwright.domain.units import Units, area_cm2, length_cm, length_mm, mass
from rungwright.rulebase import RuleBase
from rungwright.rulebase.sheet_words import ChallengeWords, CommonWords, Layout, Noun, Said, Story, by_band

_SLOT = re.compile(r"\{([a-z][a-z0-9_]*)\}")
NO_BREAK = "\u00a0"
_STROKES = {"rain_strokes": "strokes"}
_METRES_FROM_CM = 200.0  # longer is told in metres
_COVER_SIDE_CM = 30.0  # covers are told as pieces this wide, which a hand can cut


@dataclass(frozen=True)
class Speech:
    """`story` counts from 0: which of the challenge's stories is told."""

    answer: Recommendation
    base: RuleBase
    language: str
    units: Units
    story: int = 0

    @cached_property
    def band(self) -> Band:
        return Band(self.answer.section.band)

    @cached_property
    def common(self) -> CommonWords:
        return self.base.words[self.language].common

    @cached_property
    def challenge(self) -> ChallengeWords:
        return self.base.words[self.language].challenges[self.answer.challenge.id]

    @cached_property
    def layout(self) -> Layout:
        return self.base.layouts[self.answer.challenge.id]

    @cached_property
    def settings(self) -> Mapping[str, Setting]:
        return self.answer.after.settings

    @property
    def told(self) -> Story:
        return self.challenge.stories[self.story]

    @property
    def again(self) -> bool:
        """Whether builds are improved and tested a second time; where not, labels ending in `_once` are used."""
        return bool(self.settings.get("redesign_minutes"))

    def label(self, name: str, **slots: object) -> str | None:
        """A standing line; None where the band has none."""
        text = by_band(getattr(self.common.labels, name), self.band)
        return text.format(**slots) if text is not None and slots else text

    def text(self, texts: Mapping[Band, str | None] | None, n: Setting | None = None) -> str | None:
        """A text of the challenge in this band, its slots filled in."""
        found = by_band(texts, self.band) if texts else None
        return self.filled(found, n) if found else None

    def test(self, test_id: str) -> str:
        """What a test is called."""
        return self.text(self.challenge.tests[test_id].name) or test_id

    def filled(self, text: str, n: Setting | None = None) -> str:
        def put(match: re.Match[str]) -> str:
            slot = match[1]
            if slot == "n":
                return _number(n)
            if slot in ("figure", "figures"):
                return getattr(self.told, slot)
            if slot.endswith("_n") and slot not in self.settings:
                return _number(self.settings[slot.removesuffix("_n")])
            return self.setting(slot)

        return _SLOT.sub(put, text)

    def setting(self, lever_id: str) -> str:
        """The quantity of a number lever: `370 g (13 oz)`, `10 seconds`, `3`."""
        lever, value = self.base.levers[lever_id], self.settings[lever_id]
        if lever.quantity in ("minutes", "seconds"):
            return f"{_number(value)} {_form(getattr(self.common.units, lever.quantity), value)}"
        if lever_id in _STROKES:
            return f"{_number(value)} {_form(getattr(self.common.units, _STROKES[lever_id]), value)}"
        return self.quantity(float(value), lever.quantity or "count")

    def quantity(self, value: float, kind: str) -> str:
        say = {"mass_g": mass, "length_cm": length_cm, "length_mm": length_mm, "area_cm2": area_cm2}.get(kind)
        if say is None:
            return _number(value)
        said = say(value, self.units).replace(" sq in", f" sq {self.common.units.inch}")
        said = said.replace(" in", f" {self.common.units.inch}").replace(" oz", f" {self.common.units.ounce}")
        # A number and its unit stay on one line; before a bracket a line may end.
        return said.replace(" ", NO_BREAK).replace(f"{NO_BREAK}(", " (")

    def size(self, wide: float, long: float) -> str:
        """Two sides in centimetres: `30 × 15 cm (11¾ × 6 in)`."""
        # Both sides have the same unit, so it is said once, after the second.
        said = [length_cm(side, units).split(" ") for units in ("metric", "us") for side in (wide, long)]
        metric, inches = (f"{a[0]} × {b[0]} {b[1]}" for a, b in (said[:2], said[2:]))
        inches = inches.replace("in", self.common.units.inch)
        both = {"metric": metric, "us": inches, "both": f"{metric} ({inches})"}[self.units]
        return both.replace(" ", NO_BREAK).replace(f"{NO_BREAK}(", " (")

    def cover(self, area: float) -> str:
        """A cover of `area` [cm2] as two sides that a hand can cut."""
        wide = _COVER_SIDE_CM if area >= _COVER_SIDE_CM**2 / 2 else _COVER_SIDE_CM / 2
        return self.size(wide, area / wide)

    def lever(self, lever_id: str) -> str | None:
        """What a sheet says about the setting of a lever; None where there is nothing to say."""
        lever: Lever = self.base.levers[lever_id]
        value = self.settings[lever_id]
        said = self.challenge.levers[lever_id]
        if lever.type != "number":
            return self.text(said[setting_key(value)])
        form = "none" if value == 0 else "one" if value == 1 else "many"
        return self.text(said.get(form) or said["many"], value)

    def levers(self, listed: Iterable[Said]) -> list[tuple[str, str]]:
        """Lever and sentence, of those that have something to say here."""
        found = []
        for said in listed:
            if said.lever in self.settings and (said.where is None or self.settings.get(said.where)):
                text = self.lever(said.lever)
                if text:
                    found.append((said.lever, text))
        return found

    def listed(self, words: Iterable[str], *, either: bool = False) -> str:
        """`a, b and c`; with `either`, `a, b or c`."""
        words = list(words)
        joined = self.common.joined
        last = joined.either if either else joined.last
        return words[0] if len(words) == 1 else joined.comma.join(words[:-1]) + last + words[-1]

    def material(self, material_id: str, n: float = 2) -> str:
        return _form(self.common.materials[material_id], n)

    def kit_noun(self, item: KitItem, n: float) -> str:
        """What a line of the kit is called; the line's own name where nothing was chosen for it."""
        if item.material is not None:
            return self.material(item.material, n)
        return _form(self.challenge.kit[item.lever], n)

    def amount(self, item: KitItem, n: float) -> str:
        """`12 craft sticks`, `30 by 30 cm of foil`, `80 cm of paper tape`."""
        units, noun = self.common.units, self.kit_noun(item, n)
        if item.unit == "piece":
            return f"{_number(n)} {noun}"
        if item.unit == "sheet":
            return _form(units.sheets, n).format(n=_number(n), what=noun)
        if item.unit == "cm2":
            return units.sized.format(size=self.cover(n), what=noun)
        said = self.quantity(n, {"cm": "length_cm", "g": "mass_g"}[item.unit])
        return units.amount.format(n=said, what=noun)

    def measure(self, item: KitItem, n: float) -> str:
        """An amount in the measure of a kit line, without its name: `108`, `54 sheets`, `9 m (30 ft)`, `30 × 15 cm`."""
        if item.unit == "piece":
            return _number(n)
        if item.unit == "sheet":
            return f"{_number(n)} sheet{'' if n == 1 else 's'}"
        if item.unit == "cm" and n >= _METRES_FROM_CM:
            metres, feet = f"{_number(n / 100)} m", f"{math.ceil(n / 30.48)} ft"
            return {"metric": metres, "us": feet, "both": f"{metres} ({feet})"}[self.units].replace(" ", NO_BREAK, 1)
        if item.unit == "cm2":
            return self.cover(n)
        return self.quantity(n, {"cm": "length_cm", "g": "mass_g"}[item.unit])


def _form(noun: Noun, n: Setting) -> str:
    return noun[0] if n == 1 else noun[1]


def _number(value: Setting | None) -> str:
    """Whole where it is; upwards to one decimal otherwise, so that nobody gets too little."""
    number = float(value)
    return str(int(number)) if number.is_integer() else f"{math.ceil(number * 10) / 10:g}"
