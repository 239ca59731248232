"""The names and types that a schema may declare."""

from __future__ import annotations

import re
from itertools import pairwise

from rungwright.engine.errors import RuleError
from rungwright.engine.form import Schema, type_names

MAX_PROPERTIES = 250
"""Properties a kind. A fact of durable-rules holds fewer than 255, three of them its own."""

reserved = frozenset({"id", "kind", "sid"})
_kind_name = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
_prop_name = re.compile(r"[A-Za-z_][A-Za-z0-9_.]*")


def check_schema(schema: Schema) -> None:
    """Refuse names and types that an engine could misread.

    Raises:
        RuleError: a name, a type or a number of properties that is not allowed.
    """
    names: set[str] = set()
    for kind, props in schema.items():
        if not _kind_name.fullmatch(kind):
            raise RuleError(f"kind {kind!r}: a name is letters, digits and _ and starts with no digit")
        if len(props) > MAX_PROPERTIES:
            raise RuleError(f"kind {kind}: {len(props)} properties, at most {MAX_PROPERTIES} are allowed")
        for prop, type_ in props.items():
            if prop in reserved or not _prop_name.fullmatch(prop):
                raise RuleError(
                    f"kind {kind}, property {prop!r}: a name is letters, digits, _ and . and starts with a letter "
                    f"or _; {', '.join(sorted(reserved))} are reserved"
                )
            if type_ not in type_names:
                raise RuleError(f"kind {kind}, property {prop}: type {type_!r} is not one of {list(type_names)}")
        names.update(props)
    _check_hashes(names)


def _check_hashes(names: set[str]) -> None:
    """Durable-rules knows a property by a 32-bit FNV-1a hash of its name and would take two alike for one."""
    hashed = sorted((_fnv1a(name), name) for name in names | reserved)
    for (one, first), (other, second) in pairwise(hashed):
        if one == other:
            raise RuleError(f"properties {first} and {second} cannot be told apart by an engine: rename one")


def _fnv1a(name: str) -> int:
    code = 2166136261
    for byte in name.encode():
        code = (code ^ byte) * 16777619 & 0xFFFFFFFF
    return code
