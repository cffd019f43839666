"""Archimedes at work: draft, freeboard and capacity of a hull in still water."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

from rig.errors import OutOfRange
from rig.physics.hulls import Hull


@dataclass(frozen=True, slots=True)
class FloatPoint:
    """A hull at rest under a load put in level."""

    load_g: float
    draft_mm: float
    freeboard_mm: float


def draft_for_volume(hull: Hull, displaced_ml: float) -> float:
    """Return the draft at which the hull displaces a volume [mm].

    Newton on the volume curve, whose slope is the waterplane area, kept inside a
    shrinking bracket so that it cannot leave the hull.

    Args:
        displaced_ml: 0 to the volume at the rim inclusive [ml]; one part in 10^12 above it,
            the rounding of a boat loaded to its capacity, counts as at the rim.

    Raises:
        OutOfRange: below 0, or more than the hull holds up to its rim.
    """
    low, high = 0.0, hull.depth_mm
    full_ml = hull.volume_ml(high)
    if full_ml < displaced_ml <= full_ml * (1 + 1e-12):
        return high
    if not 0 <= displaced_ml <= full_ml:
        raise OutOfRange(
            f"This hull displaces 0 to {full_ml:.1f} ml, not {displaced_ml:.1f} ml.",
            "Take some load off, or measure the hull again.",
        )
    draft = high * (displaced_ml / full_ml)  # in this order it cannot round past the rim
    for _ in range(60):
        excess_ml = hull.volume_ml(draft) - displaced_ml
        low, high = (low, draft) if excess_ml > 0 else (draft, high)
        area = hull.waterplane(draft).area_mm2
        newer = draft - 1000 * excess_ml / area if area > 0 else -1.0  # in an edge: halve
        if not low <= newer <= high:
            newer = (low + high) / 2
        if abs(newer - draft) <= 1e-13 * hull.depth_mm:
            return newer
        draft = newer
    return draft


def float_at(hull: Hull, boat_g: float, load_g: float, density_g_ml: float) -> FloatPoint:
    """Return draft and freeboard under a load.

    A floating body displaces its own weight of water (Archimedes).

    Args:
        boat_g: the empty boat, 0 or more [g].
        load_g: what is aboard, 0 to `capacity_g` [g].
        density_g_ml: of the water [g/ml].

    Raises:
        OutOfRange: the boat does not float under this load.
    """
    draft = draft_for_volume(hull, (boat_g + load_g) / density_g_ml)
    return FloatPoint(load_g, draft, hull.depth_mm - draft)


def capacity_g(hull: Hull, boat_g: float, density_g_ml: float) -> float:
    """Return the load at which the lowest rim point meets the water [g].

    The boat's own mass is taken off. Negative when the boat goes down empty, by
    as much as it is too heavy.
    """
    return hull.volume_ml(hull.depth_mm) * density_g_ml - boat_g


def whole_items(load_g: float, item_g: float) -> int:
    """Return how many whole items weigh no more than a load, 0 at least.

    A count that comes out whole but for rounding in the last digits (a thousand-millionth
    of an item) counts as whole.

    Raises:
        OutOfRange: `item_g` is not above 0.
    """
    if not item_g > 0:
        raise OutOfRange(
            f"An item of {item_g:g} g cannot be counted.",
            "Weigh ten items together and give a tenth of that.",
        )
    return max(0, floor(load_g / item_g + 1e-9))


def sinking_curve(
    hull: Hull, boat_g: float, density_g_ml: float, loads_g: Sequence[float]
) -> list[FloatPoint]:
    """Return draft and freeboard for each load, in the order given. Raises OutOfRange."""
    return [float_at(hull, boat_g, load_g, density_g_ml) for load_g in loads_g]
