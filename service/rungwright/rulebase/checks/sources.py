"""Sources that nothing in the rule base names."""

from __future__ import annotations

from rungwright.rulebase.base import RuleBase
from rungwright.rulebase.problems import Problem


def unused_sources(base: RuleBase) -> list[Problem]:
    """None where packs are laid over: one that retires the last rule of a source must not stop the service."""
    if any(name.startswith("pack:") for name in base.files):
        return []
    used = {b.source for rule in base.rules.values() for b in rule.basis}
    used |= {term.source for lever in base.levers.values() for term in lever.difficulty}
    used |= {prop.source for material in base.materials.values() for prop in material.properties.values()}
    used |= {standard.source for standard in base.standards.values() if standard.source}
    for challenge in base.challenges.values():
        used |= {challenge.readiness.source, *(margin.source for margin in challenge.margins)}
    return [
        base.files["sources"].problem(
            (source,), f"nothing names the source {source!r}: name it or take it out", key=True
        )
        for source, entry in base.sources.items()
        if source not in used and entry.used_by is None
    ]
