"""How long the checks take, one by one, for one section, and over many versions: python tests/bench/checks.py

Times are of this process, the least of many calls, told as they are and as parts of sorting a million numbers in the
same run, so that two machines can be compared. The aim is 2 ms for the full set of one section.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from timing import least_seconds

from rungwright.api.demo import demo
from rungwright.checks.kinds import CALIBRATIONS, CHECKS
from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.strict import Setting
from rungwright.measure import afloat, beam_columns, drop, heat, rest, snow
from rungwright.measure.adults import adults_check
from rungwright.measure.columns import Columns
from rungwright.measure.kit import kit_check
from rungwright.measure.rain import paper_carries_and_cover_small
from rungwright.measure.time import time_check
from rungwright.recommend.measuring import measure
from rungwright.recommend.model import build_model, checks_of
from rungwright.recommend.resolve import resolve
from rungwright.recommend.start import start
from rungwright.rulebase import CompiledRules, default_folder, load_rule_base

VERSIONS = 24


def milliseconds(call: Callable[[], object], times: int = 200) -> float:
    return least_seconds(call, times=times) * 1e3


def new_physics() -> None:
    """Snow, floating, drop, heat, rest and a pushed post for every version at once."""
    one = np.linspace(1.0, 2.0, VERSIONS)
    pressure = snow.pressure_of_mass(mass_g=370 * one, area_mm2=150.0**2)
    snow.snow_depth_mm(pressure_pa=pressure, density_kg_m3=100.0)
    draught = afloat.draught_mm(mass_g=212 * one, length_mm=180.0, width_mm=120.0)
    gm = afloat.metacentric_height_mm(draught=draught, width_mm=120.0, centre_of_mass_mm=30.0)
    afloat.list_deg(moment_g_mm=2000.0, mass_g=212 * one, gm_mm=gm, bm_mm=1200 / draught)
    drop.mean_stop_g(speed=drop.free_fall_speed(height_mm=1000 * one), stopping_mm=10.0)
    u = heat.u_value(layers=heat.layers_resistance(thickness_mm=[5 * one], conductivity=[0.05]), surfaces=0.13)
    heat.time_constant_min(mass_g=250.0, u=u, area_mm2=35_000.0)
    rest.slides_at_deg(friction=0.3 * one)
    beam_columns.pushed_evenly(load_per_length=0.01 * one, axial=10.0, length=110.0, e=11e3, inertia=6.7)


def of_one_section(measured: dict[str, list[float]] | None = None) -> dict[str, Callable[[], object]]:
    """Every check of a section, for its settings and for candidates at once, and the sentences of one version."""
    asked = demo()
    asked["section"]["measured"] = measured
    rules = CompiledRules(load_rule_base(default_folder()))
    case = resolve(RecommendationRequest.model_validate(asked), rules)
    settings = start(case).settings
    moves = [{lever.id: to} for lever in case.levers.values() if lever.kind == "challenge" for to in lever.settings]
    told = measure(case, build_model(case, settings), settings, [{}])

    def checks(changes: list[dict[str, Setting]]) -> None:
        cols = Columns(case.levers, settings, changes)
        order_paper = paper_carries_and_cover_small(cols, checks_of(case, cols).load)
        time_check(case.challenge, case.section, cols, order_paper)
        kit_check(case.challenge, case.section, case.stock, cols)
        adults_check(case.challenge, case.section, cols)

    return {
        "all checks of one section": lambda: (checks([{}]), told.results()),
        f"all checks, {VERSIONS} versions": lambda: checks(moves[:VERSIONS]),
    }


def main() -> None:
    numbers = np.random.default_rng(1).random(1_000_000)
    yard = milliseconds(lambda: np.sort(numbers), 5)
    print(f"sorting a million numbers: {yard:.1f} ms")

    def told(name: str, took: float) -> None:
        print(f"{name:34} {took:7.2f} ms  {took / yard:7.4f}")

    for name, call in of_one_section().items():
        told(name, milliseconds(call))
    for name, call in of_one_section({"stick_thickness_mm": [1.9]}).items():
        told(f"{name}, measured", milliseconds(call))
    told(f"snow to beams, {VERSIONS} versions", milliseconds(new_physics))
    total = 0.0
    for kind in (*CHECKS.values(), *CALIBRATIONS.values()):
        asked = kind.model.model_validate(dict(kind.example))
        took = milliseconds(lambda kind=kind, asked=asked: kind.answer(asked))
        total += took
        told(kind.name, took)
    told("all of them, with their sentences", total)


if __name__ == "__main__":
    main()
