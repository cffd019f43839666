"""Invented boats whose truth is known: as measured, as they really are, and as a gauge sees them.

Shares the hulls with the forecast, nothing else: its own draw, its own generator, drafts by the
exact solver and not by the forecast's table.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import sqrt
from random import Random

from rig.errors import OutOfRange
from rig.physics.capillarity import held_back_mm
from rig.physics.flotation import draft_for_volume
from rig.physics.hulls import FAMILIES, Hull
from rig.physics.water import water_density
from rig.trial.events import CurvePoint, FreeboardMethod

RULER_MM_SD, BOAT_G_SD, WATER_C_SD = 1.0, 0.5, 2.0  # what the forecast assumes of ruler and scale
CARELESS_SHARE, CARELESS_TIMES = 0.02, 4.0
LOAD_G_SD = 0.1


@dataclass(frozen=True)
class InventedBoat:
    """One boat: the measured hull and mass, and what is true of it."""

    family: str
    measured: Hull
    measured_g: float
    true: Hull
    true_g: float
    density_g_ml: float
    rim_mm: float  # how much water its rim holds back
    offset_mm: float  # what every freeboard is read too high by
    gauge_mm_sd: float

    @property
    def carries_g(self) -> float:
        """The largest load it really carries."""
        deepest = self.true.depth_mm
        over_ml = self.true.rim_mm2() * self.rim_mm / 1000
        return (self.true.volume_ml(deepest) + over_ml) * self.density_g_ml - self.true_g

    def freeboard_mm(self, load_g: float) -> float:
        """True freeboard; below 0 while the rim holds water back."""
        displaced = (self.true_g + load_g) / self.density_g_ml
        over_ml = displaced - self.true.volume_ml(self.true.depth_mm)
        if over_ml > 0:
            return -1000 * over_ml / self.true.rim_mm2()
        return self.true.depth_mm - draft_for_volume(self.true, displaced)

    def plateau(self, load_g: float, random: Random) -> CurvePoint:
        """What the rig makes of a plateau at a load."""
        seen_mm = self.freeboard_mm(load_g) + self.offset_mm + random.gauss(0, self.gauge_mm_sd)
        weighed_g = load_g + random.gauss(0, LOAD_G_SD) if load_g > 0 else 0.0
        return plateau(weighed_g, seen_mm, self.gauge_mm_sd, load_g_sd=LOAD_G_SD)


def plateau(
    load_g: float,
    freeboard_mm: float | None,
    freeboard_mm_sd: float | None = 0.3,
    method: FreeboardMethod | None = FreeboardMethod.RIM_GAUGE,
    load_g_sd: float = 0.1,
    held: bool = True,
) -> CurvePoint:
    """A plateau with only what a forecast looks at."""
    return CurvePoint(
        0.0, load_g, load_g_sd, None, freeboard_mm, freeboard_mm_sd, method, 6.0, held
    )


def invented_boats(
    seed: int, offset_mm_sd: float = 1.0, careless_share: float = CARELESS_SHARE
) -> Iterator[InventedBoat]:
    """Boats without end, every family in turn; each carries a good part of what it displaces."""
    random = Random(seed)
    while True:
        for family in FAMILIES.values():
            hull, boat_g = measured_boat(family, random)
            yield true_boat(hull, boat_g, random, offset_mm_sd, careless_share)


def measured_boat(family: type[Hull], random: Random) -> tuple[Hull, float]:
    """A hull of a size children build, and a mass that leaves it most of its lift."""
    while True:
        try:
            hull = family(**_measures(family, random))
        except OutOfRange:
            continue
        return hull, hull.volume_ml(hull.depth_mm) * random.uniform(0.03, 0.2)


def true_boat(
    measured: Hull,
    measured_g: float,
    random: Random,
    offset_mm_sd: float = 1.0,
    careless_share: float = CARELESS_SHARE,
) -> InventedBoat:
    """What a measured boat may really be."""
    while True:
        times = CARELESS_TIMES if random.random() < careless_share else 1.0
        values = measured.measured()
        sds = {k: times * measured.measure_of(k).sd_of(v, RULER_MM_SD) for k, v in values.items()}
        try:
            true = measured.remeasured(
                {key: value + random.gauss(0, sds[key]) for key, value in values.items()}
            )
        except OutOfRange:
            continue
        water_c = random.gauss(20, WATER_C_SD)
        boat = InventedBoat(
            family=measured.family,
            measured=measured,
            measured_g=measured_g,
            true=true,
            true_g=max(0.0, measured_g + random.gauss(0, times * BOAT_G_SD)),
            density_g_ml=water_density(water_c),
            rim_mm=held_back_mm(water_c, 90) * (1 - sqrt(random.random())),
            offset_mm=random.gauss(0, offset_mm_sd),
            gauge_mm_sd=random.uniform(0.3, 1.5),
        )
        if boat.carries_g > 0.3 * measured.volume_ml(measured.depth_mm):
            return boat


def _measures(family: type[Hull], random: Random) -> dict[str, float]:
    """Sizes children build; what is measured at the bottom is a share of the same at the rim."""
    found: dict[str, float] = {}
    last = {"held_ml": 2, "fullness": 3}
    for measure in sorted(
        family.measures, key=lambda m: last.get(m.key, m.key.startswith("bottom_"))
    ):
        key = measure.key
        if key == "count":
            found[key] = random.randint(3, 14)
        elif key == "held_ml":
            block_ml = found["length_mm"] * found["beam_mm"] * found["depth_mm"] / 1000
            found[key] = block_ml * random.uniform(0.35, 0.8)
        elif key == "fullness":
            found[key] = measure.default  # nobody knows it
        elif key == "diameter_mm" and not measure.by_ruler:
            found[key] = random.uniform(10, 40)  # straws, tubes, small bottles
        elif key.startswith("bottom_"):
            found[key] = found[key.removeprefix("bottom_")] * random.uniform(0.6, 1.0)
        elif key == "depth_mm":
            found[key] = random.uniform(20, 60)
        else:
            found[key] = random.uniform(70, 200)
    return found
