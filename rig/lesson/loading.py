"""How many items to put on next: many while the boat is sure to carry them, few near its end."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from rig.errors import OutOfRange

# What can be called out and counted without thinking (common practice, no source).
SIZES: Final = (1, 2, 3, 5, 10, 15, 20, 30, 50)


@dataclass(frozen=True, slots=True)
class Call:
    """The addition to call next: "add 10". `near`: the boat may go down with the next ones."""

    items: int
    near: bool

    @property
    def text(self) -> str:
        """For the class."""
        return f"add {self.items}"


def next_addition(
    aboard: int, sure_items: float | None, fine: int = 1, most: int = SIZES[-1]
) -> Call:
    """Return the addition to call next.

    As long as the boat is sure to carry more, the largest handy number that stays below that;
    then `fine` at a time, so that the result is known to `fine` items.

    Args:
        aboard: items in the boat, 0 or more.
        sure_items: what the forecast says the boat will carry at least (its low end); None if
            there is no forecast.
        fine: items at a time near the end, 1 or more.
        most: never more at once.

    Raises:
        OutOfRange: a number of items that cannot be.
    """
    if aboard < 0 or fine < 1 or most < fine:
        raise OutOfRange(
            f"{aboard} items aboard, then {fine} to {most} at a time, cannot be.",
            "Give whole numbers: 0 or more aboard, 1 or more at a time.",
        )
    if sure_items is None:
        return Call(fine, True)
    size = int(sizes_now(np.array([sure_items - aboard]), fine, most)[0])
    return Call(size, sure_items - aboard - size < fine)


def sizes_now(room: Any, fine: int, most: int, sizes: Sequence[int] = SIZES) -> Any:
    """Return the next addition for each boat; shape (n,) as `room`, the items it surely takes."""
    handy = np.array([fine, *(size for size in sizes if fine < size <= most)])
    place = np.searchsorted(handy, np.floor(np.asarray(room) + 1e-9), side="right") - 1
    return handy[np.maximum(place, 0)]
