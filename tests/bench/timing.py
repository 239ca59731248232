"""The one way to time a call of this process."""

from __future__ import annotations

import time
from collections.abc import Callable


def least_seconds(call: Callable[[], object], *, times: int) -> float:
    """Processor time of the quickest of `times` calls [s], after one that warms up: what else runs only ever adds."""
    call()
    took = []
    for _ in range(times):
        started = time.process_time()
        call()
        took.append(time.process_time() - started)
    return min(took)
