"""What is aboard: the steps of the load, made into additions."""

from collections.abc import Sequence
from dataclasses import replace

from rig.trial.events import Addition
from rig.trial.load_track import Step


def items_in(mass_g: float, item_g: float | None) -> int | None:
    """Return the nearest whole number of items; None if nobody said what an item weighs."""
    return None if item_g is None else round(mass_g / item_g)


def additions(steps: Sequence[Step], item_g: float | None, until_s: float) -> list[Addition]:
    """Return what is aboard at a moment, one entry for items put on together, oldest first.

    What is taken back comes off the newest additions.
    """
    aboard: list[Addition] = []
    for step in steps:
        if step.at_s > until_s:
            break
        if step.mass_g >= 0:
            aboard.append(Addition(step.at_s, step.mass_g, items_in(step.mass_g, item_g)))
        else:
            _take_back(aboard, -step.mass_g, item_g)
    return aboard


def total_items(aboard: Sequence[Addition]) -> int | None:
    """Return the number of items aboard, None where one addition is not counted in items."""
    total = 0
    for addition in aboard:
        if addition.items is None:
            return None
        total += addition.items
    return total


def _take_back(aboard: list[Addition], off_g: float, item_g: float | None) -> None:
    least_g = (item_g or 0.0) / 2  # less than half an item left of an addition is none left
    while aboard and off_g > least_g:
        last = aboard.pop()
        left_g = last.mass_g - off_g
        off_g -= last.mass_g
        if left_g > least_g:
            aboard.append(replace(last, mass_g=left_g, items=items_in(left_g, item_g)))
