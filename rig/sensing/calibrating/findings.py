"""What a look at calibration points finds: contradictions, hysteresis, a zero that stays away.

Each finding has its numbers, says what they mean, and one thing to do. Limits are parts of the
span, from the raw number of the smallest to that of the largest known value.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt
from statistics import fmean
from typing import ClassVar, Final

import numpy as np

from rig.sensing.calibrating.f_test import f_tail
from rig.sensing.calibrating.fit import Fit
from rig.sensing.calibrating.fitting import fit_line, fit_parabola
from rig.sensing.calibrating.points import Point, powers
from rig.setup.finding import Finding

DOUBT: Final = 0.01  # chance that a sound set of points holds one that is called off (our choice)
TURN_PART: Final = 0.02  # a step back so large is no noise, where nobody said how large that is
HYSTERESIS_PART: Final = 0.001  # our own choice
# OIML R 60-1:2021, 5.3.2 and Table 4: within 0.5 v; v is a thousandth of the span for a cell of
# 1000 intervals.
ZERO_PART: Final = 0.0005
_SURE: Final = 3.0  # standard deviations


@dataclass(frozen=True)
class PointOff(Finding):
    """One point contradicts all others: `off` is how far its known value seems wrong."""

    about: ClassVar[str] = "contradictory point"
    number: int  # from 1, in the order taken
    known: float
    off: float
    p: float  # the chance of a point so far off among so many sound ones
    unit: str

    @property
    def ok(self) -> bool:
        """Never: it is only found where it is off."""
        return False

    @property
    def says(self) -> str:
        """Which, and how far."""
        named = f"Point {self.number} ({self.known:g} {self.unit})"
        return f"{named} does not fit the others: it reads as {self.known + self.off:.5g}."

    @property
    def do(self) -> str:
        """Once more."""
        return f"Take {self.known:g} {self.unit} again, and look whether it is what it says."


@dataclass(frozen=True)
class TurnsBack(Finding):
    """Between two known values the raw numbers go against all others."""

    about: ClassVar[str] = "turns back"
    low: float
    high: float
    unit: str

    @property
    def ok(self) -> bool:
        """Never: it is only found where it turns."""
        return False

    @property
    def says(self) -> str:
        """Where."""
        between = f"between {self.low:g} and {self.high:g} {self.unit}"
        return f"The readings go the wrong way {between}."

    @property
    def do(self) -> str:
        """Swapped, most likely."""
        return f"Take {self.low:g} and {self.high:g} {self.unit} again: they may be swapped."


@dataclass(frozen=True)
class Hysteresis(Finding):
    """Difference between going down and going up, where it is largest, as a part of the span."""

    about: ClassVar[str] = "hysteresis"
    known: float
    part: float
    part_sd: float  # by `raw_sd`; 0 without
    unit: str

    @property
    def ok(self) -> bool:
        """Whether it is within the limit, as far as noise lets it be known."""
        return abs(self.part) <= HYSTERESIS_PART + _SURE * self.part_sd

    @property
    def says(self) -> str:
        """How much, and where."""
        return (
            f"Going down reads {100 * self.part:+.3f} % of the span against going up, at"
            f" {self.known:g} {self.unit}."
        )

    @property
    def do(self) -> str:
        """What rubs."""
        return "Look for what rubs or bends beside the cell, and tighten its screws."


@dataclass(frozen=True)
class ZeroReturn(Finding):
    """Difference between the last and the first reading without load, as a part of the span."""

    about: ClassVar[str] = "zero return"
    part: float
    part_sd: float  # by `raw_sd`; 0 without

    @property
    def ok(self) -> bool:
        """Whether it is within the limit, as far as noise lets it be known."""
        return abs(self.part) <= ZERO_PART + _SURE * self.part_sd

    @property
    def says(self) -> str:
        """How far away it stayed."""
        return f"The zero came back to within {100 * self.part:+.3f} % of the span."

    @property
    def do(self) -> str:
        """Warm, settle, once more."""
        return "Let the rig stand switched on for ten minutes, then take all points again."


def findings(fit: Fit, unit: str = "g") -> list[Finding]:
    """Return what the points of a fit show. Hysteresis and zero return only where measured.

    Args:
        unit: of the known values, for the words.
    """
    points = fit.points
    low, span = min(point.known for point in points), span_of(fit)
    found: list[Finding | None] = [
        _point_off(fit, unit),
        _turns_back(points, span, unit),
    ]
    if fit.steady:
        found += [_hysteresis(points, low, span, unit), _zero_return(points, low, span)]
    return [finding for finding in found if finding is not None]


def _point_off(fit: Fit, unit: str) -> PointOff | None:
    """The worst residual, each judged by the scatter of the other points.

    Source: externally studentized residuals, Belsley, Kuh and Welsch, Regression Diagnostics
    (Wiley 1980), 2.1; the chance times the number of points (Bonferroni). From memory.
    """
    if fit.dof < 2:
        return None
    n, columns = len(fit.points), powers(fit.scaled, len(fit.inner))
    root = np.sqrt(fit.weights)
    q, _ = np.linalg.qr(columns * root[:, None])
    free = 1 - (q**2).sum(axis=1)  # what a point does not draw to itself
    residuals = fit.residuals * root
    own = np.where(free > 1e-9, residuals**2 / np.maximum(free, 1e-9), 0.0)
    worst = int(own.argmax())
    others = float(residuals @ residuals) - float(own[worst])
    rounding = 1e-26 * float((fit.weights * np.array([p.raw**2 for p in fit.points])).sum())
    if own[worst] <= rounding:
        return None
    f = float("inf") if others <= rounding else float(own[worst]) / (others / (fit.dof - 1))
    p = min(1.0, n * f_tail(f, 1, fit.dof - 1))
    if p >= DOUBT:
        return None
    point, same = fit.points[worst], fit_line if len(fit.inner) == 2 else fit_parabola
    rest = same(p for i, p in enumerate(fit.points) if i != worst)
    off_raw, span = point.raw - rest.raw_at(point.known).value, span_of(rest)
    off = off_raw * 2 * rest.half / span if span else 0.0
    return PointOff(worst + 1, point.known, off, p, unit)


def span_of(fit: Fit) -> float:
    """Return the raw number of the largest known value less that of the smallest."""
    ends = (fit.middle - fit.half, fit.middle + fit.half)
    return fit.raw_at(ends[1]).value - fit.raw_at(ends[0]).value


def _turns_back(points: Sequence[Point], span: float, unit: str) -> TurnsBack | None:
    groups: dict[float, list[Point]] = {}
    for point in points:
        groups.setdefault(point.known, []).append(point)
    for low, high in pairwise(sorted(groups)):
        step = _mean(groups[high]) - _mean(groups[low])
        sd = sqrt(_mean_variance(groups[high]) + _mean_variance(groups[low]))
        if step * span < 0 and abs(step) > (2 * _SURE * sd if sd else TURN_PART * abs(span)):
            return TurnsBack(low, high, unit)
    return None


def _hysteresis(points: Sequence[Point], low: float, span: float, unit: str) -> Hysteresis | None:
    up: dict[float, list[Point]] = {}
    down: dict[float, list[Point]] = {}
    going = up
    for before, point in pairwise((points[0], *points)):
        if point.known != before.known:
            going = up if point.known > before.known else down
        going.setdefault(point.known, []).append(point)
    both = [
        Hysteresis(
            known,
            (_mean(down[known]) - _mean(up[known])) / span,
            sqrt(_mean_variance(down[known]) + _mean_variance(up[known])) / abs(span),
            unit,
        )
        for known in up
        if known in down and known != low  # the zero is looked at by itself
    ]
    return max(both, key=lambda finding: abs(finding.part), default=None)


def _zero_return(points: Sequence[Point], low: float, span: float) -> ZeroReturn | None:
    first, last = points[0], points[-1]
    if not first.known == last.known == low or all(p.known == low for p in points):
        return None
    sd = sqrt(_mean_variance([first]) + _mean_variance([last]))
    return ZeroReturn((last.raw - first.raw) / span, sd / abs(span))


def _mean(points: Sequence[Point]) -> float:
    return fmean(point.raw for point in points)


def _mean_variance(points: Sequence[Point]) -> float:
    return sum((point.raw_sd or 0.0) ** 2 for point in points) / len(points) ** 2
