"""How far off the middle a load may stand, and what happens beyond."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from math import cos, radians
from typing import Final, Literal

from rig.errors import OutOfRange
from rig.physics.flotation import capacity_g
from rig.physics.heeling import (
    STEEPEST_DEG,
    Laden,
    Toward,
    level_line,
    vertical,
)
from rig.physics.hulls import Displaced, Hull, Surface
from rig.physics.hulls.numeric import root
from rig.physics.weights import Weight, boat_weight

End = Literal["rim under", "turns over", "slides"]
SLIDES_DEG: Final = 30.0  # loads slide off a wet deck: common practice, no source
_LOOKS: Final = 12  # attitudes looked at before the worst is narrowed down
_LOADS: Final = 10  # loads looked at before the first too large is narrowed down


@dataclass(frozen=True, slots=True)
class OffCentre:
    """The largest distance from the axis that a boat bears at a load.

    Attributes:
        limit_mm: 0 where it does not even stand under a load in the middle [mm].
        heel_deg: how far it lies over at that limit [degrees].
        end: what a little more does.
    """

    limit_mm: float
    heel_deg: float
    end: End


def distance_for_heel_mm(
    empty: Laden, load_g: float, load_height_mm: float, angle_deg: float, toward: Toward = "across"
) -> float:
    """Return how far off the axis a load must stand to hold the boat at an angle [mm].

    Args:
        empty: the boat without this load.
        load_g: above 0 [g].
        load_height_mm: its centre above the keel [mm].

    Raises:
        OutOfRange: too heavy to float, or a load that is not above 0.

    Balance of moments about the boat's axis, W B = sum of weights, along the level line of the
    heeled boat; exact for the form.
    """
    return _Heeling(empty, load_g, load_height_mm, toward).distance_mm(angle_deg)


def off_centre_limit(
    empty: Laden, load_g: float, load_height_mm: float, toward: Toward = "across"
) -> OffCentre:
    """Return the largest distance off the axis that the boat bears this load at.

    An open boat bears it until the lowest rim point meets the water or until it turns over,
    whichever comes first; a raft until it turns over or its load slides off.

    Args:
        empty: the boat without this load, symmetrical about its axis.
        load_g: above 0, up to the capacity [g].
        load_height_mm: its centre above the keel [mm].

    Raises:
        OutOfRange: too heavy to float, or a load that is not above 0.
    """
    return _Heeling(empty, load_g, load_height_mm, toward).limit()


def bears_off_centre_g(
    hull: Hull,
    boat_g: float,
    density_g_ml: float,
    off_centre_mm: float,
    load_height_mm: Callable[[float], float],
    toward: Toward = "across",
) -> tuple[float, float, End]:
    """Return the first load that a boat does not bear at a distance off its axis.

    Args:
        boat_g: the empty boat, 0 or more [g].
        off_centre_mm: 0 or more [mm].
        load_height_mm: the load's centre above the keel, by its mass (a heap grows) [mm].

    Returns:
        The load [g], how far the boat lies over there [degrees], and what happens. With nothing
        off centre and a stiff boat: the capacity, 0, "rim under".

    Raises:
        OutOfRange: the boat goes down empty.
    """
    full_g = capacity_g(hull, boat_g, density_g_ml)
    if full_g <= 0:
        raise OutOfRange(
            f"This boat goes down empty: it is {-full_g:.1f} g too heavy for its size.",
            "Measure and weigh it again, or build higher walls.",
        )
    empty = Laden(hull, (boat_weight(hull, boat_g),), density_g_ml)

    def at(load_g: float) -> _Heeling:
        return _Heeling(empty, load_g, load_height_mm(load_g), toward)

    good = 0.0
    for i in range(1, _LOADS + 1):
        bad = full_g * (i / _LOADS if i < _LOADS else 1 - 1e-9)
        if not at(bad).bears(off_centre_mm):
            break
        good = bad
    else:
        return full_g, 0.0, "rim under"
    while bad - good > 1e-4 * full_g:
        middle = (good + bad) / 2
        good, bad = (middle, bad) if at(middle).bears(off_centre_mm) else (good, middle)
    limit = at(bad).limit()
    return bad, limit.heel_deg, limit.end


class _Heeling:
    """One boat and load at many angles."""

    def __init__(self, empty: Laden, load_g: float, height_mm: float, toward: Toward) -> None:
        if not load_g > 0:
            raise OutOfRange(f"A load of {load_g:g} g heels no boat.", "Give a load above 0.")
        self._load_g, self._height_mm, self._toward = load_g, height_mm, toward
        self._boat = Laden(
            empty.hull,
            (*empty.weights, Weight(load_g, z_mm=height_mm)),
            empty.density_g_ml,
            empty.slack_ml,
            empty.wall_mm,
        )

    @property
    def stands(self) -> bool:
        """Whether it stands upright with the load in the middle."""
        if self._toward == "across":
            return self._boat.gm_mm > 0
        return self.distance_mm(1e-3) > 0

    def limit(self) -> OffCentre:
        floods = self._boat.hull.floods
        if not self.stands:
            return OffCentre(0.0, 0.0, "turns over")
        end_deg = self._end_deg
        at_end_mm = self._dip[1] if floods else self.distance_mm(end_deg)
        angles = [end_deg * (i + 1) / _LOOKS for i in range(_LOOKS)]
        seen = [*(self.distance_mm(angle) for angle in angles[:-1]), at_end_mm]
        best = max(range(_LOOKS), key=seen.__getitem__)
        if best == _LOOKS - 1 and self.distance_mm(end_deg * (1 - 1e-3)) <= at_end_mm:
            return OffCentre(at_end_mm, end_deg, "rim under" if floods else "slides")
        low = angles[best - 1] if best else 0.0
        angle = _highest(self.distance_mm, low, angles[min(best + 1, _LOOKS - 1)])
        return OffCentre(self.distance_mm(angle), angle, "turns over")

    def bears(self, off_centre_mm: float) -> bool:
        """Whether the limit is that far out; where the rim's dip tells, without looking for it."""
        if not self.stands:
            return False
        if self._dip[1] >= off_centre_mm:
            return True
        end_deg = self._end_deg
        looks = (self.distance_mm(end_deg * (i + 1) / _LOOKS) for i in range(_LOOKS - 1))
        return (
            any(seen >= off_centre_mm for seen in looks) or self.limit().limit_mm >= off_centre_mm
        )

    @property
    def _end_deg(self) -> float:
        return self._dip[0] if self._boat.hull.floods else SLIDES_DEG

    def distance_mm(self, angle_deg: float) -> float:
        return self._distance_mm(angle_deg, *self._boat.surface(vertical(angle_deg, self._toward)))

    def _distance_mm(self, angle_deg: float, surface: Surface, displaced: Displaced) -> float:
        line = level_line(angle_deg, self._toward)
        g = self._boat.centre(surface)
        arm = displaced.along(line) - (g.x_mm * line[0] + g.y_mm * line[1] + g.z_mm * line[2])
        return arm * self._boat.mass_g / (self._load_g * cos(radians(angle_deg)))

    @cached_property
    def _dip(self) -> tuple[float, float]:
        """The angle at which the lowest rim point meets the water, and the distance for it.

        The surface through that point is known at each angle: the volume below it shrinks as
        the angle grows, and where it is the boat's, the rim dips.
        """
        hull = self._boat.hull
        wanted_ml = self._boat.mass_g / self._boat.density_g_ml

        def touching(angle_deg: float) -> Surface:
            through_keel = Surface(vertical(angle_deg, self._toward), 0.0)
            return Surface(through_keel.up, through_keel.lowest_mm(hull.rim(), hull.depth_mm))

        def spare_ml(angle_deg: float) -> float:
            return hull.below(touching(angle_deg)).volume_ml - wanted_ml

        low, f_low, high = 0.0, hull.volume_ml(hull.depth_mm) - wanted_ml, 2.0
        if f_low <= 0:
            raise OutOfRange("A boat loaded to its rim bears nothing off the middle.", "Unload.")
        while (f_high := spare_ml(high)) > 0 and high < STEEPEST_DEG:
            low, f_low, high = high, f_high, min(2 * high, STEEPEST_DEG)
        angle = high
        if f_high <= 0:
            angle = root(spare_ml, low, high, f_low, f_high, 1e-10)
        surface = touching(angle)
        return angle, self._distance_mm(angle, surface, hull.below(surface))


def _highest(of: Callable[[float], float], low: float, high: float) -> float:
    """Golden-section search for the top between two places; J. Kiefer, Proc. AMS 4 (1953) 502."""
    part = (5**0.5 - 1) / 2
    a, b = high - part * (high - low), low + part * (high - low)
    fa, fb = of(a), of(b)
    for _ in range(24):
        if fa < fb:
            low, a, fa = a, b, fb
            b = low + part * (high - low)
            fb = of(b)
        else:
            high, b, fb = b, a, fa
            a = high - part * (high - low)
            fa = of(a)
    return (low + high) / 2
