"""A boat is registered by weighing it on the rig: the cell before, the cell with the boat on it."""

from dataclasses import dataclass
from math import hypot
from typing import Final

from rig.errors import OutOfPlace
from rig.lesson.reset import Still
from rig.setup import RigSetup

LEAST_G: Final = 0.5  # lighter than a sheet of foil: nothing lies there
SURE_SD: Final = 4.0


@dataclass(frozen=True, slots=True)
class BoatMass:
    """An empty boat's mass, with the standard uncertainty of weighing and calibration [g]."""

    mass_g: float
    mass_g_sd: float


def boat_mass(setup: RigSetup, empty: Still | None, with_boat: Still | None) -> BoatMass:
    """Return the boat's mass, flag and mast included if they are on it.

    On a feed tray the boat lies on the tray; where the tub stands on the cell it floats.

    Args:
        empty, with_boat: the rig at rest, see `Settling`; None while something moves.

    Raises:
        OutOfPlace: something moves, the scale is silent, or no boat lies there.
    """
    if empty is None or with_boat is None:
        raise OutOfPlace("Something is still moving.", "Hands off for two seconds, then weigh.")
    if empty.gross_g is None or with_boat.gross_g is None:
        raise OutOfPlace("The scale says nothing.", "Check its plug, or type the boat's mass in.")
    mass_g = with_boat.gross_g - empty.gross_g
    noise_g = hypot(empty.gross_g_sd, with_boat.gross_g_sd)
    if mass_g < max(LEAST_G, SURE_SD * noise_g):
        raise OutOfPlace(
            f"The scale rose by {mass_g:.1f} g: there is no boat on it.",
            "Lay the dry, empty boat on the rig and weigh again.",
        )
    span = setup.load.count_per_g_sd / abs(setup.load.count_per_g)
    return BoatMass(mass_g, hypot(noise_g, span * mass_g))
