"""What warming does to the level in a tub: the water swells, the walls give way."""

from dataclasses import dataclass

from rig.physics.water import water_density

# Linear expansion of a tub's walls [1/K]: from glass or steel (about 1e-5) to polyethylene and
# polypropylene (1.0e-4 to 2.0e-4). Plastics handbooks, from memory.
STIFF_PER_C, SOFT_PER_C = 1.0e-5, 2.0e-4


@dataclass(frozen=True, slots=True)
class Swelling:
    """How far the level rises by warming alone, for a soft and for a stiff tub [mm]."""

    low_mm: float
    high_mm: float

    @property
    def middle_mm(self) -> float:
        """Halfway."""
        return (self.low_mm + self.high_mm) / 2

    @property
    def doubt_mm(self) -> float:
        """Half of the way between."""
        return (self.high_mm - self.low_mm) / 2


def swelling(depth_mm: float, from_c: float, to_c: float) -> Swelling:
    """Return how far the level rises while a tub's water changes its temperature.

    The water's volume grows by its density, the tub's surface by twice the walls' linear
    expansion; the gauge stands on its own. A soft plastic tub can so even let the level fall.

    Args:
        depth_mm: volume over surface [mm]; the water's depth in an upright tub.
        from_c, to_c: 0 to 40 inclusive [deg C].

    Raises:
        OutOfRange: as `water_density`.
    """
    swells = water_density(from_c) / water_density(to_c)
    warmer_c = to_c - from_c
    rises = sorted(
        depth_mm * (swells / (1 + wall * warmer_c) ** 2 - 1) for wall in (STIFF_PER_C, SOFT_PER_C)
    )
    return Swelling(*rises)
