"""The air of the room: its temperature wanders, and with it echoes and the cell's zero."""

from math import sqrt
from random import Random

from rig.simulator.troubles import RoomPart

_LOW_C, _HIGH_C = 0.0, 30.0  # as far as the speed of sound is known (rig.physics.air)


class Room:
    """`air_c` is None where the set-up's own figure is taken as true."""

    def __init__(self, part: RoomPart, rng: Random) -> None:
        self._start_c = part.air_c
        self._walk_c, self._rng = part.walk_c, rng
        self.change_c = 0.0  # since the rig was switched on

    @property
    def air_c(self) -> float | None:
        """The true temperature now [deg C]."""
        return None if self._start_c is None else self._start_c + self.change_c

    def step(self, dt_s: float) -> None:
        """Go on by a time: a random walk, turned back where the formulas end."""
        if not self._walk_c:
            return
        step_c = self._rng.gauss(0.0, self._walk_c * sqrt(dt_s / 60))
        start_c = 20.0 if self._start_c is None else self._start_c
        if not _LOW_C <= start_c + self.change_c + step_c <= _HIGH_C:
            step_c = -step_c
        self.change_c += step_c
