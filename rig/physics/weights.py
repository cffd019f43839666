"""Weights and their common centre: boat, load, water inside. Grams and millimetres."""

from collections.abc import Iterable
from dataclasses import dataclass

from rig.errors import OutOfRange
from rig.physics.flotation import draft_for_volume
from rig.physics.hulls import Hull
from rig.physics.walls import inside


@dataclass(frozen=True, slots=True)
class Weight:
    """A mass and where its centre lies: x fore and aft, y athwartships, z above the keel."""

    mass_g: float
    x_mm: float = 0.0
    y_mm: float = 0.0
    z_mm: float = 0.0


def centre_of_gravity(weights: Iterable[Weight]) -> Weight:
    """Return all weights as one: sum of masses, sum of moments over it.

    What is taken off counts as a mass below 0.

    Raises:
        OutOfRange: together they have no mass.

    Source:
        C.B. Barrass and D.R. Derrett, Ship Stability for Masters and Mates, chapter on the
        centre of gravity; Archimedes, On the Equilibrium of Planes.
    """
    mass = x = y = z = 0.0
    for weight in weights:
        mass += weight.mass_g
        x += weight.mass_g * weight.x_mm
        y += weight.mass_g * weight.y_mm
        z += weight.mass_g * weight.z_mm
    if not mass > 0:
        raise OutOfRange("Weights of no mass have no centre.", "Give the boat's mass.")
    return Weight(mass, x / mass, y / mass, z / mass)


def boat_weight(hull: Hull, boat_g: float) -> Weight:
    """Return the empty boat as a weight: over the axis, as if of one material throughout."""
    return Weight(boat_g, z_mm=hull.own_centre_mm())


def spread_height_mm(hull: Hull, load_g: float, bulk_g_ml: float, wall_mm: float = 0.0) -> float:
    """Return KG of a load spread level over the bottom, or over a raft's deck [mm].

    Above the rim it goes on upright.

    Args:
        load_g: 0 or more [g].
        bulk_g_ml: mass of the heaped items over the room they take, gaps included; for
            washers about 4, marbles 1.5 (common practice, no source) [g/ml].
        wall_mm: thickness of walls and bottom [mm].

    Raises:
        OutOfRange: a bulk density that is not above 0, or walls that leave no room.
    """
    room_ml = _room_ml(load_g, bulk_g_ml)
    if not hull.floods:
        return hull.depth_mm + 1000 * room_ml / hull.rim_mm2() / 2
    hold = inside(hull, wall_mm)
    full_ml = hold.volume_ml(hold.depth_mm)
    if room_ml <= full_ml:
        return wall_mm + hold.centroid_mm(draft_for_volume(hold, room_ml))
    over_ml = room_ml - full_ml
    over_mm = hold.depth_mm + 1000 * over_ml / hold.rim_mm2() / 2
    low_mm = hold.centroid_mm(hold.depth_mm)
    return wall_mm + (full_ml * low_mm + over_ml * over_mm) / room_ml


def piled_height_mm(
    hull: Hull, load_g: float, bulk_g_ml: float, footprint_mm2: float, wall_mm: float = 0.0
) -> float:
    """Return KG of a load piled up as an upright stack on the bottom, or on a deck [mm].

    Args:
        footprint_mm2: of the stack, above 0 [mm2].

    Raises:
        OutOfRange: a bulk density or footprint that is not above 0.
    """
    if not footprint_mm2 > 0:
        raise OutOfRange("A stack needs a footprint.", "Give length x width of the stack.")
    floor_mm = wall_mm if hull.floods else hull.depth_mm
    return floor_mm + 1000 * _room_ml(load_g, bulk_g_ml) / footprint_mm2 / 2


def _room_ml(load_g: float, bulk_g_ml: float) -> float:
    if not bulk_g_ml > 0:
        raise OutOfRange(
            f"A bulk density of {bulk_g_ml:g} g/ml cannot be.",
            "Fill a cup of known volume with the items and weigh them.",
        )
    return load_g / bulk_g_ml
