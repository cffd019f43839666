"""What comes first when a boat is loaded, said before the test: filling, or turning over."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from rig.physics.flotation import capacity_g
from rig.physics.heeling import Laden
from rig.physics.hulls import Hull
from rig.physics.off_centre import End, bears_off_centre_g
from rig.physics.weights import boat_weight, spread_height_mm

First = Literal[
    "fills", "low side", "turns over", "falls empty", "deck under", "deck edge", "slides"
]
OFF_CENTRE_PART: Final = 0.025  # of the beam: how well hands find the middle; common practice
BULK_G_ML: Final = 4.0  # a heap of steel washers: common practice, no source
LEVEL_PART: Final = 0.9  # of the level capacity reached: it fills before it tips
WORDS: Final[dict[First, str]] = {
    "fills": "Wide and low: it will fill before it tips.",
    "low side": "It will fill over its low side: keep the load in the middle.",
    "turns over": "It will turn over before it is full: it is high for its width.",
    "slides": "It will lean until its load slides off: keep it in the middle.",
    "falls empty": "It does not stand upright even when empty.",
    "deck under": "A raft does not fill: it carries until its deck is under.",
    "deck edge": "It will dip one edge and turn over: keep the load in the middle.",
}


@dataclass(frozen=True, slots=True)
class Outlook:
    """The first thing that will happen.

    Attributes:
        load_g: the load at which it happens [g].
        level_g: the capacity with everything level [g].
        heel_deg: how far it lies over by then [degrees].
        off_centre_mm: how far off the middle the load was taken to stand [mm].
        empty_gm_mm: metacentric height of the empty boat [mm]; below 0 it does not stand empty.
        words: one sentence for the class.
    """

    first: First
    load_g: float
    level_g: float
    heel_deg: float
    off_centre_mm: float
    empty_gm_mm: float | None
    words: str


def outlook(
    hull: Hull,
    boat_g: float,
    density_g_ml: float,
    off_centre_mm: float | None = None,
    load_height_mm: Callable[[float], float] | None = None,
) -> Outlook:
    """Return what comes first as the load grows.

    Args:
        boat_g: the empty boat, 0 or more [g].
        off_centre_mm: how far off the axis the load may stand; `OFF_CENTRE_PART` of the rim's
            beam if None [mm].
        load_height_mm: the load's centre above the keel by its mass; a level heap of washers if
            None. `rig.physics.weights` has both ways, spread and piled.

    Raises:
        OutOfRange: the boat goes down empty.
    """
    beam = 2 * max(y for corners in hull.ends_mm() for y, _ in corners)
    off = OFF_CENTRE_PART * beam if off_centre_mm is None else off_centre_mm
    height = load_height_mm or (lambda load_g: spread_height_mm(hull, load_g, BULK_G_ML))
    level_g = capacity_g(hull, boat_g, density_g_ml)
    load_g, heel_deg, end = bears_off_centre_g(hull, boat_g, density_g_ml, off, height)
    first = _first(end, load_g / level_g if level_g > 0 else 1.0, hull.floods)
    gm = Laden(hull, (boat_weight(hull, boat_g),), density_g_ml).gm_mm if boat_g > 0 else None
    return Outlook(first, load_g, level_g, heel_deg, off, gm, WORDS[first])


def _first(end: End, part: float, floods: bool) -> First:
    """What to call it, by the part of the level capacity that is reached."""
    if end == "turns over" and part <= 1e-3:
        return "falls empty"
    if not floods and (end == "rim under" or part >= LEVEL_PART):
        return "deck under"
    if end == "slides":
        return "slides"
    if end == "turns over":
        return "turns over" if floods else "deck edge"
    return "fills" if part >= LEVEL_PART else "low side"
