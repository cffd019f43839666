"""A distance gauge as a procedure sees it: raw words to mm, by what the board names. Pure."""

from dataclasses import dataclass

from rig.errors import OutOfRange
from rig.physics.air import ROOM_C
from rig.sensing.readings import distance_mm
from rig.sensing.sentences import Identity
from rig.setup import RigSetup


@dataclass(frozen=True)
class Gauge:
    """One gauge: its unit, the air it hears through, its height as far as it is known."""

    unit: str
    air_c: float
    height_mm: float | None
    height_mm_sd: float

    @classmethod
    def of(
        cls, kind: str, setup: RigSetup, identity: Identity | None, air_c: float | None = None
    ) -> "Gauge":
        """The gauge of a rig: "surface" or "rim"; `air_c` in place of the rig file's."""
        part = setup.surface if kind == "surface" else setup.rim
        named = identity.unit(kind) if identity else None
        return cls(
            named or (part.unit if part else "um"),
            air_c if air_c is not None else part.air_c if part else ROOM_C,
            part.height_mm if part else None,
            part.height_mm_sd if part else 0.0,
        )

    def distance_mm(self, raw: float) -> float:
        """Down to what it sees [mm]. Raises OutOfRange for air the formula does not cover."""
        return distance_mm(raw, self.unit, self.air_c)

    def shows(self, raw: float, raw_sd: float) -> str:
        """The distance, and the height where the gauge's own is known."""
        distance = self.distance_mm(raw)
        doubt = f" ± {2 * self.distance_mm(raw_sd):.2g} mm" if raw_sd else ""
        words = f"{distance:.1f} mm{doubt} below the gauge"
        if self.height_mm is None:
            return words
        return f"{words}, so {self.height_mm - distance:.1f} mm high so far"


def number(text: str, unit: str, most: float) -> float:
    """Return a number that a person typed, 0 or more. Raises OutOfRange."""
    cleaned = text.strip().removesuffix(unit).strip().replace(",", ".")
    try:
        value = float(cleaned)
    except ValueError:
        value = -1.0
    if not 0 <= value <= most:
        raise OutOfRange(f'"{text.strip()}" is no number of {unit}.', f"Type {unit}, such as 50.")
    return value
