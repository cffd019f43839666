"""Does the tub hold water? The watched series, less what dries away, becomes a verdict.

Two kinds of doubt are kept apart: noise and drift are random and give an interval; drying,
warming and soft walls are known only as ranges, and are added to it at their full width.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from math import inf, isfinite, sqrt
from typing import Final

import numpy as np

from rig.errors import OutOfRange
from rig.lesson.false_echoes import two_heights
from rig.lesson.slope import LEAST_POINTS, Slope, trend
from rig.lesson.tub_facts import WARMS_C_PER_H, TubFacts
from rig.lesson.tub_watch import By, Watched
from rig.physics.warming import swelling
from rig.physics.water import ROOM_C, water_density

FIRST_LOOK_MIN: Final = 3.0
# At each look a leak is called with 99.5 % on its side, and looks come at doubling times: nine of
# them reach from 3 minutes past 12 hours. So at most 1 watch in 20 calls a leak that is not there.
SURE: Final = 0.99
STATED: Final = 0.95  # of the intervals that are told
# A level that falls half a millimetre in an hour bothers no lesson (common practice, no source).
NO_BOTHER_MM_H: Final = 0.5
SPARE_MM: Final = 10.0  # how far the level may fall unless told otherwise (common practice)
LONGEST_H: Final = 24.0
LEAST_HEARD: Final = 0.5


class TubFinding(StrEnum):
    """What the watch has shown."""

    HOLDS = "holds"
    LEAKS = "leaks"
    UNKNOWN = "not known yet"
    UNUSABLE = "unusable"  # the gauge, or the watch


@dataclass(frozen=True, slots=True)
class TubVerdict:
    """See the module. Rates are losses, above 0 where water goes; `..._low` to `..._high` is the
    95 % interval.

    Attributes:
        fall_mm_h: of the level, everything included.
        drying_low_ml_h, drying_high_ml_h: what may dry away.
        leak_ml_h: what is left beyond the middle of that.
        sure_low_ml_h, sure_high_ml_h: of the leak, at the confidence verdicts are given at.
        more_minutes: until this verdict can be had, if nothing changes; None if never, or known.
        why: for a person: what stands in the way.
    """

    finding: TubFinding
    minutes: float
    ml_per_mm: float
    why: str = ""
    fall_mm_h: float = 0.0
    fall_low_mm_h: float = -inf
    fall_high_mm_h: float = inf
    drying_low_ml_h: float = 0.0
    drying_high_ml_h: float = 0.0
    leak_ml_h: float = 0.0
    leak_low_ml_h: float = -inf
    leak_high_ml_h: float = inf
    sure_low_ml_h: float = -inf
    sure_high_ml_h: float = inf
    more_minutes: float | None = None

    def hours_until_low(self, spare_mm: float = SPARE_MM) -> tuple[float, float]:
        """Return in how many hours the level is `spare_mm` lower: at the soonest, and likely."""
        soonest, likely = self.fall_high_mm_h, self.fall_mm_h
        return (
            spare_mm / soonest if soonest > 0 else inf,
            spare_mm / likely if likely > 0 else inf,
        )

    def good_for(self, hours: float, spare_mm: float = SPARE_MM) -> bool | None:
        """Return whether the level falls less than `spare_mm` in so many hours; None: unknown."""
        if self.finding is TubFinding.UNUSABLE:
            return None
        if self.fall_high_mm_h * hours <= spare_mm:
            return True
        return False if self.fall_low_mm_h * hours > spare_mm else None


def look_times_min() -> Iterator[float]:
    """Yield when to look: 3 minutes after the start, and at every doubling."""
    at_min = FIRST_LOOK_MIN
    while True:
        yield at_min
        at_min *= 2


def judge(watched: Watched, facts: TubFacts, walk: float, depth_mm: float | None) -> TubVerdict:
    """Return what the watch has shown so far.

    Args:
        walk: see `walk_per_sqrt_h`.
        depth_mm: volume over surface of the water; None if watched by weight.
    """
    per = facts.ml_per_mm if watched.by is By.LEVEL else 1.0 / water_density(ROOM_C)
    unusable = _unusable(watched)
    if unusable is None and watched.at_h.size < LEAST_POINTS:
        why = "There are too few readings so far."
        soon = max(1.0, FIRST_LOOK_MIN - watched.minutes)
        return _told(TubFinding.UNKNOWN, watched, facts, why, soon)
    if unusable is None:
        slope = trend(watched.at_h, watched.value, walk)
        unusable = _two_clumps(watched, slope)
    if unusable is not None:
        return _told(TubFinding.UNUSABLE, watched, facts, unusable, None)
    swells_low, swells_high = _swelling_mm_h(watched, facts, depth_mm)
    return _Bill(watched, facts, slope, walk, per, swells_low, swells_high).verdict()


@dataclass(frozen=True, slots=True)
class _Bill:
    """A slope and everything that is taken off it. `per`: ml in a unit of the series."""

    watched: Watched
    facts: TubFacts
    slope: Slope
    walk: float
    per: float
    swells_low_mm_h: float
    swells_high_mm_h: float

    @property
    def drying(self) -> tuple[float, float]:
        """ml/h."""
        dries, ml = self.facts.evaporation, self.facts.ml_per_mm
        return dries.low_mm_h * ml, dries.high_mm_h * ml

    @property
    def swelling(self) -> tuple[float, float]:
        """ml/h by which warming hides a loss."""
        ml = self.facts.ml_per_mm
        return self.swells_low_mm_h * ml, self.swells_high_mm_h * ml

    @property
    def loss(self) -> float:
        return -self.slope.per_h * self.per

    def leak(self, random: float) -> tuple[float, float]:
        """What leaks at least and at most, for a random doubt to either side [ml/h]."""
        (dries_low, dries_high), (swells_low, swells_high) = self.drying, self.swelling
        low = self.loss - random + swells_low - dries_high
        return low, self.loss + random + swells_high - dries_low

    def verdict(self) -> TubVerdict:
        stated, sure = (self.slope.half_width(p) * self.per for p in (STATED, SURE))
        (low, high), (sure_low, sure_high) = self.leak(stated), self.leak(sure)
        ml = self.facts.ml_per_mm
        bother = NO_BOTHER_MM_H * ml
        finding, why, more = TubFinding.UNKNOWN, "", None
        if sure_low > 0:
            finding = TubFinding.LEAKS
        elif max(sure_high, sure) <= bother:  # noise that looks like water coming in proves nothing
            finding = TubFinding.HOLDS
        else:
            more = self._more_minutes(sure, bother)
            why = self._why(sure, more)
        swells = sum(self.swelling) / 2
        return TubVerdict(
            finding,
            self.watched.minutes,
            ml,
            why,
            fall_mm_h=self.loss / ml,
            fall_low_mm_h=(self.loss - sure) / ml,
            fall_high_mm_h=(self.loss + sure) / ml,
            drying_low_ml_h=self.drying[0],
            drying_high_ml_h=self.drying[1],
            leak_ml_h=self.loss + swells - sum(self.drying) / 2,
            leak_low_ml_h=low,
            leak_high_ml_h=high,
            sure_low_ml_h=sure_low,
            sure_high_ml_h=sure_high,
            more_minutes=more,
        )

    def _more_minutes(self, sure: float, bother: float) -> float | None:
        """How much longer to watch: noise falls with time^1.5, wandering with its root."""
        now_h = self.watched.minutes / 60
        walks = 2.6 * sqrt(6 / 5 * self.walk**2 / now_h) * self.per  # 2.6: 99 % of a normal
        noise = sqrt(max(0.0, sure**2 - walks**2))
        then_h = now_h
        while then_h <= LONGEST_H:
            then_h *= 1.05
            longer = then_h / now_h
            low, high = self.leak(sqrt(noise**2 / longer**3 + walks**2 / longer))
            if low > 0 or max(high, (high - low) / 2) <= bother:
                return max(1.0, 60 * (then_h - now_h))
        return None

    def _why(self, sure: float, more: float | None) -> str:
        (dries_low, dries_high), (swells_low, swells_high) = self.drying, self.swelling
        if more is not None:
            return "The gauge is too noisy to tell in so short a time."
        if dries_high - dries_low >= max(swells_high - swells_low, sure):
            return "It may all be water that dries away."
        if swells_high - swells_low > sure:
            return "The water is warming or cooling, and that moves the level as much."
        return "The gauge drifts too much with the room to tell, however long it is watched."


def _unusable(watched: Watched) -> str | None:
    if watched.minutes >= 1 and watched.heard < LEAST_HEARD:
        return f"The gauge answers only {watched.heard:.0%} of the time."
    enough = watched.sample.size >= 60 and watched.minutes >= FIRST_LOOK_MIN
    if enough and float(np.ptp(watched.sample)) == 0:
        return "The gauge says the same number all the time, as if frozen."
    return None


def _two_clumps(watched: Watched, slope: Slope) -> str | None:
    unit = "mm" if watched.by is By.LEVEL else "g"
    for at_h, value in ((watched.sample_h, watched.sample), (watched.at_h, watched.value)):
        found = two_heights(at_h, value, slope.per_h)
        if found is None:
            continue
        if found.flips:
            return f"The gauge flips between two readings {found.apart:.1f} {unit} apart."
        return (
            f"The reading jumped by {found.apart:.1f} {unit} {60 * found.at_h:.0f} min after the"
            " start: water was poured, or something was moved."
        )
    return None


def _swelling_mm_h(
    watched: Watched, facts: TubFacts, depth_mm: float | None
) -> tuple[float, float]:
    """Return how fast warming alone lifts the level, least and most [mm/h]; 0 for a weight."""
    if depth_mm is None or watched.by is By.WEIGHT:
        return 0.0, 0.0
    known = np.isfinite(watched.water_c)
    if known.sum() >= LEAST_POINTS:
        at_h, water_c = watched.at_h[known], watched.water_c[known]
        warms, middle_c = trend(at_h, water_c).per_h, float(np.median(water_c))
        half_c = warms / 2
        warmed = swelling(depth_mm, _in_range(middle_c - half_c), _in_range(middle_c + half_c))
        return warmed.low_mm, warmed.high_mm
    warms_c = WARMS_C_PER_H if facts.cold_water else 0.0
    warmed = swelling(depth_mm, facts.air_c, _in_range(facts.air_c + warms_c))
    return min(0.0, warmed.low_mm), max(0.0, warmed.high_mm)


def _in_range(water_c: float) -> float:
    if not isfinite(water_c):
        raise OutOfRange("The thermometer gives no number.", "Check its plug.")
    return min(max(water_c, 0.0), 40.0)


def _told(
    finding: TubFinding, watched: Watched, facts: TubFacts, why: str, more: float | None
) -> TubVerdict:
    return TubVerdict(finding, watched.minutes, facts.ml_per_mm, why, more_minutes=more)
