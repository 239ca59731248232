"""Values as every engine compares them, and facts read into that form.

A number is compared in whole ten-thousandths, so it is rounded to four decimals once and all engines see the
same integer: no decimal text, exponent or locale reaches them. A word is compared as it is, a yes_no as a boolean.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from rungwright.engine.errors import FactError
from rungwright.engine.form import Fact, Schema, Type

DECIMALS = 4
SCALE = 10**DECIMALS
MAX_NUMBER = 10**11
"""Numbers lie strictly between -MAX_NUMBER and MAX_NUMBER: scaled, they stay exact as a double and as 64 bits."""
MAX_WORD = 400
"""Characters in a word."""

Comparable = int | str | bool


def _number(value: object) -> int:
    if type(value) is int and -MAX_NUMBER < value < MAX_NUMBER:
        return value * SCALE
    if type(value) is float and -MAX_NUMBER < value < MAX_NUMBER:  # false for NaN
        return round(round(value, DECIMALS) * SCALE)
    raise ValueError(f"a number must be a finite int or float of size under {MAX_NUMBER:,}")


def _word(value: object) -> str:
    if type(value) is str and len(value) <= MAX_WORD:
        if value.isascii():
            return value
        try:
            value.encode()
        except UnicodeEncodeError:
            raise ValueError("a word must not hold half of a surrogate pair") from None
        return value
    raise ValueError(f"a word must be a str of at most {MAX_WORD} characters")


def _yes_no(value: object) -> bool:
    if type(value) is bool:
        return value
    raise ValueError("a yes_no must be True or False")


_readers: Mapping[Type, Callable[[object], Comparable]] = {"number": _number, "word": _word, "yes_no": _yes_no}


def comparable(value: object, type_: Type) -> Comparable:
    """The form in which `value` is compared. Types are exact: a bool is no number, a numpy scalar no float.

    Raises:
        ValueError: the value is not a usable `type_`; the message says what one is.
    """
    return _readers[type_](value)


@dataclass(slots=True)
class Known:
    """A fact and the comparable values of the properties that rules use. A missing property has no entry."""

    kind: str
    fact: Fact
    values: dict[str, Comparable]
    texts: dict[str, str] = field(default_factory=dict)
    """Room for an adapter to keep what it has written of each property."""


_Key = tuple[str, frozenset[tuple[str, Comparable]]]


class FactReader:
    """Reads facts of a schema. Of their values it keeps those that are used: kind -> properties."""

    def __init__(self, schema: Schema, used: Mapping[str, Sequence[str]]) -> None:
        self._kinds = {
            kind: (
                {prop: _readers[type_] for prop, type_ in props.items()},
                frozenset(props) - frozenset(used.get(kind, ())),
            )
            for kind, props in schema.items()
        }

    def read(self, fact: Fact) -> tuple[_Key, Known]:
        """The fact, and a key that is the same for equal facts. Undeclared properties are ignored.

        Raises:
            FactError: not a mapping, an undeclared kind, or a value that is not of its declared type.
        """
        kind = fact.get("kind") if isinstance(fact, Mapping) else None
        if type(kind) is not str or kind not in self._kinds:
            raise FactError(f"{fact!r:.120}: a fact is a mapping whose kind is one of {sorted(self._kinds)}")
        readers, unused = self._kinds[kind]
        values = {}
        try:
            for prop, value in fact.items():
                if value is not None and prop in readers:
                    values[prop] = readers[prop](value)
        except ValueError as error:
            raise FactError(f"fact {kind}, {prop} = {value!r:.80} ({type(value).__name__}): {error}") from None
        key = (kind, frozenset(values.items()))
        for prop in unused & values.keys():
            del values[prop]
        return key, Known(kind, fact, values)


class KnownFacts:
    """A set of facts in the order in which they came. Two facts that agree in every declared property are one."""

    def __init__(self, reader: FactReader, facts: Iterable[Fact]) -> None:
        self._reader = reader
        self._keys: set[_Key] = set()
        self.facts: list[Known] = []
        for fact in facts:
            self.add(fact)

    def add(self, fact: Fact) -> bool:
        """Take the fact in; False if it was known.

        Raises:
            FactError: as `FactReader.read`.
        """
        key, known = self._reader.read(fact)
        if key in self._keys:
            return False
        self._keys.add(key)
        self.facts.append(known)
        return True
