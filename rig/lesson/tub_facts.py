"""What must be known of a tub, its room and its gauge to tell a leak from drying and drifting."""

from dataclasses import dataclass
from math import sqrt
from typing import Final

from rig.errors import OutOfRange, RigError
from rig.lesson.tub_watch import By
from rig.physics.air import speed_of_sound
from rig.physics.evaporation import Evaporation
from rig.setup import Layout, RigSetup
from rig.setup.fitness import widest_area_mm2

# How far a room's temperature wanders, as a random walk [deg C in one hour]: half a degree in an
# hour, one and a half over a night (common practice, no source).
ROOM_WALK_C: Final = 0.5
LIGHT_MM_PER_C: Final = 0.05  # drift of a time-of-flight gauge (common practice, no source)
# Zero of a bar cell: 0.02 to 0.1 % of its range in 10 deg C (maker's figures, from memory); the
# middle of that, of a cell half as large again as what it bears.
CELL_PER_C: Final = 1e-4
# Water of an unknown temperature that was drawn cold: so fast it warms (common practice, no source)
WARMS_C_PER_H: Final = 1.5
# An open pan beside the tub dries faster than the tub: 0.7 is the usual coefficient of a Class A
# pan (US Weather Bureau, from memory); a little above 1 for a pan in the lee of the tub.
PAN_LOW, PAN_HIGH = 0.7, 1.1
PAN_READ_MM: Final = 0.5  # how well a ruler in the pan reads, either time


@dataclass(frozen=True, slots=True)
class TubFacts:
    """See the module.

    Attributes:
        area_mm2: the water's surface.
        air_c: of the room.
        evaporation: what dries away.
        cold_water: the water may have been drawn cold and have no thermometer.
    """

    by: By
    area_mm2: float
    air_c: float
    evaporation: Evaporation
    cold_water: bool = False

    @property
    def ml_per_mm(self) -> float:
        """How much water a millimetre of level is."""
        return self.area_mm2 / 1000


def watch_by(setup: RigSetup, wanted: By | None = None) -> By:
    """Return what this rig can watch its water by: the weight if the tub stands on the cell.

    Raises:
        RigError: nothing here sees the water, or not the way that is wanted.
    """
    able = []
    if setup.rig.layout is Layout.TUB_ON_CELL:
        able.append(By.WEIGHT)
    if setup.surface is not None:
        able.append(By.LEVEL)
    if not able:
        raise RigError(
            "This rig has no gauge above the water, and the tub does not stand on the cell.",
            "Mark the level on a strip of tape and look again in an hour.",
        )
    if wanted is not None and wanted not in able:
        raise RigError(f"This rig cannot watch the {wanted.value}.", f"Watch the {able[0].value}.")
    return wanted or able[0]


def tub_area_mm2(setup: RigSetup) -> float:
    """Return the largest water surface of the tub. Raises RigError if the rig file has no tub."""
    if setup.tub is None:
        raise RigError(
            "The rig file has no [tub].",
            "Measure length and width of the water in mm, multiply, and write [tub] area_mm2 = ...",
        )
    return widest_area_mm2(setup.tub)


def walk_per_sqrt_h(setup: RigSetup, by: By, typical: float) -> float:
    """Return how far a gauge may wander with the room in one hour [mm or g].

    Args:
        typical: a reading: the level in mm or the load in g.
    """
    if by is By.WEIGHT:
        return ROOM_WALK_C * CELL_PER_C * abs(typical)
    gauge = setup.surface
    if gauge is None or gauge.unit == "um":
        return ROOM_WALK_C * LIGHT_MM_PER_C
    colder, warmer = max(0.0, gauge.air_c - 0.5), min(30.0, gauge.air_c + 0.5)
    per_c = (speed_of_sound(warmer) / speed_of_sound(colder) - 1) / (warmer - colder)
    return ROOM_WALK_C * per_c * max(0.0, gauge.height_mm - typical)


def pan_evaporation(fell_mm: float, hours: float) -> Evaporation:
    """Return what a tub dries, from an open pan of the same water beside it.

    Args:
        fell_mm: how far the pan's level fell [mm].
        hours: in what time, above 0.

    Raises:
        OutOfRange: no time, or a level that rose.
    """
    if not (hours > 0 and fell_mm >= 0):
        raise OutOfRange(
            f"A pan that fell {fell_mm:g} mm in {hours:g} h tells nothing.",
            "Read the pan's level twice with a ruler, an hour or more apart.",
        )
    read_mm = 2 * sqrt(2) * PAN_READ_MM
    return Evaporation(
        PAN_LOW * max(0.0, fell_mm - read_mm) / hours, PAN_HIGH * (fell_mm + read_mm) / hours
    )
