"""Carries out what hands do besides loading: on the world, as its time comes."""

from collections.abc import Sequence
from dataclasses import dataclass

from rig.simulator.disturbances import Disturbance
from rig.simulator.world import World


@dataclass(frozen=True, slots=True)
class Moved:
    """One item that went somewhere, and when."""

    at_s: float
    mass_g: float
    where: str = "aboard"


class Mishaps:
    """The disturbances of one trial; `dropped` and `returned` are what really came of them."""

    def __init__(self, disturb: Sequence[Disturbance], start_s: float) -> None:
        self.dropped: list[Moved] = []
        self.returned: list[tuple[Moved, float]] = []  # lent, and when it came back
        self.lent: Moved | None = None
        self._start_s = start_s
        self._back_s = 0.0
        self._waiting = sorted(disturb, key=lambda d: d.at_s, reverse=True)
        self._lasting: list[Disturbance] = []

    def work(self, world: World) -> Moved | None:
        """Do what is due; return an item that was lent and went down with the boat."""
        if not (self._waiting or self._lasting or self.lent):
            return None
        at_s = world.now_s - self._start_s
        while self._waiting and self._waiting[-1].at_s <= at_s:
            self._begin(self._waiting.pop(), world)
        self._lasting = [d for d in self._lasting if d.during(at_s)]
        world.pressed_g = sum(d.force_g(at_s) for d in self._lasting)
        world.shaken_g = sum(d.shake_g for d in self._lasting)
        world.in_beam_mm = {d.channel: d.up_mm for d in self._lasting if d.kind == "beam"}
        return self._take_back(world) if self.lent else None

    def _begin(self, what: Disturbance, world: World) -> None:
        afloat = world.vessel is not None and world.vessel.gone_at_s is None
        if what.kind == "nudge":
            world.nudge(what.by_mm, what.by_g)
        elif what.kind == "loan" and afloat and world.tray and not self.lent:
            self.lent = Moved(world.now_s, world.land_next())
            self._back_s = self._start_s + what.ends_s
        elif what.kind == "drop" and world.tray:
            mass_g = world.drop_next(into_water=what.into == "water")
            self.dropped.append(Moved(world.now_s, mass_g, what.into))
        elif what.kind in ("press", "lean", "beam"):
            self._lasting.append(what)

    def _take_back(self, world: World) -> Moved | None:
        lent, vessel = self.lent, world.vessel
        if lent is None or vessel is None:
            return None
        if vessel.gone_at_s is not None:
            self.lent = None
            return lent
        if world.now_s >= self._back_s:
            world.take_back(lent.mass_g)
            self.returned.append((lent, world.now_s))
            self.lent = None
        return None
