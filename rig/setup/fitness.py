"""Is this rig fine enough for its tub, its items and its boats? Worked out before class.

White noise only: waves, a float that sticks and warm air come on top, so each figure is the best
that can be hoped for. The level of a tub rises by displaced volume / tub area (Archimedes).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, sqrt
from typing import Final

from rig.physics.hx711 import noise_counts
from rig.physics.water import ROOM_C, water_density
from rig.setup.boatsfile import Boat
from rig.setup.findings import (
    HEAVY_G_ML,
    LEAST_FALL_MM,
    LIGHT_G_ML,
    MANY_G,
    MANY_ITEMS,
    SINKING_SD,
    WALL_PART,
    FreeboardFinding,
    ItemFinding,
    LevelFinding,
    RigFinding,
    Rise,
    SinkingFinding,
    TubUnknown,
)
from rig.setup.rigfile import Item, RigSetup, RimGauge, SurfaceGauge, TubPart

# Of one reading [mm], where nobody has measured it: echo, light (common practice, no source).
USUAL_NOISE_MM: Final = {"us": 1.0, "um": 0.5}
USUAL_RATE_HZ: Final = 10.0
LOOK_S: Final = 0.5  # the rig looks for a sinking in means of this length
SHOWN_ITEMS: Final = (1, 5, 10)
SHOWN_G: Final = (10.0, 25.0)


@dataclass(frozen=True)
class Readings:
    """How the sensors read: noise of one reading [mm], None where not measured, and the rate."""

    surface_mm_sd: float | None = None
    rim_mm_sd: float | None = None
    rate_hz: float = USUAL_RATE_HZ

    def noise_mm(self, gauge: SurfaceGauge | RimGauge) -> float:
        """The measured noise of a gauge, else the usual one of its kind [mm]."""
        measured = self.rim_mm_sd if isinstance(gauge, RimGauge) else self.surface_mm_sd
        return USUAL_NOISE_MM[gauge.unit] if measured is None else measured

    def mean_sd(self, noise: float, span_s: float) -> float:
        """Standard deviation of a mean over a stretch of independent readings, one at least."""
        return noise / sqrt(max(1, int(self.rate_hz * span_s + 1e-9)))


def findings(
    setup: RigSetup,
    boats: Iterable[Boat] = (),
    readings: Readings | None = None,
    density_g_ml: float | None = None,
) -> list[RigFinding]:
    """Return what the rig, and then each boat on it, can and cannot show.

    Args:
        readings: noise and rate, where measured.
        density_g_ml: of the water; of fresh water at 20 deg C if not given.
    """
    looked = readings or Readings()
    density = water_density(ROOM_C) if density_g_ml is None else density_g_ml
    found: list[RigFinding] = []
    if setup.item:
        found.append(_item(setup, setup.item, looked))
    if setup.surface and setup.tub:
        found.append(_level(setup, setup.surface, setup.tub, looked, density))
    elif setup.surface:
        found.append(TubUnknown(None, setup.rim is not None))
    for boat in boats:
        found += _boat(setup, boat, looked, density)
    return found


def warnings_before_class(
    setup: RigSetup, boats: Iterable[Boat], readings: Readings | None = None
) -> list[str]:
    """Return a line for each thing too coarse: what, in mm or g, then one thing to do."""
    return [f"{f.says} {f.do}" for f in findings(setup, boats, readings) if not f.ok]


def widest_area_mm2(tub: TubPart) -> float:
    """Return the largest water surface in the tub's table [mm2], where its level moves least."""
    table = tub.table
    return max(table.area_mm2(level_mm) for level_mm, _ in table.pours)


def _difference_2sd(setup: RigSetup, noise: float, readings: Readings) -> float:
    """Twice the standard uncertainty of a difference between the means of two holds."""
    return 2 * sqrt(2) * readings.mean_sd(noise, setup.rig.hold_s)


def _item(setup: RigSetup, item: Item, readings: Readings) -> ItemFinding:
    noise_g = noise_counts(readings.rate_hz) / abs(setup.load.count_per_g)
    return ItemFinding(None, item.mass_g, noise_g, _difference_2sd(setup, noise_g, readings))


def _level(
    setup: RigSetup, gauge: SurfaceGauge, tub: TubPart, readings: Readings, density: float
) -> LevelFinding:
    area, item = widest_area_mm2(tub), setup.item
    told_mm = _difference_2sd(setup, readings.noise_mm(gauge), readings)
    least_g = told_mm * area / 1000 * density
    loads: list[tuple[int | None, float]] = [(None, load_g) for load_g in SHOWN_G]
    least_items, many_g = None, MANY_G
    if item:
        loads = [(items, items * item.mass_g) for items in SHOWN_ITEMS]
        least_items, many_g = max(1, ceil(least_g / item.mass_g - 1e-9)), MANY_ITEMS * item.mass_g
        least_g = least_items * item.mass_g
    return LevelFinding(
        boat=None,
        tub_area_mm2=area,
        tub_area_enough_mm2=_area_for(many_g / density, told_mm),
        level_2sd_mm=told_mm,
        rises=tuple(Rise(items, g, 1000 * g / density / area) for items, g in loads),
        least_g=least_g,
        least_items=least_items,
        rim_gauge=setup.rim is not None,
    )


def _boat(setup: RigSetup, boat: Boat, readings: Readings, density: float) -> list[RigFinding]:
    surface, rim, tub = setup.surface, setup.rim, setup.tub
    found: list[RigFinding] = []
    if surface and rim:
        noise_mm = sqrt(readings.noise_mm(surface) ** 2 + readings.noise_mm(rim) ** 2)
        found.append(_by_rim(setup, boat, noise_mm, readings))
    elif rim:  # the level is then worked out from the load
        found.append(_by_rim(setup, boat, readings.noise_mm(rim), readings))
    elif surface and tub:
        found.append(_by_displacement(setup, surface, tub, boat, readings))
    if surface and tub:
        found.append(_sinking(setup, surface, tub, boat, readings, density))
    return found


def _by_rim(setup: RigSetup, boat: Boat, noise_mm: float, readings: Readings) -> FreeboardFinding:
    told_mm = _difference_2sd(setup, noise_mm, readings)
    return FreeboardFinding(boat.label, True, boat.hull.depth_mm, told_mm, None)


def _by_displacement(
    setup: RigSetup, gauge: SurfaceGauge, tub: TubPart, boat: Boat, readings: Readings
) -> FreeboardFinding:
    """Displaced volume = rise x tub area; the draft it makes = volume / waterplane, at the rim."""
    wall_mm = boat.hull.depth_mm
    waterplane_mm2 = boat.hull.rim_mm2()
    level_mm = _difference_2sd(setup, readings.noise_mm(gauge), readings)
    told_mm = level_mm * widest_area_mm2(tub) / waterplane_mm2
    enough_mm2 = _area_for(WALL_PART * wall_mm * waterplane_mm2 / 1000, level_mm)
    return FreeboardFinding(boat.label, False, wall_mm, told_mm, enough_mm2)


def _sinking(
    setup: RigSetup,
    gauge: SurfaceGauge,
    tub: TubPart,
    boat: Boat,
    readings: Readings,
    density: float,
) -> SinkingFinding:
    """Afloat and full a boat displaces its hull; down, only the solids of boat and load."""
    full_ml, area = boat.hull.volume_ml(boat.hull.depth_mm), widest_area_mm2(tub)
    lost_ml = [full_ml * (1 - density / solid) for solid in (LIGHT_G_ML, HEAVY_G_ML)]
    sd = readings.mean_sd(readings.noise_mm(gauge), LOOK_S)
    needed_mm = max(LEAST_FALL_MM, SINKING_SD * sd)
    return SinkingFinding(
        boat=boat.label,
        fall_light_mm=1000 * lost_ml[0] / area,
        fall_heavy_mm=1000 * lost_ml[1] / area,
        needed_mm=needed_mm,
        tub_area_enough_mm2=_area_for(lost_ml[0], needed_mm),
        rim_gauge=setup.rim is not None,
    )


def _area_for(volume_ml: float, rise_mm: float) -> float:
    """The tub in which a volume makes just this rise [mm2]; any tub for a gauge without noise."""
    return 1000 * volume_ml / max(rise_mm, 1e-6)
