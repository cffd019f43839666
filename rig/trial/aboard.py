"""What is aboard: the steps of the load, made into additions.

Somebody who leans on the table moves the load by a few grams, slowly, and back again. Two steps
within the time of a lean, neither a whole number of items, are one if together they are.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt

from rig.setup import Item
from rig.trial.events import Addition
from rig.trial.load_track import HAND_S, Step

_MISFIT = 4.5  # standard deviations
_LEAN_ITEMS = 2.6  # a lean moves the load by no more (common practice, no source)


@dataclass(frozen=True, slots=True)
class _Change:
    at_s: float
    mass_g: float
    mass_g_sd: float


def items_in(mass_g: float, item_g: float | None) -> int | None:
    """Return the nearest whole number of items; None if nobody said what an item weighs."""
    return None if item_g is None else round(mass_g / item_g)


def additions(
    steps: Sequence[Step], item: Item | None, noise_g: float, until_s: float
) -> list[Addition]:
    """Return what is aboard at a moment, one entry for items put on together, oldest first.

    What is taken back comes off the newest additions.

    Args:
        noise_g: standard deviation of one reading of the load.
    """
    changes = [
        _Change(step.at_s, step.mass_g, noise_g * sqrt(1 / step.before.n + 1 / step.after.n))
        for step in steps
        if step.at_s <= until_s
    ]
    if item is not None:
        changes = _without_leans(changes, item)
    item_g = item.mass_g if item else None
    aboard: list[Addition] = []
    for change in changes:
        if change.mass_g >= 0:
            items = items_in(change.mass_g, item_g)
            aboard.append(Addition(change.at_s, change.mass_g, items, change.mass_g_sd))
        else:
            _take_back(aboard, -change.mass_g, item_g)
    return aboard


def total_items(aboard: Sequence[Addition]) -> int | None:
    """Return the number of items aboard, None where one addition is not counted in items."""
    total = 0
    for addition in aboard:
        if addition.items is None:
            return None
        total += addition.items
    return total


def _without_leans(changes: list[_Change], item: Item) -> list[_Change]:
    """Put together the steps that are whole items only together."""
    left = list(changes)
    for i, change in enumerate(left):
        if _whole(change, item):
            continue
        for j in range(i + 1, len(left)):
            other = left[j]
            if other.at_s - change.at_s > HAND_S:
                break
            both = _together(change, other)
            small = min(abs(change.mass_g), abs(other.mass_g)) < _LEAN_ITEMS * item.mass_g
            if small and not _whole(other, item) and _whole(both, item):
                rest = left[:i] + ([both] if round(both.mass_g / item.mass_g) else [])
                return _without_leans(rest + left[i + 1 : j] + left[j + 1 :], item)
    return left


def _together(one: _Change, other: _Change) -> _Change:
    larger = max(one, other, key=lambda change: abs(change.mass_g))
    sd = sqrt(one.mass_g_sd**2 + other.mass_g_sd**2)
    return _Change(larger.at_s, one.mass_g + other.mass_g, sd)


def _whole(change: _Change, item: Item) -> bool:
    """Whether a change is a whole number of items, none included, as far as can be told."""
    n = round(change.mass_g / item.mass_g)
    spread = sqrt(change.mass_g_sd**2 + abs(n) * item.mass_sd_g**2 + (item.mass_g / 100) ** 2)
    return abs(change.mass_g - n * item.mass_g) <= _MISFIT * spread


def _take_back(aboard: list[Addition], off_g: float, item_g: float | None) -> None:
    least_g = (item_g or 0.0) / 2  # less than half an item left of an addition is none left
    while aboard and off_g > least_g:
        last = aboard.pop()
        left_g = last.mass_g - off_g
        off_g -= last.mass_g
        if left_g > least_g:
            aboard.append(replace(last, mass_g=left_g, items=items_in(left_g, item_g)))
