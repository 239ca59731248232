"""Hold the engines against the oracle for as long as you like.

    python tests/scripts/engines_agree.py --sessions 100000

Stops at the first difference with the seed of the rule base, which `--seed` then starts from.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from engine.agreement import check_base
from rungwright.engine import available

A_BASE = 4


def main() -> int:
    """The exit status: 0 if all agree, 1 at a difference, 2 if an engine that was asked for is not there."""
    parser = argparse.ArgumentParser(description="Random rules and facts: every engine against a naive oracle.")
    parser.add_argument("--sessions", type=int, default=20_000, help=f"runs of facts, {A_BASE} a rule base")
    parser.add_argument("--seed", type=int, default=1_000_000, help="seed of the first rule base")
    parser.add_argument("--rules", type=int, help="rules a rule base; default: 2 to 16")
    parser.add_argument("--engines", nargs="+", choices=sorted(available()), help="default: all that are there")
    options = parser.parse_args()
    reasons = available()
    engines = options.engines or [name for name, reason in reasons.items() if reason is True]
    for name in engines:
        if reasons[name] is not True:
            print(f"{name}: {reasons[name]}", file=sys.stderr)
            return 2
    print(f"engines: {', '.join(engines)}")
    started, told, fired, bases = time.monotonic(), 0.0, 0, -(-options.sessions // A_BASE)
    for done in range(bases):
        try:
            fired += check_base(options.seed + done, engines, A_BASE, options.rules)
        except AssertionError as error:
            print(f"\nDIFFERENT: {error}")
            return 1
        elapsed = time.monotonic() - started
        if elapsed - told > 1 or done + 1 == bases:
            told = elapsed
            left = elapsed / (done + 1) * (bases - done - 1)
            line = f"{(done + 1) * A_BASE:,} of {bases * A_BASE:,} sessions, {fired:,} firings, {left:.0f} s left"
            print(f"\r{line:<70}", end="", flush=True)
    print("\nall agree")
    return 0


if __name__ == "__main__":
    sys.exit(main())
