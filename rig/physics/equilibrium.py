"""How a boat comes to rest under a load put anywhere: heel and trim together.

The boat is let go upright and settles downhill: at a fixed displacement the height of its centre
of gravity above its centre of buoyancy is its potential energy, with gradient (G - B) across
the vertical; where that vanishes and energy is least it rests.

Source: potential energy of floating bodies, E. Guyou, Theorie du navire (1887); from memory.
"""

from dataclasses import dataclass
from math import degrees, hypot, radians, sqrt, tan
from typing import Literal

from rig.physics.heeling import STEEPEST_DEG, Laden, lowest_rim_mm
from rig.physics.hulls import Displaced, Surface

State = Literal["afloat", "rim under", "turned over"]
_STEP_RAD = radians(6.0)
_NUDGE_RAD = radians(0.5)


@dataclass(frozen=True, slots=True)
class Rest:
    """A boat at rest, or what became of it.

    Attributes:
        heel_deg, trim_deg: the slope of the water seen from the boat, side of positive y and end of
            positive x down.
        lowest_rim_mm: the lowest rim point above the water [mm].
        state: "rim under" means that an open boat fills over its low side; a raft's deck is
            then awash and it floats on. "turned over": no rest within 80 degrees; angles and
            surface are where the search ended.
    """

    heel_deg: float
    trim_deg: float
    surface: Surface
    displaced: Displaced
    lowest_rim_mm: float
    state: State


def settle(boat: Laden) -> Rest:
    """Return how the boat rests under its weights.

    Raises:
        OutOfRange: it is too heavy to float.
    """
    trim = heel = 0.0
    here = _Place.of(boat, trim, heel)
    size = boat.hull.depth_mm + sqrt(boat.hull.rim_mm2())
    if hypot(*here.gradient) < 1e-12 * size and not _stable(boat, here):
        heel = _NUDGE_RAD  # balanced on a knife's edge: any breath decides
        here = _Place.of(boat, trim, heel)
    for _ in range(100):
        step = _step(boat, here)
        for _ in range(12):
            there = _Place.of(boat, here.trim + step[0], here.heel + step[1])
            if there.energy <= here.energy + 1e-13 * size:
                break
            step = (step[0] / 2, step[1] / 2)
        else:
            break  # as low as rounding tells
        here = there
        if max(abs(here.trim), abs(here.heel)) > radians(STEEPEST_DEG):
            return here.rest(boat, "turned over")
        if hypot(*step) < 1e-7:  # the step just taken left its square behind
            break
    return here.rest(boat)


@dataclass(frozen=True, slots=True)
class _Place:
    """One attitude: energy and its gradient by trim and heel (radians)."""

    trim: float
    heel: float
    energy: float
    gradient: tuple[float, float]
    surface: Surface
    displaced: Displaced

    @classmethod
    def of(cls, boat: Laden, trim: float, heel: float) -> "_Place":
        a, b = tan(trim), tan(heel)
        n = sqrt(1 + a * a + b * b)
        up = (-a / n, -b / n, 1 / n)
        surface, displaced = boat.surface(up)
        g = boat.centre(surface)
        dx, dy, dz = g.x_mm - displaced.x_mm, g.y_mm - displaced.y_mm, g.z_mm - displaced.z_mm
        energy = dx * up[0] + dy * up[1] + dz * up[2]
        # d up / da = (-1, 0, 0) / n - a up / n^2; da / d trim = 1 + a^2
        by_a = -dx / n - a * energy / n**2
        by_b = -dy / n - b * energy / n**2
        gradient = (by_a * (1 + a * a), by_b * (1 + b * b))
        return cls(trim, heel, energy, gradient, surface, displaced)

    def rest(self, boat: Laden, state: State | None = None) -> Rest:
        low = lowest_rim_mm(boat.hull, self.surface)
        found: State = state or ("afloat" if low >= 0 else "rim under")
        return Rest(
            degrees(self.heel),
            degrees(self.trim),
            self.surface,
            self.displaced,
            low,
            found,
        )


def _curvature(boat: Laden, here: _Place) -> tuple[float, float, float]:
    """Second derivatives of the energy: trim trim, trim heel, heel heel."""
    d = 1e-5
    by_trim = _Place.of(boat, here.trim + d, here.heel).gradient
    by_heel = _Place.of(boat, here.trim, here.heel + d).gradient
    gx, gy = here.gradient
    mixed = ((by_trim[1] - gy) + (by_heel[0] - gx)) / (2 * d)
    return (by_trim[0] - gx) / d, mixed, (by_heel[1] - gy) / d


def _stable(boat: Laden, here: _Place) -> bool:
    xx, xy, yy = _curvature(boat, here)
    return xx > 0 and yy > 0 and xx * yy > xy * xy


def _step(boat: Laden, here: _Place) -> tuple[float, float]:
    """Newton's step where the energy is a bowl, else straight downhill; a few degrees at most."""
    xx, xy, yy = _curvature(boat, here)
    gx, gy = here.gradient
    det = xx * yy - xy * xy
    if xx > 0 and det > 0:
        step = ((xy * gy - yy * gx) / det, (xy * gx - xx * gy) / det)
    else:
        slope = hypot(gx, gy) or 1.0
        step = (-gx / slope * _STEP_RAD, -gy / slope * _STEP_RAD)
    longest = max(abs(step[0]), abs(step[1]))
    if longest > _STEP_RAD:
        step = (step[0] * _STEP_RAD / longest, step[1] * _STEP_RAD / longest)
    return step
