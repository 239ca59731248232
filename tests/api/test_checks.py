"""The routes of single checks and calibrations."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

from rungwright.checks.kinds import CALIBRATIONS, CHECKS
from rungwright.checks.result import Calibrated, Checked

ROUTES = {f"/v1/checks/{k}": kind for k, kind in CHECKS.items()} | {
    f"/v1/calibrations/{k}": kind for k, kind in CALIBRATIONS.items()
}


def errors(response: httpx.Response) -> dict[str, str]:
    assert response.status_code == 422, response.text
    return {e["pointer"]: e["detail"] for e in response.json()["errors"]}


@pytest.mark.parametrize("path", ROUTES)
def test_it_answers_as_the_function_does(client, path):
    kind = ROUTES[path]
    response = client.post(path, json=dict(kind.example))
    assert response.status_code == 200, response.text
    answer = {True: Checked, False: Calibrated}[kind.answers is Checked].model_validate_json(response.content)
    assert answer == kind.answer(kind.model.model_validate(dict(kind.example)))


@pytest.mark.parametrize("path", ROUTES)
def test_unknown_fields_and_other_shapes_are_refused(client, path):
    example = dict(ROUTES[path].example)
    first = next(iter(example))
    told = errors(client.post(path, json={**example, first + "x": 1}))
    assert list(told) == [f"/{first}x"] and repr(first) in told[f"/{first}x"]
    for body in ([], "370 g", 7):
        assert errors(client.post(path, json=body)) == {"": "must be an object"}


def test_every_required_field_is_told(client):
    assert errors(client.post("/v1/checks/snow", json={})) == dict.fromkeys(
        ("/mass", "/width", "/depth"), "this field is required"
    )


WRONG: list[tuple[str, dict[str, Any], str, str]] = [
    ("/v1/checks/snow", {"mass": "370 mm"}, "/mass", "is not a mass; write it such as 370 g or 13 oz"),
    ("/v1/checks/snow", {"mass": 370}, "/mass", "say the unit too"),
    ("/v1/checks/snow", {"mass": None}, "/mass", "must be a mass as a text"),
    ("/v1/checks/snow", {"mass": "0 g"}, "/mass", "must be from 1 g (0.0353 oz) to 50,000 g (1764 oz)"),
    ("/v1/checks/snow", {"snow": "powder"}, "/snow", "must be 'dry_fresh'"),
    ("/v1/checks/wind", {"speed": "5 to 2 m/s"}, "/speed", "runs backwards"),
    ("/v1/checks/wind", {"friction": -0.1}, "/friction", "must be from 0.02 to 1.5"),
    ("/v1/checks/wind", {"friction": "rough"}, "/friction", "must be a number, or a range such as '0.2 to 0.4'"),
    ("/v1/checks/rain", {"strokes": 2.5}, "/strokes", "must be a whole number"),
    ("/v1/checks/rain", {"strokes": -1}, "/strokes", "must be at least 0"),
    ("/v1/checks/rain", {"paper_carries": "yes"}, "/paper_carries", "must be true or false"),
    ("/v1/checks/heat", {"layers": []}, "/layers", "must have at least 1 entries"),
    ("/v1/checks/heat", {"layers": ["fel 5 mm"]}, "/layers/0", "did you mean 'felt'?"),
    ("/v1/checks/heat", {"layers": ["felt 5 mm", "felt 5 kg"]}, "/layers/1", "is not a length"),
    ("/v1/checks/heat", {"layers": ["felt 5 mm", 3]}, "/layers/1", "a material and its thickness"),
    ("/v1/checks/heat", {"start": "90 C"}, "/start", "must be from -10 °C (14 °F) to 60 °C (140 °F)"),
    ("/v1/checks/heat", {"start": "20 C"}, "/start", "must differ from the room"),
    ("/v1/checks/float", {"off_centre": "70 mm"}, "/off_centre", "at most half the width, 60 mm (2.36 in)"),
    ("/v1/checks/load", {"family": "span"}, "/gap", "is needed for a bridge"),
    ("/v1/checks/load", {"band": "4"}, "/band", "must be 'K-2', '3-5', '6-8' or '9-12'"),
    ("/v1/checks/figures", {"units": "SI"}, "/units", "must be 'metric', 'us' or 'both'"),
    ("/v1/checks/member", {"thickness": None}, "/thickness", "is needed for a rectangle"),
    ("/v1/calibrations/weight", {"scale": "500 g"}, "/scale", "give either"),
]


@pytest.mark.parametrize(("path", "change", "pointer", "detail"), WRONG)
def test_a_wrong_value_is_told_at_its_field(client, path, change, pointer, detail):
    told = errors(client.post(path, json={**ROUTES[path].example, **change}))
    assert list(told) == [pointer]
    assert detail in told[pointer]
    assert "pydantic" not in told[pointer] and "function" not in told[pointer]


def test_metric_and_us_inputs_give_the_same_answer(client):
    metric = client.post(
        "/v1/checks/wind", json={"mass": "50 g", "width": "152.4 mm", "depth": "152.4 mm", "height": "101.6 mm"}
    )
    us = client.post("/v1/checks/wind", json={"mass": "1.763698 oz", "width": "6 in", "depth": "6in", "height": '4"'})
    assert us.json()["value"]["value"] == pytest.approx(metric.json()["value"]["value"], rel=1e-6)


def test_usual_values_stand_in_the_contract(client):
    schemas = client.get("/openapi.json").json()["components"]["schemas"]
    assert "usually 1.5 to 5 m/s (3.36 to 11.2 mph)" in schemas["WindCheck"]["properties"]["speed"]["description"]
    assert "usually 0.2 to 0.5" in schemas["WindCheck"]["properties"]["friction"]["description"]
    assert schemas["WindCheck"]["required"] == ["mass", "width", "depth", "height"]
