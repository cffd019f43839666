"""What else happens at a tub: hands where they should not be, and a board that stumbles."""

from math import pi, sin
from typing import Literal, Self

from pydantic import Field, model_validator

from rig.setup.values import Finite, Positive, Sd
from rig.simulator.parts import Part

_TOUCH_S = 0.1  # a hand comes down and goes away so fast
_LEAN_S = 1.5  # a body leans slowly
_SWAY_HZ = 0.3

Kind = Literal["press", "lean", "nudge", "beam", "loan", "drop", "reset", "rate", "fault", "port"]
How = Literal["silent", "saturated", "frozen"]


class Disturbance(Part):
    """`[[trial.disturb]]`: one thing that happens, `at_s` after the start mark.

    press: what the cell bears is pressed by `by_g` for `for_s`; negative lifts it.
    lean: somebody leans on the table: a slow push of `by_g`, and shaking of `shake_g` (sd).
    nudge: the tub is knocked: waves of `by_mm`; with the tub on the cell, `by_g` ring as well.
    beam: a hand in a gauge's beam, `up_mm` above the water, for `for_s`.
    loan: an item put aboard and taken back after `for_s`, unless the boat has gone.
    drop: an item falls beside the boat, `into` the tub's water or on the floor.
    reset: the board loses power and says nothing for `for_s`.
    rate: the board goes on at `rate_hz`.
    fault: a sensor (`channel`) is ill for `for_s`, and `how`: silent, saturated (the scale
        only), or frozen on its last word.
    port: the line is broken for `for_s`; the board goes on, unheard.
    """

    kind: Kind
    at_s: Sd
    for_s: Positive = 1.0
    by_g: Finite = 0.0
    shake_g: Sd = 0.0
    by_mm: Sd = 0.0
    up_mm: Positive = 100.0
    channel: Literal["load", "surface", "rim", "water"] = "rim"
    how: How = "silent"
    into: Literal["water", "floor"] = "floor"
    rate_hz: float = Field(default=10.0, gt=0, le=400)

    @model_validator(mode="after")
    def _does_something(self) -> Self:
        if self.kind in ("press", "lean") and not (self.by_g or self.shake_g):
            raise ValueError("give by_g: how hard")
        if self.kind == "nudge" and not self.by_mm:
            raise ValueError("give by_mm: how high the waves are")
        if self.kind == "beam" and self.channel not in ("surface", "rim"):
            raise ValueError("only a gauge has a beam")
        if self.kind == "fault" and self.how == "saturated" and self.channel != "load":
            raise ValueError("only the scale saturates")
        return self

    @property
    def ends_s(self) -> float:
        """When it is over, counted as `at_s`."""
        return self.at_s + self.for_s

    def force_g(self, at_s: float) -> float:
        """What a pressing hand or a leaning body adds to the cell [g]."""
        if self.kind not in ("press", "lean"):
            return 0.0
        rise_s = min(_TOUCH_S if self.kind == "press" else _LEAN_S, self.for_s / 2)
        inside = min(at_s - self.at_s, self.ends_s - at_s) / rise_s
        share = min(max(inside, 0.0), 1.0)
        if self.kind == "lean":  # nobody leans quite still
            share *= 1 + 0.2 * sin(2 * pi * _SWAY_HZ * (at_s - self.at_s))
        return self.by_g * share

    def during(self, at_s: float) -> bool:
        """Whether it is going on."""
        return self.at_s <= at_s < self.ends_s
