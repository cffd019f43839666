"""A fitted calibration curve: what it says, both ways, and how far that may be off."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import sqrt

import numpy as np

from rig.sensing.calibrating.f_test import f_tail
from rig.sensing.calibrating.points import Floats, Point, powers, unfit, variances
from rig.setup import LoadCell

_SURE = 3.0  # standard deviations
_ROUNDING = 1e-13  # parts of the raw numbers: what is smaller comes from the arithmetic


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and its standard uncertainty. `beyond`: outside the range of the known values."""

    value: float
    sd: float
    beyond: bool


@dataclass(frozen=True, slots=True)
class LackOfFit:
    """Whether points scatter more about the curve than repeated ones do among themselves.

    `p` is the chance of an F so large where the curve is right.
    """

    f: float
    df_lack: int
    df_repeats: int
    p: float


@dataclass(frozen=True)
class Fit:
    """A line or a parabola through points, in the order they were taken. `fitting.py` makes them.

    Attributes:
        dof: degrees of freedom: points less coefficients.
        residual_sd: scatter about the curve, in raw units; with `raw_sd` in units of those (1 is
            what they promise). None where the curve goes through all points because it must.
        middle, half: of the known values' range, which is -1 to 1 for `inner`.
        inner, inner_covariance: coefficients on that scale, where no digits are lost.
    """

    points: tuple[Point, ...]
    dof: int
    residual_sd: float | None
    middle: float
    half: float
    inner: tuple[float, ...]
    inner_covariance: tuple[tuple[float, ...], ...]

    @cached_property
    def coefficients(self) -> tuple[float, ...]:
        """c0, c1 (and c2) of raw = c0 + c1 known (+ c2 known^2)."""
        return tuple(map(float, self.outward @ np.array(self.inner)))

    @cached_property
    def covariance(self) -> tuple[tuple[float, ...], ...]:
        """Of the coefficients."""
        outer = self.outward @ np.array(self.inner_covariance) @ self.outward.T
        return tuple(tuple(map(float, row)) for row in outer)

    @property
    def sds(self) -> tuple[float, ...]:
        """Standard uncertainty of each coefficient."""
        return tuple(sqrt(row[i]) for i, row in enumerate(self.covariance))

    def raw_at(self, known: float, raw_sd: float = 0.0) -> Estimate:
        """Return the raw number expected for a known value (GUM H.3.4).

        Args:
            raw_sd: standard uncertainty of one new reading, where that is asked for; without it
                the uncertainty is that of the curve.
        """
        inner = (known - self.middle) / self.half
        value = sum(c * inner**i for i, c in enumerate(self.inner))
        return Estimate(value, sqrt(self._variance(inner) + raw_sd**2), _beyond(inner))

    def known_at(self, raw: float, raw_sd: float = 0.0) -> Estimate:
        """Return the value for a raw number: how a calibrated rig reads.

        Its uncertainty is that of raw number and curve, over the slope (GUM 5.1.2); right where
        the slope is known to some per cent or better.

        Args:
            raw_sd: standard uncertainty of the raw number.

        Raises:
            OutOfRange: the curve is flat or turns within the known values, as far as noise lets
                it be known, or never gets there.
        """
        if not self.steady:
            raise unfit(
                "The raw numbers do not rise or fall steadily with the known values",
                "Check that no two points were swapped, and take them again",
            )
        c0, c1, c2 = (*self.inner, 0.0)[:3]
        square = c1 * c1 - 4 * c2 * (c0 - raw)
        if square <= 0:
            raise unfit(
                f"The calibration curve never comes to {raw:g}",
                "Take points up to the largest value you will use",
            )
        slope = sqrt(square) if c1 > 0 else -sqrt(square)  # there, on the branch of the points
        inner = 2 * (raw - c0) / (c1 + slope)
        sd = sqrt(self._variance(inner) + raw_sd**2) * self.half / abs(slope)
        return Estimate(self.middle + self.half * inner, sd, _beyond(inner))

    @property
    def steady(self) -> bool:
        """Whether it rises, or falls, over all known values, clear of noise."""
        c0, c1, c2 = (*self.inner, 0.0)[:3]
        doubt = _SURE * sqrt(self.inner_covariance[1][1]) + _ROUNDING * abs(c0)
        return abs(c1) - 2 * abs(c2) > doubt  # its slope at the ends is c1 +- 2 c2

    def lack_of_fit(self) -> LackOfFit | None:
        """Return the F test of repeated points (NIST/SEMATECH e-Handbook, 4.6.1.5).

        A repeat is a whole new reading: load off, load on again. None where nothing was repeated,
        or there are no more different known values than coefficients.
        """
        repeats: dict[float, list[int]] = {}
        for i, point in enumerate(self.points):
            repeats.setdefault(point.known, []).append(i)
        df_lack = len(repeats) - len(self.inner)
        df_repeats = len(self.points) - len(repeats)
        if df_lack < 1 or df_repeats < 1:
            return None
        lack = among = 0.0
        for rows in repeats.values():
            here, weight = self.residuals[rows], self.weights[rows]
            mean = float((here * weight).sum() / weight.sum())
            lack += mean * mean * float(weight.sum())
            among += float((weight * (here - mean) ** 2).sum())
        rounding = _ROUNDING**2 * float((self.weights * self._raw**2).sum())
        if among <= rounding:  # repeats alike to the last digit
            f = 0.0 if lack <= rounding else float("inf")
        else:
            f = (lack / df_lack) / (among / df_repeats)
        return LackOfFit(f, df_lack, df_repeats, f_tail(f, df_lack, df_repeats))

    def bend_p(self) -> float:
        """Return the chance of a last coefficient so large if there were none; 1 if unknown."""
        variance = self.inner_covariance[-1][-1]
        if self.dof < 1:
            return 1.0
        if variance == 0:
            return 0.0 if self.inner[-1] else 1.0
        return f_tail(self.inner[-1] ** 2 / variance, 1, self.dof)

    def load_cell(self, known_part_sd: float = 0.0) -> LoadCell:
        """Return the rig file's `[load]`: mass = (count - zero_count) / count_per_g.

        For a straight line of counts against grams. The file has no place for how zero and span
        hang together; a load aboard is a difference, in which the zero drops out.

        Args:
            known_part_sd: standard uncertainty of all known masses together, as a part of them
                (a kitchen scale that shows half a per cent too much).

        Raises:
            OutOfRange: it is no straight line, or one that is flat but for noise.
        """
        if len(self.inner) != 2:
            raise unfit("A rig file holds a straight line only", "Fit a straight line")
        zero, per_g = self.coefficients
        if not self.steady:
            raise unfit(
                "The counts do not follow the load",
                "Check the cell's four wires, and that the load rests on it alone",
            )
        return LoadCell(
            zero_count=zero,
            count_per_g=per_g,
            zero_count_sd=self.sds[0],
            count_per_g_sd=sqrt(self.covariance[1][1] + (per_g * known_part_sd) ** 2),
        )

    @cached_property
    def residuals(self) -> Floats:
        """Raw number less curve, point by point."""
        curve = powers(self.scaled, len(self.inner)) @ np.array(self.inner)
        return np.asarray(self._raw - curve)

    @cached_property
    def weights(self) -> Floats:
        """How much each point counts: 1 / variance; 1 for each without `raw_sd`."""
        slopes = slopes_of(self.inner, self.scaled, self.half)
        return np.asarray(1 / variances(self.points, slopes))

    @property
    def scaled(self) -> Floats:
        """Known values, -1 to 1."""
        return np.asarray((np.array([p.known for p in self.points]) - self.middle) / self.half)

    @property
    def _raw(self) -> Floats:
        return np.array([p.raw for p in self.points])

    @property
    def outward(self) -> Floats:
        """From the scaled coefficients to those of the known value itself."""
        m, h = self.middle / self.half, 1 / self.half
        rows = [[1.0, -m, m * m], [0.0, h, -2 * m * h], [0.0, 0.0, h * h]]
        return np.array(rows)[: len(self.inner), : len(self.inner)]

    def _variance(self, inner: float) -> float:
        """Of the curve at one place."""
        row = powers(np.array([inner]), len(self.inner))[0]
        return max(0.0, float(row @ np.array(self.inner_covariance) @ row))


def slopes_of(inner: Sequence[float] | Floats, scaled: Floats, half: float) -> Floats:
    """Return the slope of a curve at scaled places, in raw per known unit."""
    bend = 2 * inner[2] * scaled if len(inner) > 2 else np.zeros(len(scaled))
    return np.asarray((inner[1] + bend) / half)


def _beyond(inner: float) -> bool:
    return abs(inner) > 1 + 1e-12
