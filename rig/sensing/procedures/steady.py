"""Wait until a channel stands still, as far as its own noise lets that be known. Pure."""

from collections import deque
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt
from statistics import fmean, median
from typing import Final

HOLD_S: Final = 3.0
LEAST_WORDS: Final = 10
GIVE_UP_S: Final = 45.0
SETTLE_S: Final = 0.5  # a hand leaves the tray while the key is still going down
_SURE: Final = 3.0  # standard deviations between the two halves of a steady stretch
_SWAYS: Final = 1.4  # scatter over scatter from word to word: 1 for noise, more for drift and waves
_CALMS: Final = 6.0  # variance of one half over the other: more is a wave that still dies out
_WRONG: Final = 8.0  # standard deviations from the median: a wrong word, and is left out
_MAY_BE_WRONG: Final = 0.2
_ROUNDING_VARIANCE: Final = 1 / 12  # of whole numbers


@dataclass(frozen=True, slots=True)
class Reading:
    """A steady stretch of one channel, in its raw unit.

    `raw_sd` is the mean's standard uncertainty by noise and rounding, `noise_sd` that of one word.
    """

    raw: float
    raw_sd: float
    noise_sd: float
    words: int
    left_out: int
    from_ms: int
    to_ms: int


@dataclass(frozen=True, slots=True)
class Unsettled:
    """No steady stretch came: the last words `moved` by so much [raw]; None without a word."""

    moved: float | None


class Steady:
    """Feed it every row's word of the channel from when the person said "ready".

    Times out by the stream's own clock. The noise is told from successive differences, so that
    drift does not pass for noise.
    """

    def __init__(self, hold_s: float = HOLD_S, give_up_s: float = GIVE_UP_S) -> None:
        self.part = 0.0  # of the time needed at least, 0 to 1, for a bar on a page
        self._hold_ms, self._give_up_ms = 1000 * hold_s, 1000 * give_up_s
        self._words: deque[tuple[int, int]] = deque()
        self._since_ms: int | None = None

    def feed(self, at_ms: int, word: int | None) -> Reading | Unsettled | None:
        """Take in a row; return the reading when it is there, or that it will not come."""
        if self._since_ms is None:
            self._since_ms = at_ms
        waited_ms = at_ms - self._since_ms
        if word is not None and waited_ms >= 1000 * SETTLE_S:
            self._words.append((at_ms, word))
        while len(self._words) > LEAST_WORDS and at_ms - self._words[0][0] > self._hold_ms + 1:
            self._words.popleft()  # a slow gauge needs longer for as many words
        needed_ms = self._hold_ms + 1000 * SETTLE_S
        self.part = min(1.0, waited_ms / needed_ms)
        if waited_ms >= needed_ms:
            reading = self._reading()
            if reading is not None:
                return reading
        if waited_ms >= self._give_up_ms:
            words = [word for _, word in self._words]
            return Unsettled(max(words) - min(words) if words else None)
        return None

    def _reading(self) -> Reading | None:
        if len(self._words) < LEAST_WORDS:
            return None
        words = [float(word) for _, word in self._words]
        kept = _without_wrong(words)
        if len(kept) < (1 - _MAY_BE_WRONG) * len(words):
            return None
        steps = [(b - a) ** 2 for a, b in pairwise(kept)]
        step_sd = sqrt(fmean(steps) / 2)
        mean, half = fmean(kept), len(kept) // 2
        scatter = sqrt(_variance(kept))
        apart = abs(fmean(kept[half:]) - fmean(kept[:half]))
        noise_sd = sqrt(step_sd**2 + _ROUNDING_VARIANCE)
        calmer, wilder = sorted((_variance(kept[:half]), _variance(kept[half:])))
        if wilder > _CALMS * (calmer + _ROUNDING_VARIANCE):
            return None
        if apart > _SURE * noise_sd * 2 / sqrt(len(kept)) or scatter > _SWAYS * noise_sd:
            return None
        one_sd = max(scatter, step_sd)
        return Reading(
            mean,
            sqrt(one_sd**2 / len(kept) + _ROUNDING_VARIANCE),
            one_sd,
            len(kept),
            len(words) - len(kept),
            self._words[0][0],
            self._words[-1][0],
        )


def _variance(words: list[float]) -> float:
    mean = fmean(words)
    return sum((word - mean) ** 2 for word in words) / (len(words) - 1)


def _without_wrong(words: list[float]) -> list[float]:
    """Leave out single words that no noise explains, such as doubled ones."""
    middle = median(words)
    spread = 1.4826 * median(abs(word - middle) for word in words)  # of normal noise
    return [word for word in words if abs(word - middle) <= _WRONG * spread + 2]


@dataclass(frozen=True, slots=True)
class Watched:
    """What a watch gives: the steady reading, and the means at its very beginning and end.

    A creeping load is not steady at first, so the steady reading hides a part of the creep.
    """

    steady: Reading
    early: Reading
    later: Reading


class Watch:
    """A steady reading, and how a load that lies still goes on creeping."""

    def __init__(self, watch_s: float, hold_s: float = HOLD_S) -> None:
        self.part = 0.0
        self._steady = Steady(hold_s)
        self._watch_ms, self._hold_ms = 1000 * watch_s, 1000 * hold_s
        self._reading: Reading | None = None
        self._since_ms: int | None = None
        self._first: list[tuple[int, int]] = []
        self._last: deque[tuple[int, int]] = deque()

    def feed(self, at_ms: int, word: int | None) -> Watched | Unsettled | None:
        """Take in a row; return what was watched at the end."""
        if self._since_ms is None:
            self._since_ms = at_ms
        waited_ms = at_ms - self._since_ms
        self.part = min(1.0, waited_ms / self._watch_ms)
        if word is not None and waited_ms >= 1000 * SETTLE_S:
            if waited_ms <= 1000 * SETTLE_S + self._hold_ms:
                self._first.append((at_ms, word))
            self._last.append((at_ms, word))
        while self._last and at_ms - self._last[0][0] > self._hold_ms:
            self._last.popleft()
        if self._reading is None:
            came = self._steady.feed(at_ms, word)
            if isinstance(came, Unsettled):
                return came
            self._reading = came
        if self._reading is None or waited_ms < self._watch_ms:
            return None
        if min(len(self._first), len(self._last)) < LEAST_WORDS:
            return Unsettled(None)
        return Watched(self._reading, _mean(self._first), _mean(list(self._last)))


def _mean(rows: list[tuple[int, int]]) -> Reading:
    words = [float(word) for _, word in rows]
    kept = _without_wrong(words)
    mean = fmean(kept)
    one_sd = sqrt(_variance(kept))
    mean_sd = sqrt(one_sd**2 / len(kept) + _ROUNDING_VARIANCE)
    out = len(words) - len(kept)
    return Reading(mean, mean_sd, one_sd, len(kept), out, rows[0][0], rows[-1][0])
