"""Watching an undisturbed tub: readings in, a short series out. Light, however long it takes.

A night at ten readings a second is 360 000 of them. They are gathered in even spans of time,
each told by the mean of its middle half (which single wrong echoes do not move), and when there
are too many spans, neighbours join. Time comes in with the readings.
"""

from collections import deque
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from rig.sensing.readings import Reading

FIRST_SPAN_S: Final = 5.0
MOST_SPANS: Final = 80  # above it neighbours join: 40 to 80 are plenty for a trend
MOST_SAMPLES: Final = 1600  # single readings kept, evenly thinned, to look for false echoes
LEAST_IN_SPAN: Final = 3

Floats = NDArray[np.float64]


class By(StrEnum):
    """What the water is watched by."""

    LEVEL = "level"  # a gauge above the water, in mm
    WEIGHT = "weight"  # the load cell under the tub, in g


@dataclass(frozen=True, slots=True)
class Watched:
    """What a watch has given so far.

    Attributes:
        at_h, value: shape (n,), one per span; `value` in mm or g.
        water_c: shape (n,), NaN where no thermometer spoke.
        sample_h, sample: shape (m,), single readings, evenly thinned.
        minutes: from the first reading to the last.
        heard: share of the rows in which the channel said anything.
    """

    by: By
    at_h: Floats
    value: Floats
    water_c: Floats
    sample_h: Floats
    sample: Floats
    minutes: float
    heard: float


@dataclass(slots=True)
class _Span:
    """One stretch of time: sums of its parts, so that neighbours can join."""

    number: int
    at_s: float
    value: float
    water_c: float | None
    readings: int

    def joined(self, other: "_Span") -> "_Span":
        both = self.readings + other.readings
        share = self.readings / both

        def mean(a: float, b: float) -> float:
            return a * share + b * (1 - share)

        water_c = self.water_c if other.water_c is None else other.water_c
        if self.water_c is not None and other.water_c is not None:
            water_c = mean(self.water_c, other.water_c)
        at_s, value = mean(self.at_s, other.at_s), mean(self.value, other.value)
        return _Span(self.number, at_s, value, water_c, both)


class TubWatch:
    """Feeds on readings of a tub that nobody touches; `watched()` tells the series so far."""

    def __init__(self, by: By) -> None:
        self.by = by
        self._span_s = FIRST_SPAN_S
        self._spans: list[_Span] = []
        self._open: list[tuple[float, float]] = []  # the present span's (s, value)
        self._water: list[float] = []
        self._number = 0
        self._first_s: float | None = None
        self._last_s = 0.0
        self._rows = self._heard = 0
        self._stride = 1
        self._sample: deque[tuple[float, float]] = deque()

    @property
    def minutes(self) -> float:
        """From the first reading to the newest."""
        return 0.0 if self._first_s is None else (self._last_s - self._first_s) / 60

    def feed(self, reading: Reading) -> None:
        """Take in the next reading; a channel that says nothing is counted as such."""
        at_s = reading.at_ms / 1000
        if self._first_s is None:
            self._first_s = at_s
        self._last_s = at_s
        self._rows += 1
        number = int((at_s - self._first_s) // self._span_s)
        if number != self._number:
            self._close()
            self._number = int((at_s - self._first_s) // self._span_s)
        if reading.water_c is not None:
            self._water.append(reading.water_c)
        value = reading.level_mm if self.by is By.LEVEL else reading.gross_g
        if value is None:
            return
        self._heard += 1
        self._open.append((at_s, value))
        if self._heard % self._stride == 0:
            self._keep(at_s, value)

    def watched(self) -> Watched:
        """Return the series so far: whole spans only."""
        first_s = self._first_s or 0.0
        spans, sample = self._spans, self._sample
        return Watched(
            self.by,
            np.array([(span.at_s - first_s) / 3600 for span in spans]),
            np.array([span.value for span in spans]),
            np.array([np.nan if span.water_c is None else span.water_c for span in spans]),
            np.array([(at_s - first_s) / 3600 for at_s, _ in sample]),
            np.array([value for _, value in sample]),
            self.minutes,
            self._heard / self._rows if self._rows else 0.0,
        )

    def _keep(self, at_s: float, value: float) -> None:
        self._sample.append((at_s, value))
        if len(self._sample) > MOST_SAMPLES:
            self._sample = deque(list(self._sample)[::2])
            self._stride *= 2

    def _close(self) -> None:
        """End the present span; join neighbours where there are too many."""
        if len(self._open) >= LEAST_IN_SPAN:
            water_c = sum(self._water) / len(self._water) if self._water else None
            at_s = sum(s for s, _ in self._open) / len(self._open)
            value = _middle_mean([value for _, value in self._open])
            self._spans.append(_Span(self._number, at_s, value, water_c, len(self._open)))
        self._open.clear()
        self._water.clear()
        if len(self._spans) > MOST_SPANS:
            self._span_s *= 2
            self._spans = _halved(self._spans)


def _halved(spans: list[_Span]) -> list[_Span]:
    """Join the spans 2k and 2k + 1; one that has lost its neighbour stays."""
    halved: list[_Span] = []
    for span in spans:
        number = span.number // 2
        if halved and halved[-1].number == number:
            halved[-1] = halved[-1].joined(span)
        else:
            halved.append(replace(span, number=number))
    return halved


def _middle_mean(values: list[float]) -> float:
    """Mean of the middle half: a quarter of false echoes on either side leaves it alone."""
    ordered = sorted(values)
    cut = len(ordered) // 4
    middle = ordered[cut : len(ordered) - cut]
    return sum(middle) / len(middle)
