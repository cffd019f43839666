"""What this boat will carry: Archimedes beforehand, corrected by each plateau on the way.

Many boats are possible within the errors of ruler and scale (`rig.trial.possible_boats`); each
plateau's load and freeboard says which of them to believe (Bayes' rule). A gauge may read all
freeboards too high or too low by the same amount (the flag's height, the gauge's): that offset
is estimated along, for every boat, by a Kalman filter with one state. One plateau in twenty may
be plainly wrong: it counts as such where it fits no boat. And what was held is held: boats that
could not have carried it are out.

Sources: importance sampling and its effective sample size, Kong, Liu and Wong, J. Am. Stat.
Assoc. 89 (1994) 278-288; filter, Kalman, J. Basic Eng. 82 (1960) 35-45; two normals for good and
bad readings, Box and Tiao, Biometrika 55 (1968) 119-129. Names of journals from memory.
"""

from dataclasses import dataclass
from math import hypot, sqrt
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.typing import NDArray

from rig.physics.flotation import whole_items
from rig.trial.common_offset import CommonOffset
from rig.trial.events import CurvePoint, FreeboardMethod, Said
from rig.trial.possible_boats import Floats, PossibleBoats, weighted_quantiles

INTERVAL: Final = (0.05, 0.5, 0.95)  # low end, median, high end: 90 % lie between
OFFSET_MM_SD: Final = 1.5  # flag and gauge heights, each by a ruler: common practice, no source
FREE_MM_SD: Final = 10.0  # an offset of which nothing is known beforehand
SHAPE_MM_SD: Final = 0.2  # a real hull is not quite its family's shape; water creeps up flags
STRANGE_SDS: Final = 4.0  # a plateau this far from what the believed boats expect is strange
MANY_STRANGE: Final = 0.25  # one strange plateau, and this part of all, may be; more are no chance
LEAST_BOATS: Final = 30  # with fewer boats to speak for the rest, doubt is widened


class Forecast:
    """Feed it each plateau once, in order; ask at any time.

    Drawing the boats is the dear part: after a correction begin anew with the same boats.
    """

    def __init__(
        self,
        boats: PossibleBoats,
        item_g: float | None = None,
        item_sd_g: float = 0.0,
        offset_mm_sd: float = OFFSET_MM_SD,
    ) -> None:
        """Begin with what is known beforehand.

        Args:
            item_g: mass of one item, above 0; None if the items are not known [g].
            item_sd_g: its spread from item to item [g].
            offset_mm_sd: standard uncertainty of what all freeboards are off by together [mm].
        """
        self.boats = boats
        self.held_g: float | None = None
        self._item_g, self._item_sd_g = item_g, item_sd_g
        self._log_fit: Floats = np.zeros(len(boats))
        self._offset_mm_sd = offset_mm_sd
        self._offsets: dict[FreeboardMethod, CommonOffset] = {}
        self._seen: list[_Seen] = []
        self._known: _Known | None = None

    def add(self, point: CurvePoint) -> None:
        """Take in one plateau.

        A freeboard by displacement is the load over again, read through the measured hull: it
        says nothing about that hull and is left out.
        """
        self._known = None
        if point.held:
            self.held_g = point.load_g if self.held_g is None else max(self.held_g, point.load_g)
        if point.method is None or point.method is FreeboardMethod.DISPLACEMENT:
            return
        if point.freeboard_mm is None or point.freeboard_mm_sd is None:
            return
        offset = self._offset_of(point.method)
        expected_mm, mm_per_g = self.boats.freeboard_mm(point.load_g)
        variance = point.freeboard_mm_sd**2 + SHAPE_MM_SD**2 + (mm_per_g * point.load_g_sd) ** 2
        residual_mm = point.freeboard_mm - expected_mm
        self._log_fit += offset.learn(residual_mm, variance)
        self._seen.append(_Seen(offset, residual_mm.astype(np.float32), float(variance.mean())))

    def say(self, load_g: float, items: int | None = None) -> Said:
        """Return the forecast; cheap between two plateaus.

        Args:
            load_g: aboard now [g].
            items: aboard now, if counted; else as many as weigh nearest to the load.

        Raises:
            OutOfRange: the mass of an item is not above 0.
        """
        known = self._known = self._known or self._weigh_up()
        room_low, room, room_high = (
            max(0.0, g - load_g) for g in (known.low_g, known.median_g, known.high_g)
        )
        items_low, items_room, items_high = self._in_items(room_low, room, room_high)
        aboard = items
        if aboard is None and self._item_g is not None:
            aboard = max(0, round(load_g / self._item_g))
        return Said(
            load_g=load_g,
            median_g=known.median_g,
            low_g=known.low_g,
            high_g=known.high_g,
            room_g=room,
            room_low_g=room_low,
            room_high_g=room_high,
            median_items=_both(aboard, items_room),
            low_items=_both(aboard, items_low),
            high_items=_both(aboard, items_high),
            room_items=items_room,
            room_low_items=items_low,
            room_high_items=items_high,
            fits=known.fits,
        )

    def _offset_of(self, method: FreeboardMethod) -> CommonOffset:
        if method not in self._offsets:
            # Rim gauge and load: its zero is the measured hull's own, so it tells how the rim
            # moves and not where it is.
            free = method is FreeboardMethod.RIM_AND_LOAD
            mm_sd = FREE_MM_SD if free else self._offset_mm_sd
            self._offsets[method] = CommonOffset(len(self.boats), mm_sd)
        return self._offsets[method]

    def _weigh_up(self) -> "_Known":
        """Return the quantiles of what the boats carry, each believed as far as it fits."""
        carries, log_weights = self.boats.carries_g, self.boats.log_prior + self._log_fit
        beyond = False
        if self.held_g is not None:
            able = carries >= self.held_g
            beyond = bool(able.sum() < LEAST_BOATS)
            if beyond:  # no boat explains that it still floats: keep those that come nearest
                able = carries >= np.sort(carries)[-LEAST_BOATS]
            log_weights = np.where(able, log_weights, -np.inf)
            carries = np.maximum(carries, self.held_g)
        log_weights = log_weights - log_weights.max()
        weights = np.exp(log_weights)
        fits = not beyond and self._fits(weights / weights.sum())
        while weights.sum() ** 2 < LEAST_BOATS * (weights**2).sum():
            log_weights = 0.8 * log_weights  # believe all of it a little less
            weights = np.exp(log_weights)
        low, median, high = weighted_quantiles(carries, weights, INTERVAL)
        if not fits:  # then only what was held is sure, and above it all is as open as ever
            prior = np.exp(self.boats.log_prior)
            first, _, last = weighted_quantiles(self.boats.carries_g, prior, INTERVAL)
            high = max(high, low + last - first)
            low = min(low, self.held_g or 0.0)
        return _Known(low, median, high, fits)

    def _fits(self, weights: Floats) -> bool:
        """Whether a careful measurement and a few bad plateaus explain all that was seen."""
        strange = sum(seen.strange(weights) for seen in self._seen)
        careful = bool(weights[self.boats.careful].sum() >= 0.5)
        return careful and strange <= 1 + MANY_STRANGE * len(self._seen)

    def _in_items(self, low_g: float, median_g: float, high_g: float) -> tuple[int | None, ...]:
        """Return room in whole items; their spread widens the interval."""
        item = self._item_g
        if item is None:
            return None, None, None
        middle = whole_items(median_g, item)
        z = NormalDist().inv_cdf(INTERVAL[2])
        low_sd, high_sd = (self._item_sd_g * sqrt(g / item) for g in (low_g, high_g))
        low = median_g - hypot(median_g - low_g, z * low_sd)
        high = median_g + hypot(high_g - median_g, z * high_sd)
        return whole_items(low, item), middle, whole_items(high, item)


@dataclass(frozen=True, slots=True)
class _Known:
    """What stays the same between two plateaus."""

    low_g: float
    median_g: float
    high_g: float
    fits: bool


@dataclass(frozen=True, slots=True)
class _Seen:
    """One plateau's freeboard against what each boat expects."""

    offset: CommonOffset
    residual_mm: NDArray[np.float32]  # kept for each plateau of a trial: half the memory
    variance: float

    def strange(self, weights: Floats) -> bool:
        """Whether it is off by more than noise, in the light of all that was seen since."""
        off_mm = weights @ (self.residual_mm - self.offset.mm)
        return bool(off_mm**2 > STRANGE_SDS**2 * self.variance)


def _both(aboard: int | None, room: int | None) -> int | None:
    return None if aboard is None or room is None else aboard + room
