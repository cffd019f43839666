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
        self.noise = DifferenceNoise()
        self._held: deque[tuple[float, float]] = deque()
        self._passed: deque[tuple[float, float]] = deque(maxlen=LAG)

    def feed(self, at_s: float, value: float) -> list[tuple[float, float]]:
        """Take in a reading; return those that are now known to be sound."""
        self.noise.feed(value)
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
        reading = self._held.popleft()
        before, after = self._passed, self._held
        gate = max(self._floor, GATE * (self.noise.sd or 0.0))
        value = reading[1]
        if (
            before
            and after
            and abs(before[-1][1] - value) <= gate
            and abs(after[0][1] - value) <= gate
        ):  # with two of its neighbours so near, the median of the five is as near
            before.append(reading)
            return [reading]
        around = [other for _, other in (*before, reading, *islice(after, LAG))]
        # also a wrong reading stands among the next one's five: a step must find its like there
        before.append(reading)
        if len(around) >= 3 and abs(value - median(around)) > gate:
            self.dropped += 1
            return []
        return [reading]
