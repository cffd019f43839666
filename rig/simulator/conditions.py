"""What can be set about a simulated tub: water, motion, noise, cell, board and a boat's fate.

Each class is a section of a scenario file; every key has a default.
"""

from typing import Annotated

from pydantic import Field

from rig.setup.values import Positive, Sd
from rig.simulator.parts import Heavy, Part, Share
from rig.simulator.troubles import AmplifierPart, EchoPart, LinePart, RoomPart, RulerPart

Rate = Annotated[float, Field(gt=0, le=400)]


class Water(Part):
    """`[water]`: how high it stands before a boat is in, and how warm it is.

    `tub_area_mm2` serves only where the rig file has no `[tub]`. The tub may leak, its water dry
    away, and warm or cool to `room_c`, two thirds of the way in `warms_h`. Its walls are stiff.
    """

    level_mm: Positive = 120.0
    water_c: Annotated[float, Field(ge=0, le=40)] = 20.0
    thermometer: bool = True
    tub_area_mm2: Positive = 120_000.0
    leak_ml_h: Sd = 0.0
    dries_mm_day: Sd = 0.0
    room_c: Annotated[float, Field(ge=0, le=40)] | None = None
    warms_h: Positive = 3.0


class Motion(Part):
    """`[motion]`: how hull and water move.

    `bounce` is the share of each change of draft that swings before it settles, `wave_mm` the
    height of the wave one item makes at the gauge. Both 0: everything settles at once.
    Our own invention, chosen to look like a small boat in a bin.
    """

    bounce: Share = 0.6
    heave_hz: Positive = 2.0
    heave_decay_s: Positive = 0.4
    wave_mm: Sd = 0.3
    wave_hz: Positive = 1.6
    wave_decay_s: Positive = 0.7
    fill_s: Positive = 0.6
    sink_s: Positive = 1.5


class Noise(Part):
    """`[noise]`: standard deviation of one raw value, by channel."""

    load_g: Sd = 0.05
    surface_mm: Sd = 0.5
    rim_mm: Sd = 0.5
    water_c: Sd = 0.02


class Cell(Part):
    """`[cell]`: what the load cell bears besides water, boat and items."""

    tray_g: Sd = 60.0
    tub_g: Sd = 400.0


class BoardPart(Part):
    """`[board]`: its rate, what its counters show when it is switched on, and whether it is
    switched off and on between trials (its counters then begin at 0).

    `gauge_hz`: gauges and thermometer are read only so often, and their fields are empty in the
    rows between. It speaks of a trouble once it has lasted `complains_after_s`.
    """

    rate_hz: Rate = 10.0
    gauge_hz: Rate | None = None
    complains_after_s: Sd = 0.0
    first_seq: Annotated[int, Field(ge=0, lt=2**16)] = 0
    first_ms: Annotated[int, Field(ge=0, lt=2**32)] = 0
    restarts: bool = False


class Fate(Part):
    """What will befall a boat, besides Archimedes.

    Args:
        leak_ml_s: water that comes in, from `leak_after_s` after the first item landed.
        heels_at_g: load under which it heels over, whatever freeboard is left.
        material_g_ml: density of the hull's material (2.7: aluminium foil, OpenStax College
            Physics 2e, table of densities).
        item_g_ml: density of the items (7.8: steel, same table).
        rim_holds_mm: a dry rim holds back so much water above it before it goes under.
        floats_upside_down: when it goes down it turns over, loses the items and floats keel up.
        air_pocket_s: going down takes so much longer, while air that was caught leaves.
    """

    leak_ml_s: Sd = 0.0
    leak_after_s: Sd = 0.0
    heels_at_g: Positive | None = None
    material_g_ml: Heavy = 2.7
    item_g_ml: Heavy = 7.8
    # static puddle height 2 lc sin(theta/2): 3.85 mm at 90 degrees (de Gennes, Brochard-Wyart,
    # Quere, Capillarity and Wetting Phenomena, Springer 2004)
    rim_holds_mm: Annotated[float, Field(ge=0, le=3.9)] = 0.0
    floats_upside_down: bool = False
    air_pocket_s: Sd = 0.0


class Conditions(Part):
    """All of a tub's conditions."""

    water: Water = Water()
    motion: Motion = Motion()
    noise: Noise = Noise()
    cell: Cell = Cell()
    board: BoardPart = BoardPart()
    amplifier: AmplifierPart = AmplifierPart()
    room: RoomPart = RoomPart()
    surface_echo: EchoPart = EchoPart()
    rim_echo: EchoPart = EchoPart()
    line: LinePart = LinePart()
    ruler: RulerPart = RulerPart()
