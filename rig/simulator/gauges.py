"""From truth to raw numbers: the set-up's calibration turned round, and noise."""

from random import Random

from rig.physics.air import speed_of_sound
from rig.setup import RigSetup, RimGauge, SurfaceGauge
from rig.simulator.conditions import Conditions
from rig.simulator.world import World

ADC_LOW, ADC_HIGH = -(2**23), 2**23 - 1  # HX711 data sheet: where the amplifier saturates

Raw = tuple[int | None, int | None, int | None, int | None]  # load, surface, rim, water


def units_of(setup: RigSetup, thermometer: bool) -> tuple[tuple[str, str], ...]:
    """Return what the board's identity says of its channels."""
    units = [("load", "count")]
    if setup.surface:
        units.append(("surface", setup.surface.unit))
    if setup.rim:
        units.append(("rim", setup.rim.unit))
    if thermometer:
        units.append(("water", "mC"))
    return tuple(units)


class Gauges:
    """Reads a world as the rig's sensors would. Sensors the rig does not have read None."""

    def __init__(self, setup: RigSetup, conditions: Conditions, rng: Random) -> None:
        self._setup = setup
        self._noise = conditions.noise
        self._thermometer = conditions.water.thermometer
        self._rng = rng

    def read(self, world: World) -> Raw:
        """Return one row of raw numbers."""
        return self._load(world), self._surface(world), self._rim(world), self._water(world)

    def _load(self, world: World) -> int:
        seen_g = self._rng.gauss(world.gross_g, self._noise.load_g)
        cell = self._setup.load
        count = round(cell.zero_count + cell.count_per_g * seen_g)
        return min(max(count, ADC_LOW), ADC_HIGH)  # as the amplifier itself saturates

    def _surface(self, world: World) -> int | None:
        gauge = self._setup.surface
        if gauge is None:
            return None
        return _distance(gauge, self._rng.gauss(world.surface_mm, self._noise.surface_mm))

    def _rim(self, world: World) -> int | None:
        gauge = self._setup.rim
        if gauge is None:
            return None
        rim_mm = world.rim_mm
        seen_mm = world.surface_mm if rim_mm is None else rim_mm + gauge.flag_mm
        return _distance(gauge, self._rng.gauss(seen_mm, self._noise.rim_mm))

    def _water(self, world: World) -> int | None:
        if not self._thermometer:
            return None
        return round(1000 * self._rng.gauss(world.water_c, self._noise.water_c))


def _distance(gauge: SurfaceGauge | RimGauge, seen_mm: float) -> int | None:
    """The raw distance down to a height; None when that is at the gauge's face or above it."""
    distance_mm = gauge.height_mm - seen_mm
    if distance_mm <= 0:
        return None
    if gauge.unit == "us":
        return round(2000 * distance_mm / speed_of_sound(gauge.air_c))
    return round(1000 * distance_mm)
