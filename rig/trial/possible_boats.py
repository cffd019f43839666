"""Boats that the measured one may really be: ruler, scale, water and rim each a little off.

A ruler reads to a millimetre, a scale to half a gram, and nobody knows beforehand how much water
a rim holds back. Two thousand boats, drawn once per trial, stand for all that may be true;
what is measured later says which of them to believe (`rig.trial.forecast`).

Deterministic: the draw has a fixed seed of its own and a generator whose numbers never change
(NEP 19 freezes RandomState), so a replay draws the boats of the live trial.
"""

from collections.abc import Mapping
from math import log
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.typing import NDArray

from rig.errors import OutOfRange
from rig.physics.capillarity import DRY_RIM_DEG, held_back_mm
from rig.physics.hulls import Hull
from rig.physics.uncertainty import Doubts
from rig.physics.walls import wall_slopes
from rig.physics.water import ROOM_C, water_density

Floats = NDArray[np.float64]

CAREFUL: Final = 1500  # boats drawn as if ruler and scale were used well
CARELESS: Final = 500  # and as if they were not; they weigh CARELESS_SHARE in all
CARELESS_SHARE: Final = 0.02  # common practice, no source: one group in fifty misreads its ruler
CARELESS_TIMES: Final = (2.0, 16.0)  # from how much to how much larger its errors are
SEED: Final = 20_140_603
# Shares of the depth at which volumes are tabulated, closer near the keel, where hulls are sharp:
# drafts between them are within 0.02 mm for dishes and trays, 0.05 mm for a cone (a test).
HEIGHTS: Final = np.linspace(0, 1, 31) ** 1.25


class PossibleBoats:
    """Two thousand boats around a measured one.

    The rim: a level rim goes under at freeboard 0; a dry, clean one holds back up to
    `held_back_mm` at 90 degrees. Each boat has its own height between the two, from a
    triangular distribution with its top at 0 (mean a third, 1.3 mm). Reason: every fault of a
    real rim (a notch, a wet spot, a slope, a load off centre) only takes away, the upper end
    is a bound from theory, and no published test with boats says more.

    Attributes:
        carries_g: the largest load each boat carries; below 0 if it goes down empty [g].
        log_prior: logarithm of each boat's weight before anything is measured.
        careful: whether it was drawn as carefully measured.
    """

    def __init__(
        self,
        hull: Hull,
        boat_g: float,
        water_c: float | None = None,
        doubts: Doubts | None = None,
    ) -> None:
        """Draw them.

        Args:
            hull: as measured.
            boat_g: the empty boat as weighed, 0 or more [g].
            water_c: None without a thermometer; else 0.01 to 40 inclusive [deg C].

        Raises:
            OutOfRange: for the water's temperature.
        """
        doubts = doubts or Doubts()
        self.hull, self.boat_g = hull, boat_g
        self.water_c = ROOM_C if water_c is None else water_c
        self.density_g_ml = water_density(self.water_c)
        highest_mm = held_back_mm(self.water_c, DRY_RIM_DEG[1])
        water_sd = doubts.no_thermometer_c_sd if water_c is None else doubts.thermometer_c_sd

        measured = hull.measured()
        keys = list(measured)
        random = np.random.RandomState(SEED)
        columns = len(keys) + 2
        z = np.vstack([_spread(random, CAREFUL, columns), _spread(random, CARELESS, columns)])
        self.careful: NDArray[np.bool_] = np.arange(len(z)) < CAREFUL
        times = np.concatenate([np.ones(CAREFUL), np.geomspace(*CARELESS_TIMES, CARELESS)])
        log_each = (log(CARELESS_SHARE / CARELESS), log((1 - CARELESS_SHARE) / CAREFUL))
        self.log_prior: Floats = np.array(log_each)[self.careful.astype(int)]
        rim_share = 1 - np.sqrt(random.permutation(len(z)) + 0.5) / np.sqrt(len(z))
        self._own_g: Floats = np.maximum(boat_g + doubts.boat_g_sd * times * z[:, 0], 0.0)
        # Beyond the formulas' range lies ice, or water no child is near.
        celsius = np.clip(self.water_c + water_sd * z[:, 1], 0.01, 40.0)
        self._density: Floats = np.array([water_density(float(c)) for c in celsius])

        sds = [hull.measure_of(key).sd_of(measured[key], doubts.ruler_mm_sd) for key in keys]
        errors = np.array(sds) * times[:, None] * z[:, 2:]
        # drawn apart, so that boats without these doubts stay the boats they were
        apart = np.random.RandomState(SEED + 1)
        low_mm = doubts.rim_out_mm * (apart.permutation(len(z)) + 0.5) / len(z)
        if doubts.wall_mm > 0:
            wall_mm = doubts.wall_part_sd * doubts.wall_mm * _spread(apart, len(z), 1)
            errors = errors + times[:, None] * wall_mm * np.array(wall_slopes(hull, doubts.wall_mm))
        hulls = [
            _near(hull, measured, dict(zip(keys, row, strict=True))) for row in errors.tolist()
        ]
        self._depth_mm: Floats = np.array([h.depth_mm for h in hulls])
        self._rim_mm2: Floats = np.array([h.rim_mm2() for h in hulls])
        shares = HEIGHTS.tolist()
        self._volumes_ml: Floats = np.array([h.volumes_ml(shares) for h in hulls])
        over_ml = self._rim_mm2 * (rim_share * highest_mm - low_mm) / 1000
        self.carries_g: Floats = (self._volumes_ml[:, -1] + over_ml) * self._density - self._own_g

    def __len__(self) -> int:
        return len(self.carries_g)

    def freeboard_mm(self, load_g: float) -> tuple[Floats, Floats]:
        """Return each boat's freeboard under a load [mm], and how fast load lowers it [mm/g].

        Straight between the tabulated heights. Over the rim it goes on below 0, as if the wall
        went on upright: that is where a rim that holds water back has its freeboard.
        """
        displaced = np.maximum((self._own_g + load_g) / self._density, 0.0)
        table = self._volumes_ml
        row = np.arange(len(table))
        k = (table[:, 1:-1] <= displaced[:, None]).sum(axis=1)
        below, above = table[row, k], table[row, k + 1]
        mm_per_ml = self._depth_mm * (HEIGHTS[k + 1] - HEIGHTS[k]) / (above - below)
        inside = self._depth_mm * HEIGHTS[k] + (displaced - below) * mm_per_ml
        over_ml = displaced - table[:, -1]
        draft = np.where(over_ml > 0, self._depth_mm + 1000 * over_ml / self._rim_mm2, inside)
        mm_per_ml = np.where(over_ml > 0, 1000 / self._rim_mm2, mm_per_ml)
        return self._depth_mm - draft, mm_per_ml / self._density


def weighted_quantiles(values: Floats, weights: Floats, parts: tuple[float, ...]) -> list[float]:
    """Return the values below which the given parts (0 to 1) of the weight lie."""
    order = np.argsort(values)
    sorted_weights = weights[order]
    middles = np.cumsum(sorted_weights) - sorted_weights / 2
    found: list[float] = np.interp(parts, middles / weights.sum(), values[order]).tolist()
    return found


def _spread(random: np.random.RandomState, rows: int, columns: int) -> Floats:
    """Standard normal errors, each column evenly spread and shuffled (a Latin hypercube).

    Source: McKay, Beckman and Conover, Technometrics 21 (1979) 239-245.
    """
    even = np.array([NormalDist().inv_cdf((i + 0.5) / rows) for i in range(rows)])
    return np.column_stack([even[random.permutation(rows)] for _ in range(columns)])


def _near(hull: Hull, measured: Mapping[str, float], errors: Mapping[str, float]) -> Hull:
    """Return the hull with other measures; an error its family cannot have is halved until it can.

    Halving ends: without any error it is the measured hull.
    """
    part = 1.0
    while True:
        try:
            return hull.remeasured({key: measured[key] + part * errors[key] for key in measured})
        except OutOfRange:
            part /= 2
