"""Hold the invariants of answers on as many random sections as you like.

    python tests/scripts/invariants.py --sections 5000

Stops at the first section whose answer breaks one, shown as small as it can be made.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, seed, settings

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.recommend.cases import requests
from tests.recommend.invariants import INVARIANTS, hold_all

EVERY = 250
"""Sections from one line of progress to the next."""


def main() -> None:
    parser = argparse.ArgumentParser(description="Random sections: every invariant of an answer.")
    parser.add_argument("--sections", type=int, default=5000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    began, tried = time.monotonic(), 0

    @seed(options.seed)
    @settings(
        max_examples=options.sections,
        deadline=None,
        database=None,
        phases=(Phase.generate, Phase.shrink),
        suppress_health_check=list(HealthCheck),
    )
    @given(requests())
    def hold(request):
        nonlocal tried
        hold_all(request)
        tried += 1
        if tried % EVERY == 0:
            print(f"{tried} sections, {time.monotonic() - began:.0f} s", flush=True)

    hold()
    print(f"{len(INVARIANTS)} invariants hold on {tried} sections.")


if __name__ == "__main__":
    main()
