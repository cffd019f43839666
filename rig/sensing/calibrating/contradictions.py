"""Points that contradict each other: swapped, or a known value that is not what it says.

`findings.py` names one point that is off. A wrong mass is off each time it is put on, going up
and going down, and so hides itself from a look at single points; two swapped ones do as well.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import ClassVar, Final

import numpy as np

from rig.sensing.calibrating.f_test import f_tail
from rig.sensing.calibrating.findings import DOUBT, span_of
from rig.sensing.calibrating.fit import Fit
from rig.sensing.calibrating.points import Floats, powers
from rig.setup.finding import Finding

SMALL_PART: Final = 0.0005  # of the span: what is smaller need not be named (our own choice)
_BETTER: Final = 16.0  # times: so much less scatter once two are exchanged
_SURE: Final = 3.0


@dataclass(frozen=True)
class Swapped(Finding):
    """Two points fit once they are exchanged."""

    about: ClassVar[str] = "swapped points"
    numbers: tuple[int, int]  # from 1, in the order taken
    values: tuple[float, float]
    unit: str

    @property
    def ok(self) -> bool:
        """Never: it is only found where two are swapped."""
        return False

    @property
    def says(self) -> str:
        """Which."""
        first, second = (f"{n} ({v:g} {self.unit})" for n, v in self._both)
        return f"Points {first} and {second} fit all others once they are exchanged."

    @property
    def do(self) -> str:
        """Both again."""
        return "Take both again: the two were most likely put on in each other's place."

    @property
    def _both(self) -> Iterator[tuple[int, float]]:
        return iter(zip(self.numbers, self.values, strict=True))


@dataclass(frozen=True)
class WrongValue(Finding):
    """A known value is off by the same amount each time it is used."""

    about: ClassVar[str] = "wrong known value"
    known: float
    reads_as: float
    times: int
    p: float
    unit: str

    @property
    def ok(self) -> bool:
        """Never: it is only found where one is wrong."""
        return False

    @property
    def says(self) -> str:
        """Which, and what it seems to be."""
        return (
            f"What is called {self.known:.6g} {self.unit} reads as {self.reads_as:.5g} {self.unit}"
            f" all {self.times} times, by the line through the others."
        )

    @property
    def do(self) -> str:
        """Weigh it."""
        return "Weigh or count it once more, put in what it is, or leave it out."


@dataclass(frozen=True)
class DoNotFit(Finding):
    """The known values do not lie on one curve, and no single one is to blame."""

    about: ClassVar[str] = "do not fit together"
    known: float
    off: float
    unit: str

    @property
    def ok(self) -> bool:
        """Never: it is only found where they do not."""
        return False

    @property
    def says(self) -> str:
        """Where it is worst."""
        return (
            f"The known values do not fit each other: at {self.known:.6g} {self.unit} they are"
            f" {abs(self.off):.3g} {self.unit} apart, far more than repeating them shows."
        )

    @property
    def do(self) -> str:
        """More of them."""
        return "Weigh each once more, and take at least four different ones."


def swapped(fit: Fit, unit: str) -> Swapped | None:
    """Return the two points that fit once exchanged, if there are two."""
    known, raw = _columns(fit)
    before = _rss(known, raw)
    if len(raw) < 5 or before <= _rounding(raw):
        return None
    best, pair = before, None
    for i, j in combinations(range(len(raw)), 2):
        if known[i] != known[j]:
            other = known.copy()
            other[i], other[j] = known[j], known[i]
            rss = _rss(other, raw)
            if rss < best:
                best, pair = rss, (i, j)
    if pair is None or best * _BETTER > before:
        return None
    i, j = pair
    other = known.copy()
    other[i], other[j] = known[j], known[i]
    line = np.polyfit(other, raw, 1)
    scatter = float(np.sqrt(best / (len(raw) - 2)))
    step = abs(line[0] * (known[i] - known[j]))  # what the exchange is about, in raw units
    if step < 2 * _SURE * scatter or step < SMALL_PART * abs(line[0]) * 2 * fit.half:
        return None
    return Swapped((i + 1, j + 1), (float(known[i]), float(known[j])), unit)


def wrong_value(fit: Fit, known_sd: Sequence[float], unit: str) -> WrongValue | None:
    """Return the known value used more than once that contradicts all others.

    Mean shift of a group against the line through the rest: F test, times the number of groups
    (Bonferroni). A bend must explain the points far worse.

    Args:
        known_sd: stated uncertainty of each point's known value: within three of these nothing
            is wrong.
    """
    known, raw = _columns(fit)
    groups = _groups(known)
    if len(groups) < 4 or fit.dof < 3:
        return None
    bent = _rss(known, raw, 3)
    worst: WrongValue | None = None
    for value, rows in groups.items():
        if len(rows) < 2 or value == known.min():
            continue
        rest = np.delete(np.arange(len(raw)), rows)
        dof = len(rest) - 2
        line = np.polyfit(known[rest], raw[rest], 1)
        rss = float(((raw[rest] - np.polyval(line, known[rest])) ** 2).sum())
        among = float(((raw[rows] - raw[rows].mean()) ** 2).sum())
        scatter = max((rss + among) / (dof + len(rows) - 1), _rounding(raw))
        off_raw = float(raw[rows].mean() - np.polyval(line, value))
        middle = known[rest].mean()
        leverage = 1 / len(rest) + (value - middle) ** 2 / ((known[rest] - middle) ** 2).sum()
        f = off_raw**2 / (scatter * (1 / len(rows) + float(leverage)))
        p = min(1.0, len(groups) * f_tail(f, 1, dof + len(rows) - 1))
        off = off_raw / float(line[0]) if line[0] else 0.0
        stated = _SURE * known_sd[rows[0]]
        small = SMALL_PART * 2 * fit.half
        if p >= DOUBT or abs(off) <= max(stated, small) or 4 * (rss + among) > bent:
            continue
        if worst is None or p < worst.p:
            worst = WrongValue(value, value + off, len(rows), p, unit)
    return worst


def do_not_fit(fit: Fit, known_sd: Sequence[float], unit: str) -> DoNotFit | None:
    """Return where the known values contradict the curve, by the F test of repeats."""
    lack = fit.lack_of_fit()
    if lack is None or lack.p >= DOUBT:
        return None
    known, _ = _columns(fit)
    slope = span_of(fit) / (2 * fit.half)
    if not slope:
        return None
    worst = max(
        (
            (float(fit.residuals[rows].mean()) / slope, value, rows[0])
            for value, rows in _groups(known).items()
        ),
        key=lambda one: abs(one[0]),
    )
    off, value, row = worst
    if abs(off) <= max(_SURE * known_sd[row], SMALL_PART * 2 * fit.half):
        return None
    return DoNotFit(value, off, unit)


def _columns(fit: Fit) -> tuple[Floats, Floats]:
    return np.array([p.known for p in fit.points]), np.array([p.raw for p in fit.points])


def _groups(known: Floats) -> dict[float, list[int]]:
    groups: dict[float, list[int]] = {}
    for row, value in enumerate(known):
        groups.setdefault(float(value), []).append(row)
    return groups


def _rss(known: Floats, raw: Floats, size: int = 2) -> float:
    """What a line or parabola leaves over."""
    middle, half = (known.max() + known.min()) / 2, (known.max() - known.min()) / 2
    columns = powers(np.asarray((known - middle) / half), size)
    inner, *_ = np.linalg.lstsq(columns, raw, rcond=None)
    return float(((raw - columns @ inner) ** 2).sum())


def _rounding(raw: Floats) -> float:
    return 1e-24 * float((raw**2).sum()) + 1e-300
