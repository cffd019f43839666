"""Will every group get its turn before the bell? The lesson played many times with dice."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from rig.errors import OutOfRange
from rig.lesson.loading import SIZES, sizes_now

ASSURANCE: Final = 0.95
CLASSES: Final = 2000  # played; a share of 95 % is then known to half a percent
_LOW_END: Final = 1.645  # the forecast's low end is that of a 90 % interval of a normal
_MOST_ADDITIONS: Final = 2000

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lesson:
    """One block: what takes how long, and what the boats may carry.

    All defaults are common practice, no source. `capacity_items` is the median boat's; `spread`
    the standard deviation of its logarithm (0.5: a third of the boats carry 1.5 times as much
    or more, or less than two thirds). With 80 and 0.5, 95 % pass 35 items and a third pass 100.
    `forecast_spread`: how far, as a share, a forecast from the measured hull is off (one
    standard deviation).
    """

    block_min: float = 45.0
    talk_min: float = 5.0
    build_min: float = 0.0  # boats are built in an earlier block
    clear_min: float = 5.0
    groups: int = 7
    tubs: int = 1
    capacity_items: float = 80.0
    spread: float = 0.5
    put_s: float = 2.0  # each addition: a hand out and back
    item_s: float = 0.6  # each item: picked and laid in
    hold_s: float = 5.0
    start_s: float = 10.0  # boat in, rig zeroed
    reset_s: float = 45.0  # boat out, items back on the tray
    forecast_spread: float = 0.08

    def __post_init__(self) -> None:
        times = ("block_min", "talk_min", "build_min", "clear_min", "put_s", "item_s", "hold_s")
        for key in (*times, "start_s", "reset_s", "spread", "forecast_spread"):
            if not 0 <= getattr(self, key) < 1e4:
                raise _wrong(key, getattr(self, key), "0 or more")
        for key, most in (("groups", 60), ("tubs", 20)):
            if not 1 <= getattr(self, key) <= most:
                raise _wrong(key, getattr(self, key), f"1 to {most}")
        if not 1 <= self.capacity_items <= 5000:
            raise _wrong("capacity_items", self.capacity_items, "1 to 5000")
        if self.spread > 2 or self.forecast_spread > 0.6:
            raise _wrong("spread", max(self.spread, self.forecast_spread), "a share such as 0.5")
        if self.test_min <= 0:
            raise OutOfRange(
                f"Talk, building and clearing up take all of the {self.block_min:g} minutes.",
                "Build the boats in an earlier block.",
            )

    @property
    def test_min(self) -> float:
        """What is left for testing."""
        return self.block_min - self.talk_min - self.build_min - self.clear_min

    def addition_s(self, items: Any) -> Any:
        """How long an addition takes, its hold included."""
        return self.put_s + self.item_s * items + self.hold_s


@dataclass(frozen=True, slots=True)
class Pace:
    """What one way of loading comes to.

    Attributes:
        items: at a time; near the end only, where `by_forecast`.
        finish_min: median of the time when the last boat is done, from the first boat on.
        finish_95_min: 95 of 100 classes are done by then.
        all_tested: share of the classes in which every group gets its turn.
        trial_min: one boat's mean time, reset included.
        overshoot: share of boats that go down in an addition larger than `items`.
    """

    items: int
    by_forecast: bool
    finish_min: float
    finish_95_min: float
    all_tested: float
    trial_min: float
    overshoot: float


@dataclass(frozen=True, slots=True)
class PacePlan:
    """Every way tried, and the finest of either kind that fits; None where none does.

    `saved_min`: what loading by forecast saves at the resolution of `fixed`, or of one item
    where no fixed addition fits.
    """

    lesson: Lesson
    assurance: float
    tried: tuple[Pace, ...]
    fixed: Pace | None
    by_forecast: Pace | None
    saved_min: float


def play(
    lesson: Lesson, items: int, by_forecast: bool, seed: int = 1, classes: int = CLASSES
) -> Pace:
    """Return what one way of loading comes to. The same seed gives the same boats to each way.

    Raises:
        OutOfRange: not even one item at a time.
    """
    if items < 1:
        raise OutOfRange(f"{items} items at a time cannot be.", "Give 1 or more.")
    boats, sure = _boats(lesson, seed, classes)
    trial_s, overshot = _loaded(lesson, boats, sure if by_forecast else None, items)
    trial_s += lesson.start_s + lesson.reset_s
    # nobody waits for the last reset
    done_min = (_queued(trial_s, lesson.tubs) - lesson.reset_s) / 60
    return Pace(
        items,
        by_forecast,
        float(np.median(done_min)),
        float(np.quantile(done_min, 0.95)),
        float((done_min <= lesson.test_min).mean()),
        float(trial_s.mean()) / 60,
        float(overshot.mean()),
    )


def plan_pace(
    lesson: Lesson, assurance: float = ASSURANCE, seed: int = 1, classes: int = CLASSES
) -> PacePlan:
    """Return the smallest additions that let every group finish, both ways.

    Args:
        assurance: share of classes in which every group must get its turn, above 0, below 1.

    Raises:
        OutOfRange: another assurance.
    """
    if not 0 < assurance < 1:
        raise _wrong("assurance", assurance, "a share between 0 and 1, such as 0.95")
    tried: list[Pace] = []
    finest: dict[bool, Pace | None] = {}
    for by_forecast in (False, True):
        finest[by_forecast] = None
        for items in SIZES:
            pace = play(lesson, items, by_forecast, seed, classes)
            tried.append(pace)
            if pace.all_tested >= assurance:
                finest[by_forecast] = pace
                break
    fixed = finest[False]
    same = play(lesson, fixed.items if fixed else 1, True, seed, classes)
    other = fixed or tried[0]
    return PacePlan(
        lesson,
        assurance,
        tuple(tried),
        fixed,
        finest[True],
        other.finish_min - same.finish_min,
    )


def with_results(lesson: Lesson, carried_items: Sequence[float]) -> Lesson:
    """Return the lesson with capacity and spread of boats that sank. Raises OutOfRange."""
    if len(carried_items) < 3 or min(carried_items) <= 0:
        raise OutOfRange("That takes three boats that sank.", "Give the capacity by hand.")
    logs = np.log(np.asarray(carried_items, float))
    return replace(
        lesson, capacity_items=float(np.exp(logs.mean())), spread=float(logs.std(ddof=1))
    )


def _boats(lesson: Lesson, seed: int, classes: int) -> tuple[Floats, Floats]:
    """What each boat carries, and what its forecast says it carries for sure."""
    rng = np.random.default_rng(seed)
    shape = (classes, lesson.groups)
    boats = lesson.capacity_items * np.exp(lesson.spread * rng.standard_normal(shape))
    off = 1 + lesson.forecast_spread * rng.standard_normal(shape)
    sure = boats * off * (1 - _LOW_END * lesson.forecast_spread)
    return boats, sure


def _loaded(
    lesson: Lesson, boats: Floats, sure: Floats | None, items: int
) -> tuple[Floats, NDArray[np.bool_]]:
    """Return how long loading takes until each boat goes down, and which overshot."""
    if sure is None:
        additions = np.floor(boats / items) + 1
        return additions * lesson.addition_s(items), np.zeros(boats.shape, bool)
    aboard, time_s = np.zeros_like(boats), np.zeros_like(boats)
    afloat, overshot = np.ones(boats.shape, bool), np.zeros(boats.shape, bool)
    for _ in range(_MOST_ADDITIONS):
        if not afloat.any():
            break
        size = sizes_now(sure - aboard, items, max(items, SIZES[-1]))
        time_s += np.where(afloat, lesson.addition_s(size), 0.0)
        aboard += np.where(afloat, size, 0)
        down = afloat & (aboard > boats)
        overshot |= down & (size > items)
        afloat &= ~down
    return time_s, overshot


def _queued(trial_s: Floats, tubs: int) -> Floats:
    """Return when the last boat is done; each next boat takes the tub that is free first."""
    free_s = np.zeros((trial_s.shape[0], tubs))
    rows = np.arange(trial_s.shape[0])
    for boat in range(trial_s.shape[1]):
        first = free_s.argmin(axis=1)
        free_s[rows, first] += trial_s[:, boat]
    return np.asarray(free_s.max(axis=1))


def _wrong(key: str, value: float, wanted: str) -> OutOfRange:
    return OutOfRange(f"{key} {value:g} cannot be.", f"Give {wanted}.")
