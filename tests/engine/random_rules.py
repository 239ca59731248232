"""Random rule bases and facts within what the neutral form allows, leaning towards the awkward."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random
from typing import Any

from rungwright.engine import Pattern, Ref, Rule, Schema, Template, Test

stages = ("derive", "adjust", "limit", "prompt")
given_kinds = ("section", "station", "criterion")
made_kinds = ("finding", "candidate", "bound", "question")

# Names that mean something to JSON, to a rule engine or to its rule language must be ordinary here.
prop_types = {
    "share": "number",
    "q.r": "number",
    "count": "number",
    "m": "number",
    "s0": "number",
    "name": "word",
    "type": "word",
    "all": "word",
    "kind2": "word",
    "p0": "word",
    "wet": "yes_no",
    "nil": "yes_no",
    "g": "yes_no",
}
words = ["x", "y", "xy", "", "é漢", 'a"b', "c\\d", "it's", "tab\tnl\n", "\x00", "😀", '{"k":1}', "],[", "x" * 400]
words += [" x", "x ", "true", "1", "null", "nil", 'w","id":"f0"', '"p0":{"id":"f1"', "\\", '\\"', "\x7f", "$go", "~x"]
numbers = [0, 1, 2, 3, 5, 8, -1, -2, 0.5, 2.5, 1.0, 3.0, 1e-05, 0.00004, 0.00005, 2.00004, 2.00006, 99999]
numbers += [0.1 + 0.2, 0.3, -0.0, 214748.3648, 3_000_000_000, 99_999_999_999, -99_999_999_999.9999, 0.0001, 1e10]


@dataclass(frozen=True)
class RandomBase:
    """A rule base and several sets of facts for it."""

    schema: Schema
    rules: tuple[Rule, ...]
    fact_sets: tuple[tuple[dict[str, Any], ...], ...]


def random_base(seed: int, sessions: int = 4, size: int | None = None) -> RandomBase:
    """The rule base and `sessions` sets of facts of this seed; of `size` rules, or of few."""
    random = Random(seed)
    schema = {kind: _props(random) for kind in (*given_kinds, *made_kinds)}
    rules = tuple(_rule(random, schema, f"base/{number}") for number in range(size or random.choice((2, 4, 8, 16))))
    fact_sets = tuple(
        tuple(random_fact(random, schema) for _ in range(random.choice((0, 2, 5, 9, 14)))) for _ in range(sessions)
    )
    return RandomBase(schema, rules, fact_sets)


def random_fact(random: Random, schema: Schema) -> dict[str, Any]:
    """A fact of a given kind, with some properties missing, None or undeclared."""
    kind = random.choice(given_kinds)
    fact: dict[str, Any] = {"kind": kind}
    for prop, type_ in schema[kind].items():
        chance = random.random()
        if chance < 0.75:
            fact[prop] = _value(random, type_)
        elif chance < 0.85:
            fact[prop] = None
    if random.random() < 0.1:
        fact["undeclared"] = {"deep": [1, 2, {"z": None}]}
    return fact


def _props(random: Random) -> dict[str, str]:
    return {prop: prop_types[prop] for prop in random.sample(sorted(prop_types), random.randint(2, 7))}


def _value(random: Random, type_: str) -> Any:
    if type_ == "yes_no":
        return random.random() < 0.5
    pool: Sequence[Any] = numbers if type_ == "number" else words
    return random.choice(pool[:6] if random.random() < 0.65 else pool)


def _rule(random: Random, schema: Schema, id_: str) -> Rule:
    stage = random.randrange(len(stages))
    kinds = (*given_kinds, *made_kinds[:stage])
    positive = random.choices((1, 2, 3, 4), (10, 8, 4, 1))[0]
    negated = random.choices((0, 1, 2), (12, 6, 2))[0]
    order = [False] * positive + [True] * negated
    if random.random() < 0.5:
        random.shuffle(order)
    when: list[Pattern] = []
    bound: list[tuple[str, str]] = []
    for number, is_negated in enumerate(order):
        kind = random.choice(kinds)
        tests = tuple(_test(random, schema, kind, bound) for _ in range(random.choice((0, 1, 1, 2, 3))))
        alias = None if is_negated else f"v{number}"
        when.append(Pattern(kind, alias, tests, is_negated))
        if alias:
            bound.append((alias, kind))
    makes = ()
    if random.random() < 0.7:
        makes = tuple(
            _template(random, schema, made_kinds[stage], bound) for _ in range(random.choices((1, 2), (5, 1))[0])
        )
    return Rule(id_, stages[stage], tuple(when), makes)


def _refs(schema: Schema, bound: Sequence[tuple[str, str]], type_: str) -> list[Ref]:
    return [Ref(alias, prop) for alias, kind in bound for prop, found in schema[kind].items() if found == type_]


def _test(random: Random, schema: Schema, kind: str, bound: Sequence[tuple[str, str]]) -> Test:
    prop = random.choice(sorted(schema[kind]))
    type_ = schema[kind][prop]
    ops = ["==", "==", "!=", "exists", "missing"] + ["<", "<=", ">", ">="] * (type_ == "number")
    op = random.choice(ops)
    if op in ("exists", "missing"):
        return Test(prop, op)
    refs = _refs(schema, bound, type_)
    if refs and random.random() < 0.45:
        return Test(prop, op, random.choice(refs))
    return Test(prop, op, _value(random, type_))


def _template(random: Random, schema: Schema, kind: str, bound: Sequence[tuple[str, str]]) -> Template:
    values = []
    for prop, type_ in schema[kind].items():
        if random.random() < 0.6:
            refs = _refs(schema, bound, type_)
            from_fact = refs and random.random() < 0.5
            values.append((prop, random.choice(refs) if from_fact else _value(random, type_)))
    return Template(kind, tuple(values))
