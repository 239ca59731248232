"""How sure a counted share is."""

from __future__ import annotations

from math import sqrt

Z_95 = 1.959963984540054


def wilson(met: float, of: float, *, z: float = Z_95) -> tuple[float, float]:
    """Wilson's score interval of a share, low and high; for `of` 0 it is (0, 1).

    Parameters: `met` of `of` counted, 0 <= met <= of, whole or as many as they are worth; `z`, the normal quantile,
    1.96 for 95 %.
    Source: E. B. Wilson, 1927; tabled in R. G. Newcombe, Statistics in Medicine 17, 1998, table I, method 3.
    """
    if of == 0:
        return 0.0, 1.0
    share, spread = met / of, z * z / of
    centre = (share + spread / 2) / (1 + spread)
    half = z * sqrt(share * (1 - share) / of + spread / (4 * of)) / (1 + spread)
    # Rounding must not leave a bound that is exact, 0 of n and n of n, a hair inside.
    return (0.0 if met == 0 else centre - half), (1.0 if met == of else centre + half)
