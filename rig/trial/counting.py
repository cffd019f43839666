"""From grams to items: how many, and how sure. Weight first; the count follows from it.

One addition of n items weighs n m, give or take sqrt(n) s by the items' own spread and u by the
scale. The odds of each n follow from that (all n equally likely beforehand). Where additions fit
no whole number at all, the items do not weigh what the set-up says. The misfit tells that, but not
how far off they are (ten items, each off by a tenth, fit a whole number again), so the count
becomes the range that items off by a quarter, all the same way, would give.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, exp, floor, sqrt

from rig.setup import Item

SURE = 0.95
_MISFIT = 4.5  # standard deviations: no such residual in thousands of honest additions
ODD_PART = 0.25  # coins of two alloys: 3.11 g for 2.50 g (31 U.S.C. 5112(a)(6); US Mint) is 24 %
UNSAID_PART = 0.01
_SPAN = 5.0  # standard deviations of items looked at on either side


@dataclass(frozen=True, slots=True)
class Weighed:
    """What one addition weighed."""

    mass_g: float
    mass_g_sd: float


@dataclass(frozen=True, slots=True)
class Count:
    """The likeliest number of items, a 95 % range, and the probability that `items` is exact."""

    items: int
    low: int
    high: int
    p: float


def spread_g(item: Item) -> float:
    """From item to item; a hundredth where nobody measured it (common practice, no source)."""
    return item.mass_sd_g or UNSAID_PART * item.mass_g


def nearest(mass_g: float, item: Item) -> int:
    """Return the whole number of items nearest to a mass."""
    return round(mass_g / item.mass_g)


def fits(weighed: Weighed, item: Item) -> bool:
    """Return whether an addition's mass is that of some whole number of items."""
    n = max(1, nearest(weighed.mass_g, item))
    left_g = abs(weighed.mass_g - n * item.mass_g)
    return left_g <= _MISFIT * sqrt(weighed.mass_g_sd**2 + n * spread_g(item) ** 2)


def count(additions: Sequence[Weighed], item: Item) -> Count:
    """Return how many items a number of additions are together."""
    items = sum(nearest(weighed.mass_g, item) for weighed in additions)
    if not all(fits(weighed, item) for weighed in additions):
        return _range_by_mass(sum(weighed.mass_g for weighed in additions), items, item)
    p, variance = 1.0, 0.0
    for weighed in additions:
        odds = _odds(weighed, item)
        here = nearest(weighed.mass_g, item)
        p *= odds.get(here, 0.0)
        variance += sum(share * (n - here) ** 2 for n, share in odds.items())
    if p >= SURE:
        return Count(items, items, items, p)
    reach = max(1, ceil(1.96 * sqrt(variance)))
    return Count(items, max(0, items - reach), items + reach, p)


def _odds(weighed: Weighed, item: Item) -> dict[int, float]:
    """Probability of each number of items for one addition."""
    middle = max(0.0, weighed.mass_g / item.mass_g)
    spread = sqrt(weighed.mass_g_sd**2 + (middle + 1) * spread_g(item) ** 2) / item.mass_g
    low, high = floor(middle - _SPAN * spread), ceil(middle + _SPAN * spread)
    odds = {}
    for n in range(max(0, low), high + 1):
        variance = max(weighed.mass_g_sd**2 + n * spread_g(item) ** 2, 1e-12)
        left_g = weighed.mass_g - n * item.mass_g
        odds[n] = exp(-min(left_g * left_g / variance / 2, 700.0)) / sqrt(variance)
    total = sum(odds.values())
    return {n: share / total for n, share in odds.items()}


def _range_by_mass(mass_g: float, items: int, item: Item) -> Count:
    low = floor(mass_g / item.mass_g / (1 + ODD_PART))
    high = ceil(mass_g / item.mass_g * (1 + ODD_PART))
    return Count(items, min(low, items), max(high, items), 1 / (1 + high - low))
