"""What is aboard: the plateaus of the load, made into additions."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import sqrt

from rig.setup import Item
from rig.trial.events import Addition
from rig.trial.leans import Explained
from rig.trial.load_track import SETTLE_S, Plateau, Step

_UNSURE_ITEM = 0.3  # sd of an addition while somebody leans, and nobody knows how hard


@dataclass(frozen=True, slots=True)
class Change:
    """What moved from one plateau to the next, leans left out."""

    at_s: float
    mass_g: float
    mass_g_sd: float


def items_in(mass_g: float, item_g: float | None) -> int | None:
    """Return the nearest whole number of items; None if nobody said what an item weighs."""
    return None if item_g is None else round(mass_g / item_g)


def changes(
    plateaus: Sequence[Plateau], explained: Sequence[Explained], item: Item | None, noise_g: float
) -> list[Change]:
    """Return what went aboard or came off, oldest first.

    While somebody leans, no single change can be weighed; all of them together can, from
    the plateau before to the one after. What that is off by is shared out among them.

    Args:
        explained: what each plateau bears; empty where no item is known, and so no lean.
        noise_g: standard deviation of one reading of the load.
    """
    found: list[Change] = []
    first = 0
    for last in range(1, len(plateaus)):
        leans_on = bool(explained) and explained[last].leaned
        if leans_on and last < len(plateaus) - 1:
            continue
        steps = [
            Step(plateaus[i].arrived_s, plateaus[i - 1], plateaus[i])
            for i in range(first + 1, last + 1)
        ]
        if item is None or (len(steps) == 1 and not leans_on):
            found.append(_weighed(steps[0], noise_g))
        else:
            found += _shared(steps, explained[first : last + 1], item, noise_g, leans_on)
        first = last
    return found


def _weighed(step: Step, noise_g: float) -> Change:
    sd = noise_g * sqrt(1 / step.before.n + 1 / step.after.n)
    return Change(step.at_s, step.mass_g, sd)


def _shared(
    steps: Sequence[Step],
    explained: Sequence[Explained],
    item: Item,
    noise_g: float,
    leans_on: bool,
) -> list[Change]:
    """Changes under a lean that began with the first step; `leans_on`: it has not ended."""
    moved = [after.items - before.items for before, after in pairwise(explained)]
    whole = Step(steps[0].at_s, steps[0].before, steps[-1].after)
    sd = noise_g * sqrt(1 / whole.before.n + 1 / whole.after.n)
    off_g = 0.0 if leans_on else whole.mass_g - sum(moved) * item.mass_g
    hands = sum(abs(n) for n in moved)
    found: list[Change] = []
    for step, n in zip(steps, moved, strict=True):
        if not n:
            continue
        mass_g = n * item.mass_g + off_g * abs(n) / hands
        new = Change(step.at_s, mass_g, _UNSURE_ITEM * item.mass_g if leans_on else sd)
        if found and new.at_s - found[-1].at_s < SETTLE_S:  # one landing, seen as two
            new = replace(new, at_s=found[-1].at_s, mass_g=found.pop().mass_g + mass_g)
        found.append(new)
    return found


def additions(changes: Sequence[Change], item_g: float | None, until_s: float) -> list[Addition]:
    """Return what is aboard at a moment, one entry for items put on together, oldest first.

    What is taken back comes off the newest additions. A hand that lifts more than there is
    lifts the rig itself: so much comes back before anything goes aboard.
    """
    aboard: list[Addition] = []
    lifted_g = 0.0
    least_g = (item_g or 0.0) / 2  # less than half an item is none
    for change in changes:
        if change.at_s > until_s:
            break
        if change.mass_g < 0:
            lifted_g += _take_back(aboard, -change.mass_g, item_g)
            continue
        back_g = min(lifted_g, change.mass_g)
        lifted_g -= back_g
        mass_g = change.mass_g - back_g
        if not back_g or mass_g > least_g:
            items = items_in(mass_g, item_g)
            aboard.append(Addition(change.at_s, mass_g, items, change.mass_g_sd))
    return aboard


def total_items(aboard: Sequence[Addition]) -> int | None:
    """Return the number of items aboard, None where one addition is not counted in items."""
    total = 0
    for addition in aboard:
        if addition.items is None:
            return None
        total += addition.items
    return total


def _take_back(aboard: list[Addition], off_g: float, item_g: float | None) -> float:
    """Take so much off the newest additions; return what there was not."""
    least_g = (item_g or 0.0) / 2  # less than half an item left of an addition is none left
    while aboard and off_g > least_g:
        last = aboard.pop()
        left_g = last.mass_g - off_g
        off_g -= last.mass_g
        if left_g > least_g:
            aboard.append(replace(last, mass_g=left_g, items=items_in(left_g, item_g)))
    return off_g if off_g > least_g else 0.0
