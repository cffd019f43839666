"""Two small numerical tools: an integral over heights and a root between two ends."""

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from math import cos, pi, sin
from typing import Final

import numpy as np

_NODES: Final = 16


def _rule() -> tuple[tuple[float, float], ...]:
    """Places (0 to 1) and weights: Gauss-Legendre in an angle, place = (1 - cos) / 2.

    The angle smooths what begins or ends like a square root (round bilges, lines that leave
    a circle), where plain Gauss-Legendre converges slowly; on polynomials it errs by rounding
    only.
    """
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    angles = [pi * (node + 1) / 2 for node in nodes.tolist()]
    return tuple(
        ((1 - cos(angle)) / 2, pi / 4 * sin(angle) * weight)
        for angle, weight in zip(angles, weights.tolist(), strict=True)
    )


RULE: Final = _rule()


def integral(
    of: Callable[[float], Sequence[float]], low: float, high: float, breaks: Iterable[float] = ()
) -> list[float]:
    """Return the integrals of several functions at once.

    Args:
        of: the functions' values at one place.
        breaks: places where they have a kink; those outside low to high do not matter.
    """
    total: list[float] = []
    ends = [low, *sorted({b for b in breaks if low < b < high}), high]
    for start, end in pairwise(ends):
        for place, weight in RULE:
            values = of(start + (end - start) * place)
            if not total:
                total = [0.0] * len(values)
            for i, value in enumerate(values):
                total[i] += weight * (end - start) * value
    return total


def root(
    of: Callable[[float], float],
    low: float,
    high: float,
    f_low: float,
    f_high: float,
    within: float,
) -> float:
    """Return where a function changes its sign between two places at which the signs differ.

    False position that halves the value of an end which stays (the Illinois method: Dowell and
    Jarratt, BIT 11 (1971) 168-174, from memory), bisection when that is slow.
    """
    kept = 0
    for step in range(100):
        if f_low == 0 or f_high == f_low:
            return low
        if f_high == 0 or abs(high - low) <= within:
            return high
        if step % 8 == 7:
            middle = (low + high) / 2
        else:
            middle = (low * f_high - high * f_low) / (f_high - f_low)
        if not min(low, high) <= middle <= max(low, high):
            middle = (low + high) / 2
        f = of(middle)
        if (f > 0) == (f_high > 0):
            moved = abs(high - middle)
            high, f_high = middle, f
            f_low, kept = (f_low / 2 if kept == 1 else f_low), 1
        else:
            moved = abs(low - middle)
            low, f_low = middle, f
            f_high, kept = (f_high / 2 if kept == -1 else f_high), -1
        if moved <= within:
            return middle
    return (low + high) / 2
