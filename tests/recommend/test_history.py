"""Readiness after each run, on one scale."""

import json

from rungwright.domain.ask import RecommendationRequest
from rungwright.recommend.history import readiness_history
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base

RULES = CompiledRules(load_rule_base(default_folder()))
REQUEST = json.loads((default_folder().parent / "examples/grade_4_fit/request.json").read_text())


def run(day, met, **changes):
    results = [{"criterion": c, "first": {"met": met, "of": 9}} for c in ("wind", "dry", "load")]
    return {"challenge": "shelter", "settings": {}, "on": day, "groups": 9, "results": results, **changes}


def history(*runs, **changes):
    return readiness_history(RecommendationRequest.model_validate({**REQUEST, "runs": list(runs), **changes}), RULES)


def test_it_rises_with_better_results_and_is_of_one_scale():
    first, second = run("2026-09-14", 4), run("2026-10-14", 9)
    told = history(second, first)
    assert [t.on.isoformat() for t in told] == ["2026-09-14", "2026-10-14"]
    assert told[0].all_criteria.share < told[1].all_criteria.share
    # A later run changes nothing of what was known before it, nor does what the caller has set.
    assert history(first) == told[:1] == history(first, settings={"load_positions": 2})


def test_no_run_that_teaches_no_point():
    assert history() == [] == history(run("2026-09-14", 4, flags=["interrupted"]))


def test_the_last_days_alone():
    runs = [run(f"2026-{month:02}-14", month) for month in (4, 5, 6)]
    request = RecommendationRequest.model_validate({**REQUEST, "runs": runs})
    assert readiness_history(request, RULES, last=2) == history(*runs)[1:]
    assert readiness_history(request, RULES, last=5) == history(*runs)
