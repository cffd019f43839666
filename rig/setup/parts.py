"""Which cell and which gauge for a tub, before anything is bought or glued. Pure.

From data sheets and geometry alone: what can be hoped for. Creep, warmth, waves and a crooked
gauge come on top. `fitness` judges a rig that is there.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, radians, sqrt, tan
from typing import Final

from rig.errors import OutOfRange
from rig.physics.hx711 import counts_per_gram, noise_counts
from rig.physics.water import ROOM_C, water_density
from rig.setup.fitness import USUAL_NOISE_MM, USUAL_RATE_HZ, Readings

HOLD_S: Final = 5.0
SPARE: Final = 1.5  # a cell is rated for so much more than it bears: hands press (common practice)
ITEM_PART: Final = 0.25  # one item must be told with so much to spare
RATED_G: Final = (500.0, 1000.0, 2000.0, 5000.0, 10_000.0, 20_000.0, 50_000.0)
SENSITIVITY_MV_V: Final = 1.0  # of the coarser ones; many give 2 (from memory, not confirmed)
BOARD_V: Final = 3.3


@dataclass(frozen=True)
class GaugeKind:
    """A way to look down: full angle of its cone [deg], the nearest it can see [mm]."""

    name: str
    beam_deg: float
    blind_mm: float
    unit: str


# Echo: 15 degrees and 2 cm by the data sheets of common 40 kHz modules. Light: from memory, not
# confirmed; the cone of common time-of-flight chips is 25 degrees.
ECHO: Final = GaugeKind("echo", 15.0, 20.0, "us")
LIGHT: Final = GaugeKind("light", 25.0, 10.0, "um")


@dataclass(frozen=True)
class Plan:
    """What is to be built [mm, g]; the cell carries the feed tray, or tub and water and all."""

    tub_length_mm: float = 600.0
    tub_width_mm: float = 400.0
    water_mm: float = 120.0
    tub_g: float = 1500.0
    boat_length_mm: float = 150.0
    boat_beam_mm: float = 100.0
    wall_mm: float = 40.0
    boat_g: float = 30.0
    most_g: float = 600.0
    item_g: float = 2.5
    tray_g: float = 200.0
    gauge_mm: float = 300.0
    flag_mm: float = 80.0
    flag_side_mm: float = 60.0
    supply_v: float = BOARD_V

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            if not (isfinite(value) and value > 0):
                raise OutOfRange(
                    f"{name} cannot be {value:g}.", "Give a number above 0, as measured."
                )
        if self.boat_length_mm >= self.tub_length_mm or self.boat_beam_mm >= self.tub_width_mm:
            raise OutOfRange("The boat does not fit the tub.", "Give the sizes in mm.")

    @property
    def area_mm2(self) -> float:
        """The water's surface in the tub, upright walls."""
        return self.tub_length_mm * self.tub_width_mm

    @property
    def water_g(self) -> float:
        """The water in the tub, at room temperature."""
        return self.area_mm2 * self.water_mm / 1000 * water_density(ROOM_C)


@dataclass(frozen=True)
class Cell:
    """What a cell shows; the verdicts are "take this", "carries it", "too small", "too coarse"."""

    rated_g: float
    counts_per_g: float
    noise_10_g: float
    noise_80_g: float
    told_g: float
    feed_tray: str
    tub_on_cell: str


@dataclass(frozen=True)
class Level:
    """How the water's level moves, and the least load that one gauge can tell by it."""

    rise_mm_per_100_g: float
    told_mm: float
    told_g: float


@dataclass(frozen=True)
class Spot:
    """What a gauge sees: the width of its cone where it meets something [mm].

    `flag_gap_mm`: room between the gauge and the flag of the empty boat, `nearest_mm` what it
    needs. `clear_mm`: how far the middle of its spot on the water must be from hull and walls.
    """

    kind: str
    on_water_mm: float
    on_flag_mm: float
    flag_gap_mm: float
    nearest_mm: float
    clear_mm: float
    flag_fills: bool
    flag_in_sight: bool
    surface_has_room: bool


@dataclass(frozen=True)
class PartsTable:
    """Everything that is worked out for a plan."""

    plan: Plan
    tray_bears_g: float
    tub_bears_g: float
    cells: tuple[Cell, ...]
    level: tuple[Level, ...]  # echo, then light
    spots: tuple[Spot, ...]


def spot_mm(distance_mm: float, beam_deg: float) -> float:
    """Return the width of a cone at a distance [mm]: 2 d tan(angle / 2). Plane geometry.

    Raises:
        OutOfRange: a distance below 0, or an angle that is not between 0 and 180 degrees.
    """
    if not (distance_mm >= 0 and 0 < beam_deg < 180):
        raise OutOfRange(
            f"A cone of {beam_deg:g} degrees has no spot at {distance_mm:g} mm.",
            "Copy the angle from the gauge's data sheet, and hang it above what it looks at.",
        )
    return 2 * distance_mm * tan(radians(beam_deg) / 2)


def parts_table(plan: Plan, rated_g: Sequence[float] = RATED_G) -> PartsTable:
    """Return what cells and gauges would do in a plan. Raises OutOfRange for a flag too high."""
    tray_g = plan.tray_g + plan.most_g
    tub_g = plan.tub_g + plan.water_g + plan.boat_g + plan.most_g
    cells: list[Cell] = []
    for rated in sorted(rated_g):
        cells.append(_cell(plan, rated, tray_g, tub_g, cells))
    kinds = (ECHO, LIGHT)
    return PartsTable(
        plan,
        tray_g,
        tub_g,
        tuple(cells),
        tuple(_level(plan, kind) for kind in kinds),
        tuple(_spot(plan, kind) for kind in kinds),
    )


def _cell(plan: Plan, rated: float, tray_g: float, tub_g: float, before: list[Cell]) -> Cell:
    per_g = counts_per_gram(rated, SENSITIVITY_MV_V)
    slow_g, fast_g = (noise_counts(hz, plan.supply_v) / per_g for hz in (10.0, 80.0))
    told_g = _told(slow_g)
    return Cell(
        rated,
        per_g,
        slow_g,
        fast_g,
        told_g,
        _verdict(plan, rated, told_g, tray_g, [cell.feed_tray for cell in before]),
        _verdict(plan, rated, told_g, tub_g, [cell.tub_on_cell for cell in before]),
    )


def _verdict(plan: Plan, rated: float, told_g: float, bears_g: float, before: list[str]) -> str:
    """The smallest cell that carries the load is the finest one that will do."""
    if rated < SPARE * bears_g:
        return "too small"
    if told_g > ITEM_PART * plan.item_g:
        return "too coarse"
    return "carries it" if "take this" in before else "take this"


def _told(noise: float) -> float:
    """Twice the uncertainty of a difference of two means over a hold, at ten readings a second."""
    return 2 * sqrt(2) * Readings(rate_hz=USUAL_RATE_HZ).mean_sd(noise, HOLD_S)


def _level(plan: Plan, kind: GaugeKind) -> Level:
    rise_mm = 100 / water_density(ROOM_C) * 1000 / plan.area_mm2  # Archimedes: 100 g of water
    told_mm = _told(USUAL_NOISE_MM[kind.unit])
    return Level(rise_mm, told_mm, 100 * told_mm / rise_mm)


def _spot(plan: Plan, kind: GaugeKind) -> Spot:
    """The empty boat stands highest: its draft is left out, so there is a little more room."""
    gap_mm = plan.gauge_mm - plan.wall_mm - plan.flag_mm
    if gap_mm < 0:
        raise OutOfRange(
            f"The flag of an empty boat would reach {-gap_mm:g} mm above the gauge.",
            "Hang the gauges higher, or make the mast shorter.",
        )
    # the full boat's flag is deepest, and the spot on it widest: its rim is at the water
    low_mm = plan.gauge_mm - plan.flag_mm
    on_water_mm = spot_mm(plan.gauge_mm, kind.beam_deg)
    beside_mm = max(plan.tub_length_mm - plan.boat_length_mm, plan.tub_width_mm - plan.boat_beam_mm)
    return Spot(
        kind.name,
        on_water_mm,
        spot_mm(low_mm, kind.beam_deg),
        gap_mm,
        kind.blind_mm,
        on_water_mm / 2,
        flag_fills=plan.flag_side_mm >= spot_mm(low_mm, kind.beam_deg),
        flag_in_sight=gap_mm >= kind.blind_mm,
        surface_has_room=on_water_mm <= beside_mm / 2,
    )
