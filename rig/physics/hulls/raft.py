"""Raft: a solid block of foam or wood."""

from dataclasses import dataclass
from typing import ClassVar

from rig.errors import OutOfRange
from rig.physics.hulls.box import Box
from rig.physics.hulls.hull import Measure


@dataclass(frozen=True)
class Raft(Box):
    """A box that cannot fill: it carries until its deck is level with the water.

    Its mass is weighed, or `raft_mass_g` by the density of what it is made of.
    """

    family: ClassVar[str] = "raft"
    measures: ClassVar[tuple[Measure, ...]] = (
        Measure("length_mm", "length", 200, "length"),
        Measure("beam_mm", "width", 120, "beam"),
        Measure("depth_mm", "thickness, bottom to deck", 25, "depth"),
    )

    @property
    def floods(self) -> bool:
        """Nothing to fill."""
        return False


def raft_mass_g(raft: Raft, density_g_ml: float) -> float:
    """Return the mass of a solid raft, density x volume [g].

    Args:
        density_g_ml: of foam or wood, above 0 and below 3 [g/ml].

    Raises:
        OutOfRange: a density outside that.
    """
    if not 0 < density_g_ml < 3:
        raise OutOfRange(
            f"density_g_ml = {density_g_ml:g} cannot be right for a raft.",
            "Foam has about 0.03, pine about 0.5; or weigh the raft.",
        )
    return density_g_ml * raft.volume_ml(raft.depth_mm)
