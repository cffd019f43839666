"""Drops single wrong readings: what an amplifier or an echo gauge now and then makes up.

A reading is judged when the two after it have come, against the median of the five around it
(Hampel's identifier). A step passes, since the median steps with it; one or two wrong
readings among five do not.
"""

from collections import deque
from itertools import islice
from statistics import median

from rig.trial.noise import DifferenceNoise

LAG = 2  # readings on either side
GATE = 6.0  # standard deviations


class Despiker:
    """Passes one channel's readings on, two readings late, less the wrong ones.

    `floor`: a deviation below this is never called wrong [the channel's unit].
    """

    def __init__(self, floor: float) -> None:
        self.dropped = 0
        self._floor = floor
        self._noise = DifferenceNoise()
        self._held: deque[tuple[float, float]] = deque()
        self._passed: deque[tuple[float, float]] = deque(maxlen=LAG)

    def feed(self, at_s: float, value: float) -> list[tuple[float, float]]:
        """Take in a reading; return those that are now known to be sound."""
        self._noise.feed(value)
        self._held.append((at_s, value))
        return self._judged() if len(self._held) > LAG else []

    def rest(self) -> list[tuple[float, float]]:
        """Judge what is still held, with fewer readings after it: for the end of a trial."""
        sound: list[tuple[float, float]] = []
        while self._held:
            sound += self._judged()
        return sound

    def _judged(self) -> list[tuple[float, float]]:
        """The oldest held reading, if it is sound."""
        before = [value for _, value in self._passed]
        reading = self._held.popleft()
        after = [value for _, value in islice(self._held, LAG)]
        # also a wrong reading stands among the next one's five: a step must find its like there
        self._passed.append(reading)
        gate = max(self._floor, GATE * (self._noise.sd or 0.0))
        near = sum(abs(value - reading[1]) <= gate for value in (*before, *after))
        # with two of its neighbours so near, the median of the five is as near
        if near >= 2 or len(before) + len(after) < 2:
            return [reading]
        if abs(reading[1] - median([*before, reading[1], *after])) > gate:
            self.dropped += 1
            return []
        return [reading]
