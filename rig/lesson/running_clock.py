"""The clock of a lesson that is going on: minutes left, boats left, on time or not."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import sqrt
from typing import Final

from rig.errors import OutOfRange
from rig.lesson.loading import SIZES
from rig.lesson.pace import Lesson, Pace, play

_PLAN_WEIGHT: Final = 2.0  # the plan counts as much as two boats of this class
_SURE: Final = 1.645  # 95 % of a normal lie below


class OnTime(StrEnum):
    """Whether the boats that wait will get their turn."""

    YES = "on time"
    TIGHT = "tight"  # likely, but not with 95 % assurance
    NO = "not on time"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class ClockState:
    """See the module. Minutes; `needed_95_min` is enough in 95 of 100 classes.

    `fine`: items at a time near the end that would bring the class home; None if it is on time
    with what it does, or nothing helps.
    """

    minutes_left: float
    boats_left: int
    needed_min: float
    needed_95_min: float
    on_time: OnTime
    fine: int | None

    @property
    def text(self) -> str:
        """One line for the teacher."""
        if self.on_time is OnTime.DONE:
            return "Every boat has had its turn."
        boats = "1 boat" if self.boats_left == 1 else f"{self.boats_left} boats"
        line = (
            f"{max(0.0, self.minutes_left):.0f} minutes left, {boats} to go: {self.on_time.value}"
        )
        if self.fine is not None:
            return f"{line}. Put {self.fine} on at a time near the end."
        if self.on_time is OnTime.NO:
            return f"{line}. Let some boats wait for the next lesson."
        return f"{line}."


def running_clock(
    lesson: Lesson, planned: Pace, elapsed_min: float, boats_left: int, spent_min: Sequence[float]
) -> ClockState:
    """Return how the lesson stands.

    Args:
        planned: how boats are loaded, see `play`.
        elapsed_min: since the block began.
        boats_left: not yet tested, the one in the tub included.
        spent_min: what each boat of this class took so far, reset included.

    Raises:
        OutOfRange: fewer than no boats, or a time below 0.
    """
    if boats_left < 0 or elapsed_min < 0 or any(spent < 0 for spent in spent_min):
        raise OutOfRange("Times and boats cannot be below 0.", "Set the block's start again.")
    left_min = lesson.block_min - lesson.clear_min - elapsed_min
    if boats_left == 0:
        return ClockState(left_min, 0, 0.0, 0.0, OnTime.DONE, None)
    turns = -(-boats_left // lesson.tubs)
    each = _each_min(planned, spent_min)
    needed, needed_95 = _needed(lesson, planned, each, turns)
    if needed_95 <= left_min:
        on_time, fine = OnTime.YES, None
    else:
        on_time = OnTime.TIGHT if needed <= left_min else OnTime.NO
        slower = each / planned.trial_min
        fine = _rescue(lesson, planned, slower, turns, left_min)
    return ClockState(left_min, boats_left, needed, needed_95, on_time, fine)


def _each_min(planned: Pace, spent_min: Sequence[float]) -> float:
    """What a boat takes: the plan, put right by what this class has shown."""
    return (_PLAN_WEIGHT * planned.trial_min + sum(spent_min)) / (_PLAN_WEIGHT + len(spent_min))


def _needed(lesson: Lesson, planned: Pace, each_min: float, turns: int) -> tuple[float, float]:
    """The last reset need not be over before the bell."""
    needed = each_min * turns - lesson.reset_s / 60
    fixed_min = (lesson.start_s + lesson.reset_s) / 60
    spread_min = lesson.spread * max(0.0, each_min - fixed_min)
    return needed, needed + _SURE * spread_min * sqrt(turns)


def _rescue(
    lesson: Lesson, planned: Pace, slower: float, turns: int, left_min: float
) -> int | None:
    for items in SIZES:
        if items <= planned.items:
            continue
        faster = play(lesson, items, planned.by_forecast, classes=200)
        if _needed(lesson, faster, faster.trial_min * slower, turns)[1] <= left_min:
            return items
    return None
