"""Which goal will a wanted share of groups reach?

What is thought beforehand and what earlier boats carried are put together by a beta process on
the whole items: of the boats that carry k items, a share goes down with the next one; beforehand
each share is as uncertain as if a few invented boats had been seen. Without invented boats the
result is Kaplan-Meier's, with many real ones they do not matter.

Source: N.L. Hjort, Ann. Statist. 18 (1990) 1259-1294; for one step a share's law is a beta
distribution, updated by counting. The expected curve is that of V. Susarla and J. Van Ryzin,
J. Am. Stat. Assoc. 71 (1976) 897-902.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from rig.errors import OutOfRange
from rig.lesson.earlier_boats import EarlierBoat

WANTED_SHARE: Final = 0.4
PRIOR_BOATS: Final = 2.0  # what is thought beforehand counts as much as so many boats
# Common practice, no source: half the boats carry more than 80 items, and a third 100 or more;
# against a goal of 35, set by guess, nearly all pass. With a dry run or a ceiling known: a class
# reaches three quarters of what its teacher did, and half of what the best tray of the sheet would.
USUAL_ITEMS: Final = 80.0
USUAL_SPREAD: Final = 0.5  # standard deviation of the logarithm
OF_DRY_RUN: Final = 0.75
OF_CEILING: Final = 0.5
OVER_CEILING: Final = 1.05  # a dry rim and heavier water carry a little more than the sums say
DRAWS: Final = 2000
_MOST_ITEMS: Final = 5000

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Beforehand:
    """What is thought before any boat is seen: a lognormal, cut at the material's ceiling.

    `boats`: how many real boats it counts as much as. `why`: where it comes from, in words.
    """

    median_items: float = USUAL_ITEMS
    spread: float = USUAL_SPREAD
    ceiling_items: float | None = None
    boats: float = PRIOR_BOATS
    why: str = "what classes usually carry"


@dataclass(frozen=True)
class GoalPlan:
    """A goal and what lies around it.

    Attributes:
        goal_items: the largest load that the wanted share is expected to reach.
        low_items, high_items: the 95 % interval of the goal that just this share would reach.
    """

    wanted_share: float
    goal_items: int
    low_items: int
    high_items: int
    beforehand: Beforehand
    boats: tuple[EarlierBoat, ...]
    _reach: Floats  # shape (draws, items + 1): share that carries k items or more
    _seed: int

    def passing(self, goal_items: float) -> tuple[float, float, float]:
        """Return the expected share that reaches a goal, and its 95 % interval."""
        share = self._at(goal_items)
        low, high = np.quantile(share, (0.025, 0.975))
        return float(share.mean()), float(low), float(high)

    def groups(self, goal_items: float, of: int) -> tuple[int, int]:
        """Return how many of so many groups will pass: the 90 % range for one class."""
        rng = np.random.default_rng(self._seed)
        counts = rng.binomial(of, np.clip(self._at(goal_items), 0, 1))
        low, high = np.quantile(counts, (0.05, 0.95))
        return int(low), int(high)

    def _at(self, goal_items: float) -> Floats:
        if not goal_items >= 0:
            raise OutOfRange(f"A goal of {goal_items:g} items cannot be.", "Give 0 or more.")
        place = ceil(goal_items - 1e-9)
        if place >= self._reach.shape[1]:
            return np.zeros(self._reach.shape[0])
        return np.asarray(self._reach[:, place])


def thought_beforehand(
    ceiling_items: float | None = None, dry_run_items: float | None = None
) -> Beforehand:
    """Return what is thought before any boat: a dry run says more than a ceiling.

    Raises:
        OutOfRange: a ceiling or dry run that is not above 0.
    """
    for name, items in (("ceiling", ceiling_items), ("dry run", dry_run_items)):
        if items is not None and not 0 < items <= _MOST_ITEMS:
            raise OutOfRange(f"A {name} of {items:g} items cannot be.", "Weigh and measure again.")
    if dry_run_items is not None:
        why = f"a dry run of {dry_run_items:g} items: classes reach about three quarters"
        return Beforehand(OF_DRY_RUN * dry_run_items, ceiling_items=ceiling_items, why=why)
    if ceiling_items is not None:
        why = f"the sheet's ceiling of {ceiling_items:.0f} items: classes reach about half"
        return Beforehand(OF_CEILING * ceiling_items, ceiling_items=ceiling_items, why=why)
    return Beforehand()


def plan_goal(
    boats: Sequence[EarlierBoat],
    beforehand: Beforehand | None = None,
    wanted_share: float = WANTED_SHARE,
    seed: int = 1,
) -> GoalPlan:
    """Return the goal that a wanted share of groups should reach.

    Args:
        boats: of earlier classes; may be empty.
        wanted_share: above 0, below 1.

    Raises:
        OutOfRange: another share, or a boat with a load below 0 or above 5000.
    """
    if not 0 < wanted_share < 1:
        raise OutOfRange(f"A share of {wanted_share:g} cannot be.", "Give one such as 0.4.")
    if any(not 0 <= boat.items <= _MOST_ITEMS for boat in boats):
        raise OutOfRange("A boat carried less than nothing.", "Look at its result again.")
    thought = beforehand or Beforehand()
    chance = _chances(thought, boats)
    sank, at_risk = _counts(boats, chance.size)
    reach = _reaches(thought.boats * chance, sank, at_risk, seed)
    goal = _largest(reach.mean(axis=0), wanted_share)
    goals = _largest_each(reach, wanted_share)
    low, high = np.quantile(goals, (0.025, 0.975))
    return GoalPlan(wanted_share, goal, floor(low), ceil(high), thought, tuple(boats), reach, seed)


def _chances(thought: Beforehand, boats: Sequence[EarlierBoat]) -> Floats:
    """How likely a boat carries exactly 0, 1, 2 ... items, as thought beforehand."""
    from scipy.stats import lognorm

    law = lognorm(max(thought.spread, 1e-6), scale=thought.median_items)
    most = max([thought.median_items * np.exp(3 * thought.spread), *(b.items + 1 for b in boats)])
    edges = np.arange(1, ceil(most) + 2)
    below = law.cdf(edges)
    if thought.ceiling_items is not None:
        top = OVER_CEILING * thought.ceiling_items
        below = np.where(edges > top, 1.0, below / max(law.cdf(max(top, 1.0)), 1e-9))
    below = np.minimum(below, 1.0)
    below[-1] = 1.0
    return np.asarray(np.diff(below, prepend=0.0))


def _counts(boats: Sequence[EarlierBoat], size: int) -> tuple[Floats, Floats]:
    """Return how many sank having carried k items, and how many were known to carry k or more.

    A boat that never sank at k counts as one that carries k and might have sunk with the next.
    """
    sank, at_risk = np.zeros(size), np.zeros(size)
    for boat in boats:
        k = floor(boat.items)
        if boat.sank:
            sank[k] += 1
            at_risk[: k + 1] += 1
        else:
            at_risk[:k] += 1
    return sank, at_risk


def _reaches(prior: Floats, sank: Floats, at_risk: Floats, seed: int) -> Floats:
    """Draw the share that carries k items or more, for k = 0, 1, 2 ..."""
    beyond = np.maximum(prior[::-1].cumsum()[::-1] - prior, 0.0)
    rng = np.random.default_rng(seed)
    # a beta as a share of two gammas: either may have no weight at all, which then decides
    gone = _gamma(rng, prior + sank)
    goes_on = _gamma(rng, beyond + at_risk - sank)
    total = gone + goes_on
    hazard = np.divide(gone, total, out=np.ones_like(total), where=total > 0)
    carries = np.cumprod(1 - hazard, axis=1)
    return np.hstack((np.ones((DRAWS, 1)), carries))


def _gamma(rng: np.random.Generator, shape: Floats) -> Floats:
    return rng.standard_gamma(np.maximum(shape, 0.0), size=(DRAWS, shape.size))


def _largest(share: Floats, wanted: float) -> int:
    return int(np.flatnonzero(share >= wanted)[-1])


def _largest_each(reach: Any, wanted: float) -> Any:
    return (reach >= wanted).sum(axis=1) - 1
