"""Points that contradict each other: swapped, or a known value that is not what it says.

`findings.py` names one point that is off. A wrong mass is off each time it is put on, going up
and going down, and so hides itself from a look at single points; two swapped ones do as well.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import hypot
from typing import ClassVar, Final

import numpy as np

from rig.sensing.calibrating.budget import DOUBT, SURE, Parts, offsets, unexplained
from rig.sensing.calibrating.f_test import f_tail
from rig.sensing.calibrating.fit import Fit
from rig.sensing.calibrating.points import Floats, powers
from rig.setup.finding import Finding

SMALL_PART: Final = 0.0005  # of the span: what is smaller need not be named (our own choice)
_BETTER: Final = 16.0  # times: so much less scatter once two are exchanged


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


def swapped(fit: Fit, known_sd: Sequence[float], unit: str) -> Swapped | None:
    """Return the two points that fit once exchanged, if there are two.

    Args:
        known_sd: of each point: values closer than their doubts cannot be told apart so.
    """
    known, raw = _columns(fit)
    before = _rss(known, raw)
    if len(raw) < 5 or before <= _rounding(raw):
        return None
    best, pair = before, None
    for i, j in combinations(range(len(raw)), 2):
        doubt = SURE * hypot(known_sd[i], known_sd[j])
        if abs(known[i] - known[j]) > doubt:
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
    if step < 2 * SURE * scatter or step < SMALL_PART * abs(line[0]) * 2 * fit.half:
        return None
    return Swapped((i + 1, j + 1), (float(known[i]), float(known[j])), unit)


def wrong_value(fit: Fit, parts: Parts, unit: str) -> WrongValue | None:
    """Return the known value used more than once that contradicts all others.

    Mean shift of a group against the line through the rest: F test, times the number of groups
    (Bonferroni). It must also lie beyond what its own and the others' stated doubts explain, and
    a bend must explain the points far worse.

    Args:
        parts: each point's pieces, see `budget`.
    """
    known, raw = _columns(fit)
    all_offsets = offsets(fit, parts)
    if len(all_offsets) < 4 or fit.dof < 3:
        return None
    bent = _rss(known, raw, 3)
    worst: WrongValue | None = None
    for offset in all_offsets:
        rows = list(offset.rows)
        if len(rows) < 2 or offset.known == known.min():
            continue
        rest = np.delete(np.arange(len(raw)), rows)
        slope, _ = np.polyfit(known[rest], raw[rest], 1)
        left = _rss(known[rest], raw[rest]) + float(((raw[rows] - raw[rows].mean()) ** 2).sum())
        dof = len(raw) - 3
        middle = known[rest].mean()
        leverage = (
            1 / len(rest) + (offset.known - middle) ** 2 / ((known[rest] - middle) ** 2).sum()
        )
        scatter = max(left / dof, _rounding(raw))
        f = (offset.off * float(slope)) ** 2 / (scatter * (1 / len(rows) + float(leverage)))
        p = min(1.0, len(all_offsets) * f_tail(f, 1, dof))
        enough = max(SURE * offset.known_sd, SMALL_PART * 2 * fit.half)
        if p >= DOUBT or abs(offset.off) <= enough or 4 * left > bent:
            continue
        if worst is None or p < worst.p:
            reads_as = offset.known + offset.off
            worst = WrongValue(offset.known, reads_as, len(rows), p, unit)
    return worst


def do_not_fit(fit: Fit, parts: Parts, unit: str) -> DoNotFit | None:
    """Return where the known values contradict the curve, and no single one is to blame."""
    worst = unexplained(fit, parts)
    if worst is None or abs(worst.off) <= SMALL_PART * 2 * fit.half:
        return None
    return DoNotFit(worst.known, worst.off, unit)


def bend_is_best(fit: Fit) -> bool:
    """Whether a parabola leaves less than the line does without any one known value or point.

    Each of these has one number more than the line, so what they leave may be compared.
    """
    known, raw = _columns(fit)
    rows = range(len(raw))
    groups = [[i for i in rows if known[i] == value] for value in set(known)]
    bent = _rss(known, raw, 3)
    for left_out in [*groups, *([i] for i in rows)]:
        rest = [i for i in rows if i not in left_out]
        among = raw[left_out]
        left = _rss(known[rest], raw[rest]) + float(((among - among.mean()) ** 2).sum())
        if len(set(known[rest])) > 2 and left <= bent:
            return False
    return True


def _columns(fit: Fit) -> tuple[Floats, Floats]:
    return np.array([p.known for p in fit.points]), np.array([p.raw for p in fit.points])


def _rss(known: Floats, raw: Floats, size: int = 2) -> float:
    """What a line or parabola leaves over."""
    middle, half = (known.max() + known.min()) / 2, (known.max() - known.min()) / 2
    columns = powers(np.asarray((known - middle) / half), size)
    inner, *_ = np.linalg.lstsq(columns, raw, rcond=None)
    return float(((raw - columns @ inner) ** 2).sum())


def _rounding(raw: Floats) -> float:
    return 1e-24 * float((raw**2).sum()) + 1e-300
