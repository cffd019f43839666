"""How far the predicted capacity may be off, and which measurement is to blame.

Source: law of propagation of uncertainty, JCGM 100:2008 (GUM), 5.1.2; distributions, 4.3.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot, sqrt
from typing import Final

from rig.errors import OutOfRange
from rig.physics.capillarity import DRY_RIM_DEG, held_back_mm
from rig.physics.flotation import capacity_g
from rig.physics.hulls import Hull
from rig.physics.walls import inside, outside
from rig.physics.water import ROOM_C, water_density

RULER_MM_SD: Final = 1.0  # a ruler reads to a millimetre: common practice, no source
BOAT_G_SD: Final = 0.5  # a kitchen scale: common practice, no source
Z90: Final = 1.6449  # 90 % of a normal distribution lie within


@dataclass(frozen=True, slots=True)
class Doubts:
    """Standard uncertainties of what was measured beforehand. Common practice, no source.

    `wall_mm` is for hulls measured inside (0: measured outside); `rim_out_mm` is how much
    lower the lowest rim point may lie than where the depth was measured (0: it was measured there).
    """

    ruler_mm_sd: float = RULER_MM_SD  # each measure of the hull by itself
    boat_g_sd: float = BOAT_G_SD
    thermometer_c_sd: float = 0.5
    no_thermometer_c_sd: float = 2.0  # about the room's temperature
    wall_mm: float = 0.0
    wall_part_sd: float = 0.2  # of the wall's thickness
    rim_out_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Line:
    """One reason to doubt.

    Attributes:
        key: ruler, filling, boat, water, rim, wall or level.
        words: what it is.
        sd_g: the standard uncertainty it gives the capacity [g].
        shift_g: how much it moves the middle of the expectation [g].
        share: its part of the whole variance, 0 to 1.
        by_measure: for ruler and filling, (key of the measure, its sd_g).
    """

    key: str
    words: str
    sd_g: float
    shift_g: float
    share: float
    by_measure: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Bill:
    """All reasons together.

    Attributes:
        capacity_g: with water level with the rim, as measured [g].
        expected_g: with what rim and level shift [g].
        sd_g: standard uncertainty of the whole [g].
        low_g, high_g: 90 % should lie between, taking the whole as normal [g].
        lines: the largest first.
    """

    capacity_g: float
    expected_g: float
    sd_g: float
    low_g: float
    high_g: float
    lines: tuple[Line, ...]


def bill(
    hull: Hull, boat_g: float, water_c: float | None = None, doubts: Doubts | None = None
) -> Bill:
    """Return the bill of uncertainty of a predicted capacity.

    Ruler and filling: the capacity's slope by each measure times that measure's standard
    uncertainty. Rim: a dry rim holds water back, between nothing and `held_back_mm` at 90
    degrees, triangular with its top at nothing (mean a third, sd that height / sqrt 18). Level:
    evenly between nothing and `rim_out_mm` less.

    Args:
        hull: the outside.
        boat_g: the empty boat, 0 or more [g].
        water_c: None without a thermometer; else 0.01 to 40 inclusive [deg C].

    Raises:
        OutOfRange: for the water's temperature, or walls that leave no room.
    """
    doubts = doubts or Doubts()
    celsius = ROOM_C if water_c is None else water_c
    celsius_sd = doubts.no_thermometer_c_sd if water_c is None else doubts.thermometer_c_sd
    density = water_density(celsius)
    capacity = capacity_g(hull, boat_g, density)
    volume_ml = hull.volume_ml(hull.depth_mm)
    g_per_mm = hull.rim_mm2() * density / 1000
    most_mm = held_back_mm(celsius, DRY_RIM_DEG[1])

    ruler: list[tuple[str, float]] = []
    filling: list[tuple[str, float]] = []
    for key, value in hull.measured().items():
        measure = hull.measure_of(key)
        sd = measure.sd_of(value, doubts.ruler_mm_sd)
        slope = _slope_ml(hull, key, sd)
        (ruler if measure.by_ruler else filling).append((key, abs(slope) * sd * density))
    water_g = volume_ml * abs(_slope_of(water_density, celsius, 0.0, 40.0)) * celsius_sd
    wall_sd = doubts.wall_part_sd * doubts.wall_mm
    rows = [
        ("ruler", "ruler readings", _root_sum(ruler), 0.0, tuple(ruler)),
        ("filling", "volume by filling, or counts", _root_sum(filling), 0.0, tuple(filling)),
        ("boat", "the boat's mass", doubts.boat_g_sd, 0.0, ()),
        ("water", "the water's density", water_g, 0.0, ()),
        ("rim", "water held back by a dry rim", most_mm / sqrt(18), most_mm / 3, ()),
        ("wall", "thickness of the walls", _wall_ml_mm(hull, doubts) * wall_sd * density, 0.0, ()),
        ("level", "rim out of level", doubts.rim_out_mm / sqrt(12), -doubts.rim_out_mm / 2, ()),
    ]
    in_g = [
        (key, words, *((sd * g_per_mm, by * g_per_mm) if key in ("rim", "level") else (sd, by)), m)
        for key, words, sd, by, m in rows
        if key != "filling" or filling
    ]
    sd_g = sqrt(sum(sd**2 for _, _, sd, _, _ in in_g))
    lines = [
        Line(key, words, sd, shift, sd**2 / sd_g**2 if sd_g > 0 else 0.0, by)
        for key, words, sd, shift, by in in_g
    ]
    expected = capacity + sum(line.shift_g for line in lines)
    return Bill(
        capacity,
        expected,
        sd_g,
        expected - Z90 * sd_g,
        expected + Z90 * sd_g,
        tuple(sorted(lines, key=lambda line: -line.share)),
    )


def _root_sum(parts: list[tuple[str, float]]) -> float:
    return hypot(*(sd for _, sd in parts)) if parts else 0.0


def _slope_ml(hull: Hull, key: str, sd: float) -> float:
    """How the volume changes with a measure, over its own uncertainty [ml a unit]."""
    if sd == 0:
        return 0.0
    values = hull.measured()
    ends = []
    for step in (sd, -sd):
        for _ in range(30):  # a family that cannot have it: half as far
            try:
                other = hull.remeasured({**values, key: values[key] + step})
            except OutOfRange:
                step /= 2
                continue
            ends.append((step, other.volume_ml(other.depth_mm)))
            break
    (above, more), (below, less) = ends
    return (more - less) / (above - below)


def _slope_of(of: Callable[[float], float], at: float, low: float, high: float) -> float:
    a, b = max(at - 0.5, low), min(at + 0.5, high)
    return (of(b) - of(a)) / (b - a)


def _wall_ml_mm(hull: Hull, doubts: Doubts) -> float:
    """How the outside's volume grows with the wall, the inside being what was measured."""
    if doubts.wall_mm <= 0 or not hull.floods:
        return 0.0
    hold, step = inside(hull, doubts.wall_mm), 0.01 * doubts.wall_mm
    more, less = (outside(hold, doubts.wall_mm + part) for part in (step, -step))
    return (more.volume_ml(more.depth_mm) - less.volume_ml(less.depth_mm)) / (2 * step)
