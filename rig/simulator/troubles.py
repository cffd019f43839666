"""What can be set about an imperfect rig: amplifier, room, gauges, line and ruler.

Each class is a section of a scenario file. Everything is off unless it is set: without these
sections the rig of `conditions.py` is what it was.
"""

from typing import Annotated, Literal

from pydantic import Field

from rig.setup.values import Finite, Positive, RoomC, Sd
from rig.simulator.parts import Part, Share


class AmplifierPart(Part):
    """`[amplifier]`: an HX711 on a real load cell.

    Args:
        wrong_words: share of samples that are not what the amplifier measured (users of the
            part report 0.01 and more; see `amplifier.py` for the kinds).
        capacity_g: rated load of the cell. If given, the data sheet's input noise is added.
        mv_per_v: its output at the rated load. supply_v: what the bridge is fed with.
        creep_share: share of a change of load that creeps in within a minute. creep_s: time
            constant of that approach.
        drift_g_per_c: how far the zero moves with the room's temperature.
        span_error: the true grams per count are so much larger than the set-up's (0.001: 0.1 %).
    """

    wrong_words: Share = 0.0
    capacity_g: Positive | None = None
    mv_per_v: Positive = 1.0
    supply_v: Annotated[float, Field(ge=2.6, le=5.5)] = 5.0  # HX711 data sheet: its supply
    creep_share: Share = 0.0
    creep_s: Positive = 20.0
    drift_g_per_c: Finite = 0.0
    span_error: Annotated[float, Field(gt=-0.5, lt=0.5)] = 0.0


class RoomPart(Part):
    """`[room]`: the air. Without `air_c` it is always as warm as the set-up says.

    `walk_c` is the standard deviation of the temperature's random walk over one minute.
    """

    air_c: RoomC | None = None
    walk_c: Sd = 0.0


class EchoPart(Part):
    """`[surface_echo]`, `[rim_echo]`: what a distance gauge gets wrong besides noise.

    Args:
        missing: share of readings without an echo. burst_s: how long such a gap lasts in the
            mean; 0: each reading on its own.
        doubled, halved: share of readings at twice (an echo that went the way twice) and at
            half the distance.
        offset_mm: heights read so much too high, always: the gauge is not where the ruler said.
        sticks_mm: a float that stands still until the water has moved so far.
        under: what a rim gauge sees once its flag is under water. "flag": the flag still, as a
            clean scenario has it; a real beam gives the water's "surface", or "nothing".
    """

    missing: Share = 0.0
    burst_s: Sd = 0.0
    doubled: Share = 0.0
    halved: Share = 0.0
    offset_mm: Finite = 0.0
    sticks_mm: Sd = 0.0
    under: Literal["flag", "surface", "nothing"] = "flag"


class LinePart(Part):
    """`[line]`: share of the board's lines that get lost, arrive in part, or arrive twice."""

    lost: Share = 0.0
    torn: Share = 0.0
    repeated: Share = 0.0


class RulerPart(Part):
    """`[ruler]`: standard deviations of what the group measured, about the true boat.

    The boats file has the measured boat, the water carries the true one.
    """

    measure_mm_sd: Sd = 0.0
    boat_g_sd: Sd = 0.0
