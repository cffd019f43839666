"""How noisy a channel is, told from its own successive differences."""

from collections import deque
from math import sqrt
from statistics import median

_SPAN = 240  # differences looked at: long enough for 5 %, short enough to follow a change
_LEAST = 6
_NORMAL_MEDIAN = 0.6745  # median of |x| for a unit normal


class DifferenceNoise:
    """Standard deviation of white noise that rides on steps.

    The median of |x[i] - x[i-1]| ignores the few differences that hold a step, so the
    figure stays right while load goes aboard. Divided by sqrt(2), for the difference of
    two readings, and by 0.6745, the median of a unit normal's magnitude.
    """

    def __init__(self) -> None:
        self.sd: float | None = None  # so far, in the channel's unit; None before six differences
        self._differences: deque[float] = deque(maxlen=_SPAN)
        self._last: float | None = None
        self._due = _LEAST  # so many differences more, and it is worked out again

    def feed(self, value: float) -> None:
        """Take in the next reading."""
        last, self._last = self._last, value
        if last is None:
            return
        self._differences.append(abs(value - last))
        self._due -= 1
        if self._due <= 0:
            self.sd = median(self._differences) / (_NORMAL_MEDIAN * sqrt(2))
            self._due = min(_SPAN // 10, len(self._differences) // 3)
