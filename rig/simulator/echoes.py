"""A distance gauge's own mistakes: no echo, a false one, a stuck float, a wrong height."""

from random import Random

from rig.simulator.troubles import EchoPart


class Echoes:
    """One gauge. Draws only for what is switched on."""

    def __init__(self, part: EchoPart, rate_hz: float, rng: Random) -> None:
        self.part = part
        self._rng = rng
        self._stuck_mm: float | None = None
        self._gap = False
        # a two-state chain: gaps last `burst` readings in the mean and make up `missing` of all
        burst = max(1.0, part.burst_s * rate_hz)
        self._ends = 1 / burst
        rest = 1 - part.missing
        self._begins = min(1.0, part.missing / rest / burst) if rest else 1.0

    def floated(self, seen_mm: float) -> float:
        """Return the height a float really has: it sticks, then follows with a jerk [mm]."""
        if not self.part.sticks_mm:
            return seen_mm
        if self._stuck_mm is None or abs(seen_mm - self._stuck_mm) > self.part.sticks_mm:
            self._stuck_mm = seen_mm
        return self._stuck_mm

    def echo(self, distance_mm: float) -> float | None:
        """Return the distance as it comes back [mm]; None without an echo."""
        distance_mm -= self.part.offset_mm  # a height read too high is a distance too short
        if self.part.missing:
            turns = self._ends if self._gap else self._begins
            if self.part.burst_s == 0:  # each on its own: no memory
                self._gap = self._rng.random() < self.part.missing
            elif self._rng.random() < turns:
                self._gap = not self._gap
            if self._gap:
                return None
        if self.part.doubled or self.part.halved:
            draw = self._rng.random()
            if draw < self.part.doubled:
                return 2 * distance_mm
            if draw < self.part.doubled + self.part.halved:
                return distance_mm / 2
        return distance_mm
