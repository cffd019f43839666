"""What Archimedes says before the first item, as a range: ruler, scale, and the rim's effect."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from rig.physics.capillarity import DRY_RIM_DEG, held_back_mm
from rig.physics.flotation import capacity_g
from rig.trial.events import BandPoint
from rig.trial.forecast import INTERVAL
from rig.trial.possible_boats import PossibleBoats, weighted_quantiles

_POINTS: Final = 31


@dataclass(frozen=True, slots=True)
class PredictionBand:
    """Two lines and a band to draw behind the measured curve.

    `level_rim_g` is the capacity of the measured hull with water level with its rim;
    `held_back_low_g` and `held_back_g` what it carries when its rim is dry and clean and holds
    back as much as at 60 and at 90 degrees: the most that can be. Below 0: goes down empty.
    A boat between `level_rim_g` and `held_back_g` was predicted right.
    """

    level_rim_g: float
    held_back_low_g: float
    held_back_g: float
    held_back_low_mm: float
    held_back_mm: float
    curve: tuple[BandPoint, ...]  # from the empty boat to `held_back_g`; empty if that is below 0


def prediction_band(boats: PossibleBoats) -> PredictionBand:
    """Return the band of a measured boat. Raises OutOfRange as `held_back_mm`."""
    hull, density = boats.hull, boats.density_g_ml
    level_g = capacity_g(hull, boats.boat_g, density)
    g_per_mm = hull.rim_mm2() * density / 1000
    low_mm, most_mm = (held_back_mm(boats.water_c, angle) for angle in DRY_RIM_DEG)
    most_g = level_g + g_per_mm * most_mm
    loads = np.linspace(0, most_g, _POINTS).tolist() if most_g > 0 else []
    weights = np.exp(boats.log_prior)
    curve = []
    for load_g in loads:
        freeboard_mm, _ = boats.freeboard_mm(load_g)
        curve.append(BandPoint(load_g, *weighted_quantiles(freeboard_mm, weights, INTERVAL)))
    return PredictionBand(
        level_g, level_g + g_per_mm * low_mm, most_g, low_mm, most_mm, tuple(curve)
    )
