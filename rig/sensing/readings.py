"""Raw counts become grams and millimetres: a Sample in, a Reading out. Pure."""

from dataclasses import dataclass

from rig.physics.air import echo_distance_mm
from rig.physics.hx711 import CODE_HIGH, CODE_LOW
from rig.sensing.sentences import Identity
from rig.sensing.stream import Sample
from rig.setup import RigSetup

SATURATED = (CODE_LOW, CODE_HIGH)


@dataclass(frozen=True, slots=True)
class Reading:
    """One row in units. `gross_g` is what the cell bears; None where a channel gave nothing.

    `level_mm` and `rim_mm` are heights above the tub's floor.
    """

    at_ms: int
    gross_g: float | None
    level_mm: float | None
    rim_mm: float | None
    water_c: float | None
    restarted: bool = False


class Calibration:
    """Turns a rig's raw numbers into units, by its set-up and the board's own channel units."""

    def __init__(self, setup: RigSetup, identity: Identity | None = None) -> None:
        self._setup = setup
        self.identity = identity

    def reading(self, sample: Sample) -> Reading:
        """Return the reading of one sample; a saturated or absent channel is None."""
        return Reading(
            sample.at_ms,
            self._gross_g(sample.load_count),
            self._level_mm(sample.surface_raw),
            self._rim_mm(sample.rim_raw),
            None if sample.water_mc is None else sample.water_mc / 1000,
            sample.restarted,
        )

    def _gross_g(self, count: int | None) -> float | None:
        if count is None or count in SATURATED:
            return None
        return self._setup.load.mass_g(count)

    def _level_mm(self, raw: int | None) -> float | None:
        gauge = self._setup.surface
        if raw is None or gauge is None:
            return None
        return gauge.height_mm - self._distance_mm("surface", raw, gauge.unit, gauge.air_c)

    def _rim_mm(self, raw: int | None) -> float | None:
        gauge = self._setup.rim
        if raw is None or gauge is None:
            return None
        flag = gauge.height_mm - self._distance_mm("rim", raw, gauge.unit, gauge.air_c)
        return flag - gauge.flag_mm

    def _distance_mm(self, channel: str, raw: int, unit: str, air_c: float) -> float:
        named = self.identity.unit(channel) if self.identity else None
        return distance_mm(raw, named or unit, air_c)


def distance_mm(raw: float, unit: str, air_c: float) -> float:
    """Return a gauge's distance [mm]: an echo time in us at an air temperature, or um."""
    return echo_distance_mm(raw, air_c) if unit == "us" else raw / 1000


def with_units(setup: RigSetup, identity: Identity | None) -> RigSetup:
    """Return the set-up with the gauge units that the board itself names."""
    changed = {}
    for name, gauge in (("surface", setup.surface), ("rim", setup.rim)):
        unit = identity.unit(name) if identity else None
        if gauge is not None and unit is not None:
            changed[name] = gauge.model_copy(update={"unit": unit})
    return setup.model_copy(update=changed)
