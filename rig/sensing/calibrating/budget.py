"""How sure zero and span are: what repeats scatter by, and what the known values may be off by.

Source: JCGM 100:2008 (GUM), 5.1.2 and H.3 for the propagation, G.4.1 for the degrees of freedom
(Welch and Satterthwaite). Pieces that are used in several points (the same weight going up and
down, a pile of coins of one kind) are off by the same amount in each.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np

from rig.sensing.calibrating.f_test import critical_f
from rig.sensing.calibrating.fit import Fit, slopes_of
from rig.sensing.calibrating.points import Floats, powers

NORMAL_95: Final = 1.959964  # standard deviations to either side of 95 % of a normal distribution
LEAST_REPEATS: Final = 3  # degrees of freedom; with fewer the scatter about the curve tells
DOUBT: Final = 0.01  # chance of calling sound points off (our own choice)
SURE: Final = 3.0  # standard deviations
_MANY: Final = 1e6


@dataclass(frozen=True, slots=True)
class Sure:
    """A coefficient with its standard uncertainty, its degrees of freedom, and what made it.

    Attributes:
        from_repeats, from_known: parts of `sd`: scatter of the readings; doubt of known values.
        dof: effective degrees of freedom.
    """

    value: float
    from_repeats: float
    from_known: float
    dof: float

    @property
    def sd(self) -> float:
        """Combined standard uncertainty."""
        return sqrt(self.from_repeats**2 + self.from_known**2)

    @property
    def half_95(self) -> float:
        """Half of the interval that holds the truth in 95 of 100 cases."""
        return sqrt(critical_f(0.05, 1, self.dof)) * self.sd

    @property
    def wide_sd(self) -> float:
        """The `sd` of a normal distribution with this interval: few points make it wider."""
        return self.half_95 / NORMAL_95


Parts = Sequence[Mapping[str, tuple[float, float]]]


@dataclass(frozen=True, slots=True)
class Offset:
    """How far the points of one known value lie off the line through all others [known unit].

    `known_sd` is what the stated doubts of the known values alone would make of it.
    """

    known: float
    rows: tuple[int, ...]
    off: float
    known_sd: float


def offset_of(fit: Fit, parts: Parts, rows: Sequence[int]) -> Offset | None:
    """Return the offset of some points (their mean); None where the others make no line."""
    known = np.array([p.known for p in fit.points])
    raw = np.array([p.raw for p in fit.points])
    rest = [i for i in range(len(raw)) if i not in rows]
    if len(set(known[rest])) < 2:
        return None
    slope, _ = np.polyfit(known[rest], raw[rest], 1)
    if not slope:
        return None
    columns = powers(np.asarray((known - fit.middle) / fit.half), 2)
    by: Floats = np.zeros(len(raw))  # the offset as a sum of raw numbers
    by[list(rows)] = 1 / len(rows)
    by[rest] -= columns[list(rows)].mean(axis=0) @ np.linalg.pinv(columns[rest])
    variance = sum(
        float(by @ counts * sd) ** 2 for counts, sd in _pieces(parts)
    )  # raw numbers move by slope x known, so the slope drops out
    return Offset(
        float(known[list(rows)].mean()), tuple(rows), float(by @ raw) / float(slope), sqrt(variance)
    )


def offsets(fit: Fit, parts: Parts) -> list[Offset]:
    """Return the offset of each known value."""
    groups: dict[float, list[int]] = {}
    for row, point in enumerate(fit.points):
        groups.setdefault(point.known, []).append(row)
    found = (offset_of(fit, parts, rows) for rows in groups.values())
    return [offset for offset in found if offset is not None]


def unexplained(fit: Fit, parts: Parts) -> Offset | None:
    """Return the known value that contradicts the others most, beyond scatter and stated doubts.

    By the F test of repeats, and three standard deviations of what was stated.
    """
    lack = fit.lack_of_fit()
    if lack is None or lack.p >= DOUBT:
        return None
    beyond = [one for one in offsets(fit, parts) if abs(one.off) > SURE * one.known_sd]
    return max(beyond, key=lambda one: abs(one.off), default=None)


def scatter_of(fit: Fit, parts: Parts) -> tuple[float, int]:
    """Return the scatter of one point in raw units and its degrees of freedom.

    That of repeats among themselves, which no wrong known value widens; where there are too few,
    or where neither scatter nor stated doubts explain the points, that about the curve.
    """
    raw = np.array([p.raw for p in fit.points])
    curve = powers(fit.scaled, len(fit.inner)) @ np.array(fit.inner)
    left = raw - curve
    about = sqrt(float(left @ left) / fit.dof) if fit.dof else 0.0
    lack = fit.lack_of_fit()
    if lack is None or lack.df_repeats < LEAST_REPEATS or unexplained(fit, parts):
        return about, max(fit.dof, 1)
    groups: dict[float, list[float]] = {}
    for point, value in zip(fit.points, raw, strict=True):
        groups.setdefault(point.known, []).append(float(value))
    among = sum(
        sum((value - sum(each) / len(each)) ** 2 for value in each) for each in groups.values()
    )
    return sqrt(among / lack.df_repeats), lack.df_repeats


def budget(fit: Fit, parts: Parts, least: float = 0.0) -> tuple[Sure, ...]:
    """Return each coefficient of the curve with its uncertainty.

    Args:
        parts: for each point its pieces: name -> (how many, sd of one in the known unit).
        least: scatter of one point to reckon with where no scatter shows at all [raw].
    """
    scatter, dof = scatter_of(fit, parts)
    scatter = scatter or least
    columns = powers(fit.scaled, len(fit.inner))
    outward = np.asarray(fit.outward @ np.linalg.pinv(columns))  # coefficients from raw numbers
    slopes = slopes_of(fit.inner, fit.scaled, fit.half)
    repeats = scatter**2 * (outward**2).sum(axis=1)
    known = np.zeros(len(fit.inner))
    for counts, sd in _pieces(parts):
        known += (outward @ (slopes * counts * sd)) ** 2
    return tuple(
        _sure(value, sqrt(float(repeats[i])), sqrt(float(known[i])), dof)
        for i, value in enumerate(fit.coefficients)
    )


def _pieces(parts: Parts) -> list[tuple[Floats, float]]:
    """How many of each piece are in each point, and the sd of one."""
    found = []
    for name in sorted({name for point in parts for name in point}):
        counts = np.array([point.get(name, (0.0, 0.0))[0] for point in parts], dtype=np.float64)
        found.append((counts, max(point[name][1] for point in parts if name in point)))
    return found


def _sure(value: float, from_repeats: float, from_known: float, dof: int) -> Sure:
    combined = from_repeats**2 + from_known**2
    if from_repeats**2 <= combined / sqrt(_MANY):
        return Sure(value, from_repeats, from_known, _MANY)
    return Sure(value, from_repeats, from_known, min(_MANY, dof * combined**2 / from_repeats**4))
