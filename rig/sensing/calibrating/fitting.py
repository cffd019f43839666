"""Least squares for a straight line or a parabola: raw = c0 + c1 known (+ c2 known^2).

Two kinds of points. Without `raw_sd` the scatter about the curve tells the noise of a reading,
the same for all. With it each point counts by its own standard uncertainty; a scatter larger than
those explain then widens all uncertainties by as much (Birge's ratio), a smaller one changes
nothing.

What all known values are off by together (one scale weighed them all) no scatter shows: see
`Fit.load_cell`.

Sources: JCGM 100:2008 (GUM), H.3; NIST/SEMATECH e-Handbook of Statistical Methods, 4.6.1. Known
values that are uncertain themselves: effective variance, Orear, Am. J. Phys. 50 (1982) 912;
Birge, Phys. Rev. 40 (1932) 207 (both from memory).
"""

from collections.abc import Iterable
from math import sqrt
from typing import Final

import numpy as np

from rig.sensing.calibrating.fit import Fit, slopes_of
from rig.sensing.calibrating.points import (
    Floats,
    Point,
    check_points,
    powers,
    unfit,
    variances,
)

DOUBT: Final = 0.01  # chance of taking noise for a curve (our own choice)
_ROUNDS: Final = 50  # the effective variance settles within a few
_TOO_CLOSE: Final = 1e-10


def fit_line(points: Iterable[Point]) -> Fit:
    """Return the straight line.

    Raises:
        OutOfRange: fewer than two different known values; without `raw_sd`, fewer than three
            points; a number that is none; `raw_sd` for some points only.
    """
    return _fit(tuple(points), 2)


def fit_parabola(points: Iterable[Point]) -> Fit:
    """Return the parabola. Raises OutOfRange as `fit_line`, with one point more."""
    return _fit(tuple(points), 3)


def fit_as_needed(points: Iterable[Point], doubt: float = DOUBT) -> Fit:
    """Return the straight line, or the parabola where the points demand it.

    They do where repeats show that the line does not fit, and the bend is clear of noise, both
    with a chance below `doubt`. Without repeats nothing demands it. Raises OutOfRange.
    """
    kept = tuple(points)
    line = fit_line(kept)
    lack = line.lack_of_fit()
    if lack is None or lack.p >= doubt:
        return line
    curve = fit_parabola(kept)
    return curve if curve.bend_p() < doubt else line


def _fit(points: tuple[Point, ...], size: int) -> Fit:
    check_points(points, size)
    known = np.array([p.known for p in points])
    raw = np.array([p.raw for p in points])
    low, high = float(known.min()), float(known.max())
    middle, half = low / 2 + high / 2, high / 2 - low / 2
    try:
        with np.errstate(all="raise", under="ignore"):
            fit = _scaled_fit(points, (known - middle) / half, raw, size, middle, half)
            if not np.isfinite(fit.covariance).all():
                raise FloatingPointError
    except (FloatingPointError, np.linalg.LinAlgError) as err:
        raise unfit(
            "The known values are too close together, or the numbers too large or small",
            "Check the units, and leave out values that are almost the same",
        ) from err
    return fit


def _scaled_fit(
    points: tuple[Point, ...], scaled: Floats, raw: Floats, size: int, middle: float, half: float
) -> Fit:
    """Known values run from -1 to 1 here, so that no digits are lost."""
    columns = powers(scaled, size)
    inner, triangle = _solve(columns, raw)
    weighted = points[0].raw_sd is not None
    variance = np.ones(len(points))
    for _ in range(_ROUNDS if weighted else 0):
        newer = variances(points, slopes_of(inner, scaled, half))
        if not newer.all():
            raise unfit("A point has no uncertainty at all", "Give raw_sd above 0, or none")
        if (np.abs(newer - variance) <= 1e-14 * newer).all():
            break
        variance = newer
        root = np.sqrt(variance)
        inner, triangle = _solve(columns / root[:, None], raw / root)
    residuals = (raw - columns @ inner) / np.sqrt(variance)
    dof = len(points) - size
    residual_sd = sqrt(float(residuals @ residuals) / dof) if dof else None
    widened = max(1.0, residual_sd or 0.0) if weighted else residual_sd or 0.0
    inverse = widened * np.linalg.inv(triangle)
    return Fit(
        points=points,
        dof=dof,
        residual_sd=residual_sd,
        middle=middle,
        half=half,
        inner=tuple(map(float, inner)),
        inner_covariance=tuple(tuple(map(float, row)) for row in inverse @ inverse.T),
    )


def _solve(columns: Floats, raw: Floats) -> tuple[Floats, Floats]:
    """Coefficients by QR, and the triangle R."""
    q, triangle = np.linalg.qr(columns)
    diagonal = np.abs(np.diag(triangle))
    if diagonal.min() < _TOO_CLOSE * diagonal.max():
        raise np.linalg.LinAlgError
    return np.linalg.solve(triangle, q.T @ raw), triangle
