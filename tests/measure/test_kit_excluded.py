"""A role whose materials are all ruled out is short, whether the cupboard was told or not."""

import numpy as np

from rungwright.domain.section import Section
from rungwright.measure.columns import columns
from rungwright.measure.kit import kit_check, stock_of
from rungwright.measure.verdicts import NOT_FEASIBLE, UNCERTAIN
from rungwright.rulebase import default_folder, load_rule_base


def test_everything_excluded_is_not_feasible_and_nothing_excluded_is_uncertain():
    base = load_rule_base(default_folder())
    challenge = base.challenges["shelter"]
    told = {"label": "x", "grades": ["04"], "students": 27, "group_size": 3, "sessions": [{"minutes": 60}]}
    cols = columns(base.levers, [challenge.presets["3-5"]])
    for exclusions, verdict in ((sorted(base.materials), NOT_FEASIBLE), ([], UNCERTAIN)):
        section = Section.model_validate({**told, "exclusions": exclusions})
        check = kit_check(challenge, section, stock_of(section, base.materials), cols)
        assert check.verdict[0] == verdict
        assert all(amount is None or np.isfinite(amount) for amount in check.each.values())
