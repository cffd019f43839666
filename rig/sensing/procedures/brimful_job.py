"""How much a boat of any shape holds, by filling it to the rim on the rig's own scale. Pure."""

from collections.abc import Sequence
from math import hypot, isfinite
from typing import Final

from rig.errors import OutOfRange
from rig.physics.buoyancy import reads_as_part
from rig.physics.water import ROOM_C, water_density
from rig.sensing.procedures.known import Known, no_load
from rig.sensing.procedures.load_job import LoadJob
from rig.sensing.procedures.steps import Outcome, Step, Taken
from rig.sensing.sentences import Identity
from rig.setup import RigSetup

CUP_OFF_PART: Final = 0.01  # a kitchen measure, level: common practice, no source
LEAST_FILLING_G: Final = 5.0  # less than that is a spoonful, or the steps were mixed up
_EMPTY: Final = "Take everything off the scale that does not stay there."
_BOAT: Final = "Put the empty, dry boat on the scale."
_WATER: Final = "Fill the boat to its rim with water, as full as it goes. Nothing may spill."
_RICE: Final = "Fill the boat to its rim with dry rice, and strike it off level."
_NO_BOAT: Final = "Take the boat off, and put the empty, dry measuring cup on the scale."
_CUP: Final = "Fill the cup to {ml:g} ml with the same rice, poured alike, not shaken."


class BrimfulJob:
    """See the module.

    With water its density by temperature gives the volume; with rice, which a boat of paper bears
    better, the same rice in a measuring cup does.

    Args:
        cup_ml: volume of that cup's mark; None: the boat is filled with water [ml].
        cup_off_ml: how far the mark may be off; one part in a hundred if None [ml].
        water_c: of the water; room temperature if None [deg C].

    Raises:
        OutOfRange: no such cup, or no such water.
    """

    kind = "brimful"
    channel = "load"

    def __init__(
        self,
        cup_ml: float | None = None,
        cup_off_ml: float | None = None,
        water_c: float | None = None,
    ) -> None:
        self._cup_ml = cup_ml
        self._density = water_density(ROOM_C if water_c is None else water_c)
        empty, filled = Step(_EMPTY, no_load()), Step(_RICE if cup_ml else _WATER, no_load())
        boat = Step(_BOAT, no_load())
        self.steps: tuple[Step, ...] = (empty, boat, filled)
        self._cup_sd_ml = 0.0
        if cup_ml is None:
            return
        off_ml = CUP_OFF_PART * cup_ml if cup_off_ml is None else cup_off_ml
        if not (isfinite(cup_ml) and cup_ml > 0 and 0 <= off_ml < cup_ml):
            raise OutOfRange(
                f"A cup of {cup_ml:g} ± {off_ml:g} ml cannot be.", "Read its mark, in ml."
            )
        self._cup_sd_ml = off_ml / 3**0.5
        self.steps += (
            Step(_NO_BOAT, no_load()),
            Step(_CUP.format(ml=cup_ml), no_load()),
        )

    def known_from(self, step: Step, text: str) -> Known:
        """Nothing is known beforehand. Raises OutOfRange."""
        raise OutOfRange("There is nothing to type here.", "Leave the field empty.")

    def shows(self, raw: float, raw_sd: float, setup: RigSetup, identity: Identity | None) -> str:
        """Grams."""
        return LoadJob.grams(raw, raw_sd, setup, "")

    def outcome(
        self, taken: Sequence[Taken], setup: RigSetup, identity: Identity | None
    ) -> Outcome:
        """Volume and the boat's own mass, in words and as one row.

        The boat's own displacement within thick walls is not in it (`Brimful`).

        Raises:
            OutOfRange: steps are missing, or they cannot have been what was asked for.
        """
        if len(taken) < len(self.steps):
            raise OutOfRange("Not all steps are done.", "Do the next one.")
        grams = [_grams(one, setup) for one in taken]
        boat_g, filling_g = grams[1] - grams[0], grams[2] - grams[1]
        noise_g = max(one.reading.raw_sd for one in taken) / abs(setup.load.count_per_g) * 2**0.5
        span_part = setup.load.count_per_g_sd / abs(setup.load.count_per_g)
        if boat_g < -3 * noise_g or filling_g < max(LEAST_FILLING_G, 3 * noise_g):
            raise OutOfRange(
                f"The boat read {boat_g:.1f} g and its filling {filling_g:.1f} g.",
                "Begin again: empty scale, empty boat, full boat.",
            )
        if self._cup_ml is None:
            held_ml = filling_g / (self._density * reads_as_part(self._density))
            sd_ml = hypot(noise_g, span_part * filling_g) / self._density
        else:
            cup_g = grams[4] - grams[3]
            if cup_g < max(LEAST_FILLING_G, 3 * noise_g):
                raise OutOfRange(
                    f"The cup's filling read {cup_g:.1f} g.",
                    "Begin again, and fill it to its mark.",
                )
            held_ml = self._cup_ml * filling_g / cup_g  # the scale's own span cancels
            sd_ml = held_ml * hypot(
                noise_g / filling_g, noise_g / cup_g, self._cup_sd_ml / self._cup_ml
            )
        boat_sd_g = hypot(noise_g, span_part * boat_g)
        return Outcome(
            says=(
                f"Full to the rim it holds {held_ml:.1f} ml, ± {2 * sd_ml:.1f} ml by the scale.",
                f"The empty boat weighs {boat_g:.1f} g, ± {2 * boat_sd_g:.1f} g.",
            ),
            findings=(),
            rows=(
                {
                    "held_ml": held_ml,
                    "held_ml_sd": sd_ml,
                    "boat_g": max(boat_g, 0.0),
                    "boat_g_sd": boat_sd_g,
                    "filling": "water" if self._cup_ml is None else "rice",
                },
            ),
        )


def _grams(one: Taken, setup: RigSetup) -> float:
    grams = setup.load.mass_g(one.reading.raw)
    if grams is None:
        raise OutOfRange("The rig file's bend never comes to this count.", "Calibrate the scale.")
    return grams
