"""Calibration points: what may be fitted at all, and how much each point counts."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from rig.errors import OutOfRange

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Point:
    """A known value and the raw number read for it; both units are the caller's.

    `raw_sd`: standard uncertainty of the raw number; all points give it or none does.
    `known_sd`: of the known value, each on its own (needs `raw_sd`).
    """

    known: float
    raw: float
    raw_sd: float | None = None
    known_sd: float = 0.0


def unfit(what: str, try_this: str) -> OutOfRange:
    """Return the error for points that cannot be fitted."""
    return OutOfRange(f"{what}.", f"{try_this}.")


def check_points(points: Sequence[Point], coefficients: int) -> None:
    """Raise OutOfRange where a curve of so many coefficients cannot be fitted."""
    for p in points:
        sds = (p.raw_sd or 0.0, p.known_sd)
        if not all(map(isfinite, (p.known, p.raw, *sds))) or min(sds) < 0:
            raise unfit(f"A point says {p.raw:g} for {p.known:g}", "Take that point again")
        if p.known_sd and p.raw_sd is None:
            raise unfit("A known value is uncertain, but no raw number", "Give raw_sd as well")
    with_sd = sum(p.raw_sd is not None for p in points)
    if with_sd not in (0, len(points)):
        raise unfit("Only some raw numbers have an uncertainty", "Give raw_sd for all, or none")
    different = len({p.known for p in points})
    if different < coefficients:
        curve = "straight line" if coefficients == 2 else "parabola"
        raise unfit(
            f"A {curve} needs {coefficients} different known values, not {different}",
            "Put another known value on",
        )
    if not with_sd and len(points) == coefficients:
        raise unfit(f"{len(points)} points do not tell their own scatter", "Take one again")


def variances(points: Sequence[Point], slopes: Floats) -> Floats:
    """Return each point's variance in raw units, its known value's included; 1 without `raw_sd`.

    Args:
        slopes: of the curve at each point: it makes raw units of known ones.
    """
    if points[0].raw_sd is None:
        return np.ones(len(points))
    raw_sd = np.array([p.raw_sd for p in points], dtype=np.float64)
    known_sd = np.array([p.known_sd for p in points])
    return np.asarray(raw_sd**2 + (slopes * known_sd) ** 2)


def powers(scaled: Floats, coefficients: int) -> Floats:
    """Return the columns 1, x (, x^2)."""
    return np.vander(scaled, coefficients, increasing=True)
