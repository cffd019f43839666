"""The rig file: layout, source, calibration, tub and item of one rig."""

from enum import StrEnum
from functools import cached_property
from math import copysign, sqrt
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from rig.errors import OutOfRange
from rig.physics.air import ROOM_C
from rig.physics.tub import Tub
from rig.setup.pins import Pins
from rig.setup.tomlfile import read_toml, validated
from rig.setup.values import Finite as Finite  # "as": others may take these from here
from rig.setup.values import NotNegative, RoomC, Source, not_zero, plain_words
from rig.setup.values import Positive as Positive
from rig.setup.values import Sd as Sd

GaugeUnit = Literal["um", "us"]


class Layout(StrEnum):
    """Which of the two places the load cell has."""

    FEED_TRAY = "feed-tray"
    TUB_ON_CELL = "tub-on-cell"


class _Section(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class RigPart(_Section):
    """`[rig]`: what it is called, how it is built, where its bytes come from."""

    name: Annotated[str, Field(min_length=1, max_length=60), AfterValidator(plain_words)]
    layout: Layout
    source: Source = "demo"
    hold_s: Positive = 5.0


class LoadCell(_Section):
    """`[load]`: count = zero_count + count_per_g mass + count_per_g2 mass^2; the last is rare."""

    zero_count: Finite
    count_per_g: Annotated[Finite, AfterValidator(not_zero)]
    count_per_g2: Finite = 0.0
    zero_count_sd: Sd = 0.0
    count_per_g_sd: Sd = 0.0

    def mass_g(self, count: float) -> float | None:
        """Return what the cell bears at a count [g]; None where a bent one never gets there."""
        above = count - self.zero_count
        if not self.count_per_g2:
            return above / self.count_per_g
        square = self.count_per_g**2 + 4 * self.count_per_g2 * above
        if square < 0:
            return None
        slope = copysign(sqrt(square), self.count_per_g)  # on the branch that begins at zero
        return 2 * above / (self.count_per_g + slope)


class SurfaceGauge(_Section):
    """`[surface]`: looks down at the water; `unit` holds until the board names its own."""

    height_mm: Positive
    height_mm_sd: Sd = 0.0
    unit: GaugeUnit = "um"
    air_c: RoomC = ROOM_C


class RimGauge(_Section):
    """`[rim]`: looks down at a flag that stands `flag_mm` above the rim."""

    height_mm: Positive
    flag_mm: NotNegative
    height_mm_sd: Sd = 0.0
    unit: GaugeUnit = "um"
    air_c: RoomC = ROOM_C


def _rising(pours: list[tuple[float, float]]) -> list[tuple[float, float]]:
    try:
        Tub.poured(pours)
    except OutOfRange as err:
        raise ValueError(err.what.removesuffix(".")) from err
    return pours


class TubPart(_Section):
    """`[tub]`: a level-volume table, or one area for upright walls."""

    pours: Annotated[list[tuple[NotNegative, NotNegative]], AfterValidator(_rising)] | None = None
    area_mm2: Positive | None = None

    @model_validator(mode="after")
    def _one_of_two(self) -> Self:
        if (self.pours is None) == (self.area_mm2 is None):
            raise ValueError("give either pours or area_mm2")
        return self

    @cached_property
    def table(self) -> Tub:
        """The tub as physics knows it."""
        if self.area_mm2 is not None:
            return Tub.straight(self.area_mm2)
        return Tub.poured(self.pours or [])


class Item(_Section):
    """`[item]`: the unit weight children put aboard."""

    name: Annotated[str, Field(min_length=1, max_length=40), AfterValidator(plain_words)]
    mass_g: Positive
    mass_sd_g: Sd = 0.0


class RigSetup(_Section):
    """One rig file. Sections for gauges, tub and item may be absent, as they are on the rig."""

    rig: RigPart
    load: LoadCell
    surface: SurfaceGauge | None = None
    rim: RimGauge | None = None
    tub: TubPart | None = None
    item: Item | None = None
    pins: Pins | None = None

    @model_validator(mode="after")
    def _wired(self) -> Self:
        if self.rig.source == "gpio":
            if self.pins is None:
                raise ValueError('source = "gpio" needs a [pins] section')
            for name, gauge in (("surface", self.surface), ("rim", self.rim)):
                if gauge is not None and name not in self.pins.gauges:
                    raise ValueError(f"[pins] needs {name}_trigger and {name}_echo")
        return self


def read_setup(path: Path) -> RigSetup:
    """Read and check a rig file. Raises SetupInvalid, naming file, line and key."""
    data, text = read_toml(path)
    return validated(RigSetup, data, path.name, text)
