"""Invented sections with a known truth, for the tests of learning."""

from __future__ import annotations

import numpy as np

from rungwright.domain.ask import RecommendationRequest
from rungwright.measure.columns import columns
from rungwright.recommend.model import checks_of, parts_of, versions_of, zero_of
from rungwright.recommend.resolve import resolve
from rungwright.rulebase import CompiledRules

SECTION = {
    "label": "Kestrel",
    "grades": ["04"],
    "students": 24,
    "group_size": 3,
    "sessions": [{"minutes": 60}, {"minutes": 60}],
}
"""Eight groups."""


def learning_request(rules: CompiledRules, levers: dict[str, tuple], *, sections: int, runs: int = 2, seed: int = 1):
    """Sections of grade 4 whose runs stand at drawn settings of `levers`; truth is the weights of `rules`."""
    rng = np.random.default_rng(seed)
    case = resolve(RecommendationRequest.model_validate({"challenge": "shelter", "section": SECTION}), rules)
    prior, zero = case.prior, zero_of(case)
    made = []
    for _ in range(sections):
        ability = prior.section_sd * rng.normal() + prior.criterion_sd * rng.normal(size=len(case.criteria))
        listed = []
        for r in range(runs):
            settings = {lever: choices[rng.integers(len(choices))] for lever, choices in levers.items()}
            cols = columns(case.levers, [{**case.preset, **settings}])
            versions = versions_of(case, cols, parts_of(case, cols, checks_of(case, cols)) - zero)
            x = ability + prior.group_sd * rng.normal(size=(8, 1)) - versions.difficulty[0]
            first = rng.random(x.shape) < 1 / (1 + np.exp(-x))
            again = rng.random(x.shape) < 1 / (1 + np.exp(-x - versions.gain[0]))
            end = first | (again & versions.second[0])
            results = [
                {
                    "criterion": c,
                    "first": {"met": int(first[:, i].sum()), "of": 8},
                    "end": {"met": int(end[:, i].sum()), "of": 8},
                }
                for i, c in enumerate(case.criteria)
                if versions.counts[0, i]
            ]
            listed.append(
                {
                    "challenge": "shelter",
                    "settings": {k: v if isinstance(v, str) else int(v) for k, v in settings.items()},
                    "on": f"2026-{9 + r:02d}-14",
                    "groups": 8,
                    "results": results,
                }
            )
            ability = ability + 0.35 * rng.normal() + 0.04
        made.append({"section": SECTION, "runs": listed})
    return {"challenge": "shelter", "sections": made}
