"""From truth to raw numbers: the set-up's calibration turned round, noise, and what goes wrong."""

from math import hypot
from random import Random

from rig.physics.air import speed_of_sound
from rig.physics.hx711 import CODE_HIGH, CODE_LOW
from rig.setup import RigSetup, RimGauge, SurfaceGauge
from rig.simulator.amplifier import Creep, WrongWords, input_noise_g
from rig.simulator.conditions import Conditions
from rig.simulator.echoes import Echoes
from rig.simulator.room import Room
from rig.simulator.world import World

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
    """Reads a world as the rig's sensors would. Sensors the rig does not have read None.

    The everyday noise has a generator of its own, so that a seed's noise is the same whatever
    else goes wrong.
    """

    def __init__(self, setup: RigSetup, conditions: Conditions, seed: int) -> None:
        board = conditions.board
        self.words = WrongWords(conditions.amplifier.wrong_words, Random(f"words {seed}"))
        self._setup = setup
        self._noise = conditions.noise
        self._thermometer = conditions.water.thermometer
        self._rng = Random(f"gauges {seed}")
        self._shakes = Random(f"shaking {seed}")
        self._amplifier = conditions.amplifier
        self._creep = Creep(conditions.amplifier)
        self._room = Room(conditions.room, Random(f"room {seed}"))
        gauge_hz = board.gauge_hz or board.rate_hz
        self._surface_echo = Echoes(conditions.surface_echo, gauge_hz, Random(f"surface {seed}"))
        self._rim_echo = Echoes(conditions.rim_echo, gauge_hz, Random(f"rim {seed}"))
        self._last_s = 0.0

    def read(self, world: World, rate_hz: float, heights: bool = True) -> Raw:
        """Return one row of raw numbers; gauges and thermometer only if it is their turn."""
        self._room.step(world.now_s - self._last_s)
        self._last_s = world.now_s
        load = self._load(world, rate_hz)
        if not heights:
            return load, None, None, None
        return load, self._surface(world), self._rim(world), self._water(world)

    def _load(self, world: World, rate_hz: float) -> int:
        part, cell = self._amplifier, self._setup.load
        noise_g = hypot(self._noise.load_g, input_noise_g(part, rate_hz))
        seen_g = self._rng.gauss(world.felt_g, noise_g)
        if world.shaken_g:
            seen_g += self._shakes.gauss(0.0, world.shaken_g)
        seen_g += self._creep.at(world.gross_g, world.now_s)
        seen_g += part.drift_g_per_c * self._room.change_c
        seen_g *= 1 + part.span_error
        bend = cell.count_per_g2 * seen_g**2
        count = round(cell.zero_count + cell.count_per_g * seen_g + bend)
        # as the amplifier itself saturates; what is wrong with a word comes after that
        return self.words.spoil(min(max(count, CODE_LOW), CODE_HIGH))

    def _surface(self, world: World) -> int | None:
        gauge = self._setup.surface
        if gauge is None:
            return None
        floats_mm = self._surface_echo.floated(world.surface_mm)
        noise_mm = self._rng.gauss(0.0, self._noise.surface_mm)
        meets_mm = _nearer(floats_mm, world, world.in_beam_mm.get("surface"))
        return self._raw(gauge, self._surface_echo, meets_mm + noise_mm)

    def _rim(self, world: World) -> int | None:
        gauge = self._setup.rim
        if gauge is None:
            return None
        aim_mm = self._aim_mm(world, gauge)
        noise_mm = self._rng.gauss(0.0, self._noise.rim_mm)
        hand_mm = world.in_beam_mm.get("rim")
        if aim_mm is None and hand_mm is None:
            return None
        meets_mm = _nearer(0.0 if aim_mm is None else aim_mm, world, hand_mm)
        return self._raw(gauge, self._rim_echo, meets_mm + noise_mm)

    def _aim_mm(self, world: World, gauge: RimGauge) -> float | None:
        """The height of what stands in the rim gauge's beam [mm]; None for nothing."""
        rim_mm, surface_mm = world.rim_mm, world.surface_mm
        if rim_mm is None or world.vessel is None:
            return surface_mm
        flag_mm = rim_mm + gauge.flag_mm
        lost = world.vessel.flag_lost
        if self._rim_echo.part.under == "flag" and not lost:
            return flag_mm
        if lost or flag_mm < surface_mm:
            return None if self._rim_echo.part.under == "nothing" else surface_mm
        return flag_mm

    def _water(self, world: World) -> int | None:
        if not self._thermometer:
            return None
        return round(1000 * self._rng.gauss(world.water_c, self._noise.water_c))

    def _raw(self, gauge: SurfaceGauge | RimGauge, echoes: Echoes, seen_mm: float) -> int | None:
        """The raw distance down to a height; None at the gauge's face or above, or unheard."""
        distance_mm = echoes.echo(gauge.height_mm - seen_mm)
        if distance_mm is None or distance_mm <= 0:
            return None
        if gauge.unit == "us":
            # the sound goes through the air there is, the set-up reckons with the air it knows
            air_c = gauge.air_c if self._room.air_c is None else self._room.air_c
            return round(2000 * distance_mm / speed_of_sound(air_c))
        return round(1000 * distance_mm)


def _nearer(seen_mm: float, world: World, hand_mm: float | None) -> float:
    """What a beam from above meets first: a hand, or what it was meant to."""
    return seen_mm if hand_mm is None else max(seen_mm, world.surface_mm + hand_mm)
