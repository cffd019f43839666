"""How many weights for a class, how long they last between resets, and what too few would do."""

from dataclasses import dataclass
from math import ceil
from typing import Final

import numpy as np
from numpy.typing import NDArray

from rig.errors import OutOfRange
from rig.physics.flotation import capacity_g
from rig.physics.hulls import Hull
from rig.setup.everyday import EverydayItem

ASSURANCE: Final = 0.95
CLASSES: Final = 4000
# The median boat, and how far boats differ: 80 items of 2.5 g (common practice, no source).
USUAL_CAPACITY_G, USUAL_SPREAD = 200.0, 0.5

Loads = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Boats:
    """The boats expected: how many, what the median one carries, and how far they differ."""

    groups: int = 7
    capacity_g: float = USUAL_CAPACITY_G
    spread: float = USUAL_SPREAD  # standard deviation of the logarithm

    def __post_init__(self) -> None:
        good = 1 <= self.groups <= 60 and 0 < self.capacity_g < 1e6 and 0 <= self.spread <= 2
        if not good:
            raise OutOfRange(
                f"{self.groups} boats of {self.capacity_g:g} g, spread {self.spread:g}, cannot be.",
                "Give 1 to 60 boats, grams above 0, and a spread such as 0.5.",
            )


@dataclass(frozen=True, slots=True)
class Stock:
    """What one item comes to.

    Attributes:
        needed: items so that none runs out before its boat goes down, in `assurance` of classes,
            with a reset after every `reset_every` boats.
        have: items at hand; equal to `needed` unless told.
        boats_between: boats in a row that they last for without a reset, as surely.
        short_boats: boats of a class for which they run out, on average.
        short_class: share of classes in which they run out at least once.
    """

    item_g: float
    assurance: float
    reset_every: int
    needed: int
    needed_g: float
    have: int
    boats_between: int
    short_boats: float
    short_class: float


def plan_stock(
    boats: Boats,
    item_g: float,
    have: int | None = None,
    reset_every: int = 1,
    assurance: float = ASSURANCE,
    tubs: int = 1,
    seed: int = 1,
) -> Stock:
    """Return how many items a class needs.

    A boat takes one item more than it carries: the last one sinks it. Each tub has its own heap.

    Args:
        item_g: mass of one item, above 0 [g].
        have: items at hand, if they are counted already, all tubs together.
        reset_every: boats between two resets, when wet items go back on the tray.
        assurance: above 0, below 1.

    Raises:
        OutOfRange: a number that cannot be.
    """
    fine = item_g > 0 and 0 < assurance < 1 and reset_every >= 1 and 1 <= tubs <= 20
    if not fine or (have is not None and have < 0):
        raise OutOfRange(
            f"Items of {item_g:g} g, {assurance:g} sure, cannot be planned.",
            "Give grams above 0, a share such as 0.95, and at least one boat between resets.",
        )
    rng = np.random.default_rng(seed)
    taken = np.floor(
        boats.capacity_g / item_g * np.exp(boats.spread * rng.normal(size=(CLASSES, boats.groups)))
    )
    taken += 1
    runs = np.stack(
        [taken[:, i : i + reset_every].sum(1) for i in range(0, boats.groups, reset_every)], axis=1
    )
    needed = ceil(float(np.quantile(runs.max(axis=1), assurance))) * tubs
    heap = (needed if have is None else have) // tubs
    short = _short(taken, heap, reset_every)
    return Stock(
        item_g,
        assurance,
        reset_every,
        needed,
        needed * item_g,
        needed if have is None else have,
        _lasts(taken, heap, assurance),
        float(short.sum(axis=1).mean()),
        float(short.any(axis=1).mean()),
    )


def fits_in(hull: Hull, boat_g: float, density_g_ml: float, item: EverydayItem) -> float:
    """Return how full the hull is when its capacity lies in it: above 1 the heap stands out.

    Raises:
        OutOfRange: the boat goes down empty.
    """
    carries_g = capacity_g(hull, boat_g, density_g_ml)
    if carries_g <= 0:
        raise OutOfRange("This boat goes down empty.", "Measure and weigh it again.")
    return carries_g / item.bulk_g_ml / hull.volume_ml(hull.depth_mm)


def heap_ml(load_g: float, item: EverydayItem) -> float:
    """Return the room a load takes as a heap, gaps included [ml]."""
    return load_g / item.bulk_g_ml


def _lasts(taken: Loads, heap: int, assurance: float) -> int:
    """Boats in a row, the first of the class on; any boats are as good as these."""
    within = (taken.cumsum(axis=1) <= heap).mean(axis=0)
    return int((within >= assurance).sum())


def _short(taken: Loads, heap: int, reset_every: int) -> NDArray[np.bool_]:
    """Which boats find too few left. One that runs out takes all there are."""
    short = np.zeros(taken.shape, bool)
    left = np.full(taken.shape[0], float(heap))
    for boat in range(taken.shape[1]):
        if boat % reset_every == 0:
            left[:] = heap
        short[:, boat] = taken[:, boat] > left
        left = np.maximum(0.0, left - taken[:, boat])
    return short
