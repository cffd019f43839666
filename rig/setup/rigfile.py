"""The rig file: layout, source, calibration, tub and item of one rig."""

from enum import StrEnum
from functools import cached_property
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from rig.errors import OutOfRange
from rig.physics.air import ROOM_C
from rig.physics.tub import Tub
from rig.setup.tomlfile import read_toml, validated

Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Finite = Annotated[float, Field(allow_inf_nan=False)]
Sd = Annotated[float, Field(ge=0, allow_inf_nan=False)]
GaugeUnit = Literal["um", "us"]


class Layout(StrEnum):
    """Which of the two places the load cell has."""

    FEED_TRAY = "feed-tray"
    TUB_ON_CELL = "tub-on-cell"


class _Section(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class RigPart(_Section):
    """`[rig]`: what it is called, how it is built, where its bytes come from."""

    name: Annotated[str, Field(min_length=1, max_length=60)]
    layout: Layout
    source: Annotated[str, Field(pattern=r"^(serial:.+|gpio|demo)$")] = "demo"
    hold_s: Positive = 5.0


class LoadCell(_Section):
    """`[load]`: mass = (count - zero_count) / count_per_g, signed."""

    zero_count: Finite
    count_per_g: Finite
    zero_count_sd: Sd = 0.0
    count_per_g_sd: Sd = 0.0

    @model_validator(mode="after")
    def _not_flat(self) -> Self:
        if self.count_per_g == 0:
            raise ValueError("count_per_g must not be 0")
        return self


class SurfaceGauge(_Section):
    """`[surface]`: looks down at the water; `unit` holds until the board names its own."""

    height_mm: Positive
    height_mm_sd: Sd = 0.0
    unit: GaugeUnit = "um"
    air_c: Annotated[float, Field(ge=0, le=30)] = ROOM_C


class RimGauge(_Section):
    """`[rim]`: looks down at a flag that stands `flag_mm` above the rim."""

    height_mm: Positive
    flag_mm: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    height_mm_sd: Sd = 0.0
    unit: GaugeUnit = "um"
    air_c: Annotated[float, Field(ge=0, le=30)] = ROOM_C


class TubPart(_Section):
    """`[tub]`: a level-volume table, or one area for upright walls."""

    pours: list[tuple[Finite, Finite]] | None = None
    area_mm2: Positive | None = None

    @model_validator(mode="after")
    def _one_of_two(self) -> Self:
        if (self.pours is None) == (self.area_mm2 is None):
            raise ValueError("give either pours or area_mm2")
        try:
            self.table  # noqa: B018 - building it checks it
        except OutOfRange as err:
            raise ValueError(err.what) from err
        return self

    @cached_property
    def table(self) -> Tub:
        """The tub as physics knows it."""
        if self.area_mm2 is not None:
            return Tub.straight(self.area_mm2)
        return Tub.poured(self.pours or [])


class Item(_Section):
    """`[item]`: the unit weight children put aboard."""

    name: Annotated[str, Field(min_length=1, max_length=40)]
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


def read_setup(path: Path) -> RigSetup:
    """Read and check a rig file. Raises SetupInvalid, naming file, line and key."""
    data, text = read_toml(path)
    return validated(RigSetup, data, path.name, text)
