"""What an answer costs, as ratios within one run: python tests/bench/bench.py [--answers N]

Pin it to one core for figures that mean something: taskset -c 0 python tests/bench/bench.py
The last run is written down in DEVELOPERS.md. Nothing here is asserted: times belong to the machine.
"""

from __future__ import annotations

import argparse
import gc
import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from fastapi import FastAPI, Request, Response
from fastapi.testclient import TestClient

from rungwright.api.app import create_app
from rungwright.api.demo import demo
from rungwright.domain.ask import RecommendationRequest
from rungwright.engine import available
from rungwright.recommend import recommend
from rungwright.rulebase import CompiledRules, RuleBase, default_folder, load_rule_base
from rungwright.settings import Settings

HERE = Path(__file__).resolve().parent
PROGRAM = "from rungwright.cli import main; main()"


def best(call: Callable[[], object], *, times: int = 25) -> float:
    """The fastest of some calls [ms]: what else runs only ever adds."""
    found = []
    for _ in range(times):
        began = time.perf_counter()
        call()
        found.append((time.perf_counter() - began) * 1000)
    return min(found)


def told(what: str, value: str, limit: str = "") -> None:
    print(f"{what:<58} {value:>12}  {limit}")


def over_http(rules: CompiledRules) -> None:
    body = {**demo(), "include": ["timetable", "kit", "brief"]}
    app = create_app(Settings(), rules)
    answer = TestClient(app).post("/v1/recommendations", json=body).content
    echo = FastAPI()

    @echo.post("/echo")
    async def same_size(request: Request) -> Response:
        json.loads(await request.body())
        return Response(answer, media_type="application/json")

    served, bare = TestClient(app), TestClient(echo)
    asked = json.dumps(body)
    header = {"content-type": "application/json"}
    ours = best(lambda: served.post("/v1/recommendations", content=asked, headers=header))
    theirs = best(lambda: bare.post("/echo", content=asked, headers=header))
    told(f"one recommendation over HTTP ({len(answer) / 1000:.0f} kB)", f"{ours:.1f} ms")
    told("an echo of the same body and size", f"{theirs:.1f} ms")
    told("recommendation over echo", f"{ours / theirs:.0f} x", "rules and arrays, not HTTP")


def engines(base: RuleBase) -> None:
    request = RecommendationRequest.model_validate(demo())
    found = {}
    for engine, there in available().items():
        if there is True:
            rules = CompiledRules(base, engine)
            recommend(request, rules)
            found[engine] = best(lambda rules=rules: recommend(request, rules))
            rules.close()
    least = min(found.values())
    for engine, ms in found.items():
        told(f"one answer on {engine}", f"{ms:.1f} ms", f"{ms / least:.2f} x the faster")


def by_size(base: RuleBase) -> None:
    """The base thinned to 60 rules, and filled up with copies of its own."""
    request = RecommendationRequest.model_validate(demo())
    every = list(base.rules.items())
    first = None
    for size in (60, 300, 1000):
        rules = dict(every[:: max(1, len(every) // size)][:size])
        for i in range(size - len(rules)):
            name, rule = every[i % len(every)]
            copy = f"{name}_{i // len(every) + 2}"
            rules[copy] = rule.model_copy(update={"id": copy})
        compiled = CompiledRules(replace(base, rules=rules))
        began = time.perf_counter()
        recommend(request, compiled)
        begun = (time.perf_counter() - began) * 1000
        ms = best(lambda compiled=compiled: recommend(request, compiled))
        first = first or ms
        told(f"one answer with {size} rules", f"{ms:.1f} ms", f"{ms / first:.2f} x; compiled in {begun:.0f} ms")
        compiled.close()


def starting() -> None:
    def run(*args: str) -> float:
        return best(lambda: subprocess.run([sys.executable, *args], check=True, capture_output=True), times=3)

    bare, ours = run("-c", "pass"), run("-c", PROGRAM, "recommend", "--demo", "grade_4_harder")
    told("start-up to a first answer on the command line", f"{ours:.0f} ms", f"{ours - bare:.0f} ms over bare Python")


def memory(rules: CompiledRules, answers: int) -> None:
    requests = [
        RecommendationRequest.model_validate(json.loads(path.read_text(encoding="utf-8")))
        for path in sorted((HERE.parents[1] / "examples").glob("*/request.json"))
    ]

    def resident() -> float:
        gc.collect()
        pages = int(Path("/proc/self/statm").read_text().split()[1])
        return pages * os.sysconf("SC_PAGE_SIZE") / 1e6

    for i in range(max(200, answers // 20)):
        recommend(requests[i % len(requests)], rules)
    before, began = resident(), time.perf_counter()
    for i in range(answers):
        recommend(requests[i % len(requests)], rules)
    rate = answers / (time.perf_counter() - began)
    told(
        f"memory grown over {answers} answers",
        f"{resident() - before:.1f} MB",
        f"of {before:.0f} MB; {rate:.0f} a second",
    )


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--answers", type=int, default=20_000)
    answers = parser.parse_args().answers
    base = load_rule_base(default_folder())
    rules = CompiledRules(base)
    over_http(rules)
    engines(base)
    by_size(base)
    starting()
    if answers:
        memory(rules, answers)
    rules.close()


if __name__ == "__main__":
    main()
