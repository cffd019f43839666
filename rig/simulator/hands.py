"""Hands that put items aboard, by a plan, until the boat goes down or the tray is empty."""

from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

from rig.setup import Item
from rig.simulator.disturbances import Disturbance
from rig.simulator.mishaps import Mishaps
from rig.simulator.world import World


@dataclass(frozen=True, slots=True)
class Plan:
    """What to put aboard, and when.

    Args:
        steps: (after_s, items) one after the other; `after_s` counts from the addition before,
            the first from the moment the hands are told.
        then: (every_s, items) for ever after; None to stop there.
        landing_s: the items of one addition land spread over so long.
        disturb: what else happens, from the moment the hands are told.
    """

    steps: tuple[tuple[float, int], ...] = ()
    then: tuple[float, int] | None = None
    landing_s: float = 0.3
    disturb: tuple[Disturbance, ...] = ()

    def additions(self) -> Iterator[tuple[float, int]]:
        """Yield (after_s, items)."""
        yield from self.steps
        while self.then:
            yield self.then


@dataclass(slots=True)
class Landed:
    """An addition as it really landed, first item to last."""

    at_s: float
    last_s: float
    mass_g: float
    items: int


class Hands:
    """Carries a plan out on a world; `additions` is what really happened."""

    def __init__(self, plan: Plan, now_s: float, rng: Random) -> None:
        self.additions: list[Landed] = []
        self.mishaps = Mishaps(plan.disturb, now_s)
        self._plan, self._rng = plan, rng
        self._to_come = plan.additions()
        self._due: list[float] = []  # moments at which single items land, latest first
        self._next: tuple[float, int] | None = None
        self._turn_page(now_s)

    @property
    def done(self) -> bool:
        """Nothing more will be put aboard."""
        return self._next is None and not self._due and not self.mishaps.lent

    def work(self, world: World) -> None:
        """Put aboard what is due by now."""
        gone = world.vessel is None or world.vessel.gone_at_s is not None
        if self._next and not self._due:
            at_s, items = self._next
            if gone or not world.tray:
                self._next = None
            elif world.now_s >= at_s:
                self._begin(at_s, min(items, len(world.tray)), world.now_s)
        while self._due and world.vessel and self._due[-1] <= world.now_s:
            self._due.pop()
            self._land(world)
        if kept := self.mishaps.work(world):  # what was lent went down with the boat
            self.additions.append(Landed(kept.at_s, kept.at_s, kept.mass_g, 1))
            self.additions.sort(key=lambda landed: landed.at_s)

    def _begin(self, at_s: float, items: int, now_s: float) -> None:
        spread = [self._rng.uniform(0, self._plan.landing_s) for _ in range(items - 1)]
        self._due = sorted([at_s, *(at_s + later for later in spread)], reverse=True)
        self.additions.append(Landed(now_s, now_s, 0.0, 0))
        self._turn_page(at_s)

    def _land(self, world: World) -> None:
        landed = self.additions[-1]
        landed.mass_g += world.land_next()
        landed.items += 1
        landed.last_s = world.now_s

    def _turn_page(self, from_s: float) -> None:
        step = next(self._to_come, None)
        self._next = (from_s + step[0], step[1]) if step else None


def lay_out(item: Item, count: int, rng: Random) -> list[float]:
    """Return the masses of so many items, each drawn with the item's spread [g]."""
    masses: list[float] = []
    while len(masses) < count:
        mass_g = rng.gauss(item.mass_g, item.mass_sd_g)
        if mass_g > 0:  # a spread as wide as the mass itself may draw nonsense
            masses.append(mass_g)
    return masses
