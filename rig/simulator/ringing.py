"""A damped swing about zero: heave of the hull, waves on the water."""

from math import cos, exp, pi, sin


class Ringing:
    """x(t) = exp(-t / decay_s) (a cos wt + b sin wt), stepped exactly, so any step is stable."""

    def __init__(self, hz: float, decay_s: float) -> None:
        self.x = 0.0
        self._v = 0.0
        self._w = 2 * pi * hz
        self._damping = 1 / decay_s

    def push(self, by: float) -> None:
        """Move it aside and let go."""
        self.x += by

    def step(self, dt_s: float) -> None:
        """Go on by a time."""
        if self.x == self._v == 0:
            return
        w, damping = self._w, self._damping
        b = (self._v + damping * self.x) / w
        shrink, c, s = exp(-damping * dt_s), cos(w * dt_s), sin(w * dt_s)
        x = shrink * (self.x * c + b * s)
        self._v = shrink * w * (b * c - self.x * s) - damping * x
        self.x = x
