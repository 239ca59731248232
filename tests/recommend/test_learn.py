"""Weights learned from runs: recovery, the rule for saying so, and what becomes of them in an answer."""

import json
from datetime import date

import pytest
from pydantic import ValidationError

from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.weights import LEARNED_BELOW, LearningRequest, Weights, digest_of
from rungwright.recommend import RequestProblem, recommend
from rungwright.recommend.learn import learn_weights
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base

from .invented import SECTION, learning_request

RULES = CompiledRules(load_rule_base(default_folder()))
REQUEST = json.loads((default_folder().parent / "examples/grade_4_harder/request.json").read_text())
DAY = date(2026, 11, 25)
LEVERS = {"load_positions": (1, 2), "cover_cm2": (900, 450), "wind_sides": ("one", "four")}


def learnt(request, rules=RULES) -> Weights:
    return learn_weights(LearningRequest.model_validate(request), rules, learned_on=DAY)


def entry(weights: Weights, lever: str):
    return next(w for w in weights.weights if w.lever == lever)


def with_factors(weights: Weights, factors: dict[str, float], *, apart: float = 1.0) -> Weights:
    """The document with other factors: a truth to learn."""
    spread = weights.apart.model_copy(update={"factor": apart})
    changed = [
        w.model_copy(
            update={
                "factor": factors.get(w.lever, w.factor),
                "learnt": [round(factors.get(w.lever, w.factor) * x, 4) for x in w.starting],
            }
        )
        for w in weights.weights
    ]
    digest = digest_of(weights.challenge, spread, changed)
    data = {
        **weights.model_dump(),
        "apart": spread.model_dump(),
        "weights": [w.model_dump() for w in changed],
        "digest": digest,
        "version": f"{DAY}-{digest[:8]}",
    }
    return Weights.model_validate(data)


@pytest.fixture(scope="module")
def some():
    """Sixty sections in a world where the second spot matters twice as much, and the cover hardly."""
    none = learnt({"challenge": "shelter", "sections": [{"section": SECTION, "runs": []}]})
    truth = with_factors(none, {"load_positions": 1.8, "cover_cm2": 0.3})
    return learnt(learning_request(RULES.with_weights(truth), LEVERS, sections=60, runs=3))


def test_nothing_to_compare_leaves_the_starting_guesses():
    weights = learnt({"challenge": "shelter", "sections": [{"section": SECTION, "runs": []}]})
    assert all(w.factor == 1 and w.sd == w.starting_sd and not w.learned_here for w in weights.weights)
    assert {w.lever for w in weights.weights if w.lever} == {
        name for name, lever in RULES.base.levers.items() if lever.difficulty and lever.kind != "access"
    }
    assert {w.margin for w in weights.weights if w.margin} == {"load", "wind"}


def test_what_was_tried_moves_towards_the_truth_and_the_rest_stays(some):
    spots, cover = entry(some, "load_positions"), entry(some, "cover_cm2")
    assert spots.factor - 1.2816 * 1.5 * spots.sd < 1.8 < spots.factor + 1.2816 * 1.5 * spots.sd
    assert cover.factor - 1.2816 * 1.5 * cover.sd < 0.3 < cover.factor + 1.2816 * 1.5 * cover.sd
    assert spots.factor > 1.3 and cover.factor < 0.8
    assert spots.groups == spots.sections * 24 and 30 < spots.sections <= 60
    untried = entry(some, "entry")
    assert untried.sections == 0 and untried.factor == pytest.approx(1, abs=1e-9) and untried.sd == untried.starting_sd


def test_how_far_sections_stand_apart_is_learned_and_narrows_what_is_expected():
    none = learnt({"challenge": "shelter", "sections": [{"section": SECTION, "runs": []}]})
    assert (none.apart.factor, none.apart.sections, none.apart.learned_here) == (1, 0, False)
    alike = learnt(learning_request(RULES.with_weights(with_factors(none, {}, apart=0.5)), LEVERS, sections=60))
    assert alike.apart.learned_here and alike.apart.factor == pytest.approx(0.5, rel=0.25)
    assert (alike.apart.sections, alike.apart.groups) == (60, 60 * 2 * 8)
    usual, here = (answer(rules, runs=[], include=["explanation"]) for rules in (RULES, RULES.with_weights(alike)))
    usual_range, here_range = (a.before.expected.all_criteria for a in (usual, here))
    assert here_range.high - here_range.low < 0.8 * (usual_range.high - usual_range.low)
    told = f"differ less than first assumed ({alike.apart.factor:.1f} times), as 60 sections (960 groups) show."
    assert told in here.explanation.weights


def test_one_run_a_section_tells_how_far_they_stand_apart_though_no_lever():
    weights = learnt(learning_request(RULES, LEVERS, sections=30, runs=1))
    assert weights.data.sections == 0 and weights.data.nothing_to_compare == 30
    assert weights.apart.sections == 30 and weights.apart.learned_here


def test_learned_here_is_said_only_when_the_spread_has_halved(some):
    for w in some.weights:
        assert w.learned_here == (w.sd < LEARNED_BELOW * w.starting_sd)
    assert entry(some, "load_positions").learned_here
    few = learnt(learning_request(RULES, LEVERS, sections=4))
    assert not any(w.learned_here for w in few.weights)
    assert entry(few, "load_positions").sections > 0


def test_a_monotone_weight_never_turns_round():
    none = learnt({"challenge": "shelter", "sections": [{"section": SECTION, "runs": []}]})
    against = RULES.with_weights(with_factors(none, {"cover_cm2": -3.0}))
    weights = learnt(learning_request(against, {"cover_cm2": (900, 450)}, sections=80, runs=3))
    assert entry(weights, "cover_cm2").factor == 0 and entry(weights, "cover_cm2").learnt == [0.0] * len(
        entry(weights, "cover_cm2").starting
    )


def test_an_easier_version_for_weaker_sections_does_not_make_a_lever_look_weak():
    """Between sections the second spot seems to do nothing; inside each section it does."""
    request = learning_request(RULES, {"load_positions": (1, 2)}, sections=60, runs=3, seed=4)
    strong, weak = [], []
    for section in request["sections"]:
        met = sum(r["first"]["met"] for run in section["runs"] for r in run["results"])
        (strong if met > 3 * 5 * 8 * 0.8 else weak).append(section)
    # Weak sections keep two easy runs, strong ones two hard ones, as far as each had them.
    kept = []
    for group, spots in ((strong, 2), (weak, 1)):
        for section in group:
            runs = sorted(section["runs"], key=lambda run: run["settings"]["load_positions"] != spots)
            kept.append({**section, "runs": runs})
    assert entry(learnt({**request, "sections": kept}), "load_positions").factor > 0.6


def test_what_was_left_out_is_counted():
    request = learning_request(RULES, LEVERS, sections=1, runs=4)
    runs = request["sections"][0]["runs"]
    runs[0]["flags"] = ["interrupted"]
    del runs[1]["settings"]
    data = learnt(request).data
    assert (data.flagged, data.settings_not_told, data.nothing_to_compare, data.runs) == (1, 1, 0, 2)
    del runs[3]
    data = learnt(request).data
    assert (data.nothing_to_compare, data.runs, data.sections) == (1, 0, 0)


def test_order_of_sections_and_runs_changes_nothing():
    request = learning_request(RULES, LEVERS, sections=6, runs=3)
    turned = {
        **request,
        "sections": [{**s, "runs": list(reversed(s["runs"]))} for s in reversed(request["sections"])],
    }
    assert learnt(request).weights == learnt(turned).weights


def test_extreme_results_stay_finite():
    request = learning_request(RULES, LEVERS, sections=3, runs=3)
    for section in request["sections"]:
        for run in section["runs"]:
            for result in run["results"]:
                met = 8 if run["settings"]["load_positions"] == 1 else 0
                result["first"] = result["end"] = {"met": met, "of": 8}
    assert all(abs(w.factor) < 5 for w in learnt(request).weights)


def test_a_wrong_run_is_told_at_its_place():
    request = learning_request(RULES, LEVERS, sections=2)
    request["sections"][1]["runs"][0]["results"][0]["criterion"] = "lod"
    with pytest.raises(RequestProblem) as refused:
        learnt(request)
    assert refused.value.problems[0].pointer == "/sections/1/runs/0/results/0/criterion"


def test_progress_ends_where_it_says():
    told = []
    learn_weights(
        LearningRequest.model_validate(learning_request(RULES, LEVERS, sections=5)),
        RULES,
        learned_on=DAY,
        progress=lambda done, of: told.append((done, of)),
    )
    assert [d for d, _ in told] == sorted(d for d, _ in told) and told[-1][0] == told[-1][1]


def answer(rules, **changes):
    return recommend(RecommendationRequest.model_validate({**REQUEST, **changes}), rules)


def test_an_answer_uses_them_says_so_and_has_another_id(some):
    before, after = answer(RULES), answer(RULES.with_weights(some), include=["explanation"])
    assert before.model.weights_version == "starting" and after.model.weights_version == some.version
    assert before.id != after.id and before.model.digest != after.model.digest
    assert before.rule_base.digest == after.rule_base.digest
    assert f"Weights {some.version}" in after.explanation.weights
    assert answer(RULES).model_dump(exclude={"created_at"}) == before.model_dump(exclude={"created_at"})
    spots = [p for p in after.proposals if p.lever == "load_positions"]
    harder = answer(RULES.with_weights(some), ask={"direction": "harder", "declined": ["figure_standing"]})
    spots += [p for p in harder.proposals if p.lever == "load_positions"]
    assert spots
    for proposal in spots:
        said = [b for b in proposal.basis if b.source == "own_runs"]
        assert len(said) == 1 and said[0].supports.startswith("How much this change moves is learned here from ")
    for proposal in before.proposals:
        assert proposal.basis[-1].supports.endswith("its effect is our starting guess.")


def test_a_learned_weight_narrows_the_range(some):
    settings = {"load_positions": 2}
    wide = answer(RULES, settings=settings).before.expected.criteria["load"].first
    narrow = answer(RULES.with_weights(some), settings=settings).before.expected.criteria["load"].first
    assert narrow.high - narrow.low < wide.high - wide.low + 0.05
    assert narrow.share < wide.share


def test_weights_of_another_challenge_or_of_another_starting_guess_are_not_used(some):
    whole = RULES.base.challenges["shelter"].model_dump(mode="json")
    elsewhere = answer(RULES.with_weights(some), challenge={**whole, "id": "own_refuge"}, runs=[])
    assert elsewhere.model.weights_version == "starting"
    lever = RULES.base.levers["load_positions"]
    assert entry(some, "load_positions").starting == list(lever.difficulty[0].at)


def test_a_document_that_was_changed_by_hand_is_refused(some):
    data = json.loads(some.model_dump_json())
    data["weights"][0]["factor"] = 2.0
    data["weights"][0]["learnt"] = [round(2 * x, 4) for x in data["weights"][0]["starting"]]
    with pytest.raises(ValidationError, match="changed after it was made"):
        Weights.model_validate(data)
