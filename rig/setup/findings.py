"""What a look at a set-up finds: the numbers, what they mean, and one thing to do."""

from dataclasses import dataclass
from math import ceil
from typing import ClassVar

from rig.setup.finding import Finding

MANY_ITEMS = 10  # additions no gauge sees below so many items make a poor curve (our own choice)
MANY_G = 25.0  # the same where the rig file names no item
WALL_PART = 0.1  # a freeboard should be known to a tenth of the wall (our own choice)
LEAST_FALL_MM = 1.2  # a smaller fall of the level is no sinking to the rig, however fine the gauge
SINKING_SD = 6.0  # nor is one of less noise than this
LEAST_TUB_MM2 = 15_000.0  # a boat wants room; no smaller tub is advised (our own choice)
LIGHT_G_ML, HEAVY_G_ML = 2.5, 8.0  # what lies in a boat: glass and stone, steel (common practice)


@dataclass(frozen=True)
class RigFinding(Finding):
    """On the whole rig, or for one boat."""

    boat: str | None


@dataclass(frozen=True)
class Rise:
    """What one addition does to the water in the tub. `items` is None for plain grams."""

    items: int | None
    load_g: float
    level_mm: float


@dataclass(frozen=True)
class LevelFinding(RigFinding):
    """The surface gauge against the rise of the water in this tub.

    `level_2sd_mm`: twice the standard uncertainty of the rise between two holds.
    """

    about: ClassVar[str] = "level"
    tub_area_mm2: float
    tub_area_enough_mm2: float  # in so large a tub the smallest addition asked for still shows
    level_2sd_mm: float
    rises: tuple[Rise, ...]
    least_g: float
    least_items: int | None
    rim_gauge: bool

    @property
    def coarse(self) -> bool:
        """Whether only additions too large for a good curve move the level enough."""
        if self.least_items is None:
            return self.least_g > MANY_G
        return self.least_items > MANY_ITEMS

    @property
    def ok(self) -> bool:
        """With a rim gauge the freeboard does not hang on the surface gauge's fineness."""
        return self.rim_gauge or not self.coarse

    @property
    def says(self) -> str:
        """The rise of each addition, and what the gauge tells apart."""
        rises = ", ".join(f"{r.level_mm:.2f} mm for {_load(r.items, r.load_g)}" for r in self.rises)
        sees = f"the surface gauge tells {self.level_2sd_mm:.2f} mm apart at best"
        if not self.coarse:
            enough = f"enough for {_load(self.least_items, self.least_g)} at a time"
            return f"The water rises {rises}; {sees}, {enough}."
        coarse = "The surface gauge is too coarse for this tub"
        helped = ", but the rim gauge makes up for it" if self.rim_gauge else ""
        return f"{coarse}{helped}: the water rises {rises}; {sees}."

    @property
    def do(self) -> str:
        """Smaller tub, rim gauge, or more at a time."""
        more = f"add {_load(self.least_items, self.least_g)} or more at a time"
        return _one_of(_smaller_tub(self.tub_area_enough_mm2), "fit a rim gauge", more)


@dataclass(frozen=True)
class TubUnknown(RigFinding):
    """A surface gauge over a tub of unknown area: a rise of the level means nothing."""

    about: ClassVar[str] = "tub"
    rim_gauge: bool

    @property
    def ok(self) -> bool:
        """With a rim gauge there is a freeboard all the same."""
        return self.rim_gauge

    @property
    def says(self) -> str:
        """What cannot be told without the tub."""
        cannot = "a sinking by the level" if self.rim_gauge else "freeboard or sinking"
        return f"The rig file has no [tub], so the surface gauge cannot tell {cannot}."

    @property
    def do(self) -> str:
        """Where the area comes from."""
        return "Multiply length and width of the water's surface into area_mm2 under [tub]."


@dataclass(frozen=True)
class FreeboardFinding(RigFinding):
    """How well the noise of the gauges lets one boat's freeboard be known."""

    about: ClassVar[str] = "freeboard"
    by_rim_gauge: bool
    wall_mm: float
    freeboard_2sd_mm: float
    tub_area_enough_mm2: float | None  # None with a rim gauge: no tub would be finer

    @property
    def ok(self) -> bool:
        """Whether it is known to a tenth of the wall."""
        return self.freeboard_2sd_mm <= WALL_PART * self.wall_mm

    @property
    def says(self) -> str:
        """How far freeboard may be off."""
        by = "the rim gauge" if self.by_rim_gauge else "the surface gauge"
        ending = "." if self.ok else f", too coarse for a wall of {self.wall_mm:.0f} mm."
        return (
            f"{self.boat}: {by} tells freeboard to within"
            f" {self.freeboard_2sd_mm:.1f} mm at best{ending}"
        )

    @property
    def do(self) -> str:
        """A finer way of knowing it, or a boat that needs less."""
        if self.tub_area_enough_mm2 is None:
            return _one_of("build higher walls", "hold each load for longer with hold_s")
        return _one_of(_smaller_tub(self.tub_area_enough_mm2), "fit a rim gauge")


@dataclass(frozen=True)
class SinkingFinding(RigFinding):
    """Whether the surface gauge sees the level fall when a full boat goes down.

    `fall_light_mm` is the fall with solids of 2.5 g/ml, the least; `fall_heavy_mm` with 8 g/ml.
    """

    about: ClassVar[str] = "sinking"
    fall_light_mm: float
    fall_heavy_mm: float
    needed_mm: float
    tub_area_enough_mm2: float
    rim_gauge: bool

    @property
    def coarse(self) -> bool:
        """Whether a sinking with light solids would hide in the noise."""
        return self.fall_light_mm < self.needed_mm

    @property
    def ok(self) -> bool:
        """A rim gauge notices a sinking by itself."""
        return self.rim_gauge or not self.coarse

    @property
    def says(self) -> str:
        """The fall, and what is needed to be sure of it."""
        falls = (
            f"the water falls {self.fall_light_mm:.1f} to {self.fall_heavy_mm:.1f} mm when it goes"
            f" down full; the surface gauge is sure of a fall of {self.needed_mm:.1f} mm"
        )
        if not self.coarse:
            return f"{self.boat}: {falls}."
        if self.rim_gauge:
            return f"{self.boat}: {falls}, and the rim gauge makes up for it."
        return f"{self.boat}: the surface gauge may miss the sinking: {falls}."

    @property
    def do(self) -> str:
        """Smaller tub, rim gauge, or the teacher's tap."""
        tap = 'tap "sunk" yourself'
        return _one_of(_smaller_tub(self.tub_area_enough_mm2), "fit a rim gauge", tap)


@dataclass(frozen=True)
class ItemFinding(RigFinding):
    """Whether the amplifier's noise lets one item be weighed.

    `noise_g`: standard deviation of one reading; `load_2sd_g`: twice the standard uncertainty
    of the difference between two holds.
    """

    about: ClassVar[str] = "item"
    item_g: float
    noise_g: float
    load_2sd_g: float

    @property
    def ok(self) -> bool:
        """Whether the noise stays within half an item: the count comes out right."""
        return self.load_2sd_g <= self.item_g / 2

    @property
    def says(self) -> str:
        """The item against the noise."""
        enough = "one item can be counted" if self.ok else "too coarse to count single items"
        return (
            f"An item weighs {self.item_g:g} g and the load cell tells"
            f" {self.load_2sd_g:.2g} g apart at best: {enough}."
        )

    @property
    def do(self) -> str:
        """Heavier items, or a finer cell."""
        heavier = f"use items of {_up(2 * self.load_2sd_g, 0.1):.1f} g or more"
        return _one_of(heavier, "a load cell made for a smaller load")


def _load(items: int | None, load_g: float) -> str:
    if items is None:
        return f"{_up(load_g, 0.1):.1f} g"
    return f"{items} item{'' if items == 1 else 's'} ({load_g:.1f} g)"


def _smaller_tub(area_mm2: float) -> str | None:
    """Rounded down, so that following the advice helps; None where no boat would fit."""
    fits = area_mm2 >= LEAST_TUB_MM2
    return f"use a tub of {int(area_mm2 / 100)} cm2 or less" if fits else None


def _one_of(*ways: str | None) -> str:
    """`Do this, do that, or do the third.`"""
    *first, last = [way for way in ways if way]
    told = f"{', '.join(first)}, or {last}." if first else f"{last}."
    return told[0].upper() + told[1:]


def _up(value: float, step: float) -> float:
    return ceil(value / step - 1e-9) * step
