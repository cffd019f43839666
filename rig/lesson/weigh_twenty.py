"""Weigh twenty and divide: an item's own mass and spread, from the rig itself."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, sqrt

from rig.errors import OutOfRange

MOST_SHARE = 1.0  # a spread larger than the mass itself is a slip of the pen


@dataclass(frozen=True, slots=True)
class OwnMass:
    """What the weighings say.

    Attributes:
        mass_g: mean of one item; `mass_g_sd`: how well that is known.
        spread_g: standard deviation of single items; None from a single weighing.
        spread_low_g, spread_high_g: its 95 % interval.
    """

    items: int
    mass_g: float
    mass_g_sd: float
    spread_g: float | None
    spread_low_g: float | None
    spread_high_g: float | None


def own_mass(
    weighed: Sequence[tuple[int, float]],
    weighing_g_sd: float,
    usual_spread: float = 0.03,
    span_sd: float = 0.0,
) -> OwnMass:
    """Return an item's mass and spread from batches put on the empty rig, one after the other.

    A batch of n items weighs n times the mean, give or take sqrt(n) times the spread and the
    weighing's own noise: so several small batches show the spread, one large one does not.

    Args:
        weighed: (items, grams) of each batch.
        weighing_g_sd: standard uncertainty of one weighing [g].
        usual_spread: as a share of the mass, where a single batch shows none.
        span_sd: relative standard uncertainty of the rig's calibration.

    Raises:
        OutOfRange: no batch, or items or grams that are not above 0.

    Source:
        the interval is that of a variance, chi-square with (batches - 1) degrees of freedom:
        NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.8.
    """
    if not weighed or any(items < 1 or not grams > 0 for items, grams in weighed):
        raise OutOfRange(
            "A weighing needs items and grams above 0.", "Write it as 20=56.8: items=grams."
        )
    items = sum(n for n, _ in weighed)
    mass = sum(grams for _, grams in weighed) / items
    spread = low = high = None
    if len(weighed) > 1:
        spread, low, high = _spread(weighed, mass, weighing_g_sd)
    single = usual_spread * mass if spread is None else spread
    noise = weighing_g_sd * sqrt(len(weighed)) / items
    sd = hypot(single / sqrt(items), noise, span_sd * mass)
    return OwnMass(items, mass, sd, spread, low, high)


def weighings_from_text(text: str) -> list[tuple[int, float]]:
    """Return batches written as "5=14.1 5=14.3". Raises OutOfRange, naming the word."""
    batches = []
    for word in re.split(r"[\s,;]+", text.strip()):
        match = re.fullmatch(r"(\d{1,4})=(\d{1,6}(?:\.\d+)?)g?", word)
        if match is None:
            raise OutOfRange(f'"{word}" is no weighing.', "Write items=grams: 20=56.8.")
        batches.append((int(match[1]), float(match[2])))
    return batches


def _spread(
    weighed: Sequence[tuple[int, float]], mass: float, weighing_g_sd: float
) -> tuple[float, float, float]:
    from scipy.stats import chi2

    freedom = len(weighed) - 1
    seen = sum((grams - n * mass) ** 2 / n for n, grams in weighed)  # of one item, noise included
    noise = weighing_g_sd**2 * sum(1 / n for n, _ in weighed) / len(weighed)

    def without_noise(variance: float) -> float:
        return sqrt(max(0.0, variance - noise))  # noise alone may explain it: then 0

    return (
        without_noise(seen / freedom),
        without_noise(seen / float(chi2.ppf(0.975, freedom))),
        without_noise(seen / float(chi2.ppf(0.025, freedom))),
    )
