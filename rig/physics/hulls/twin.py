"""Twin: two equal hulls side by side under one deck."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from rig.errors import OutOfRange
from rig.physics.hulls.composite import Composite
from rig.physics.hulls.hull import Hull, Measure, require_positive


@dataclass(frozen=True)
class Twin(Composite):
    """Two of any hull; `spacing_mm` from the middle of one to the middle of the other.

    Measures of the single hull are keyed `each.length_mm` and so on.
    """

    family: ClassVar[str] = "twin"
    measures: ClassVar[tuple[Measure, ...]] = (
        Measure("spacing_mm", "from the middle of one hull to that of the other", 150, "spacing"),
    )

    each: Hull
    spacing_mm: float

    def __post_init__(self) -> None:
        require_positive(self.family, spacing_mm=self.spacing_mm)
        widest = max(max(abs(y) for y, _ in corners) for corners in self.each.ends_mm())
        if self.spacing_mm < 2 * widest:
            raise OutOfRange(
                f"spacing_mm = {self.spacing_mm:g} cannot be right for a twin: hulls"
                f" {2 * widest:g} mm wide would overlap.",
                "Measure from the middle of one hull to the middle of the other.",
            )

    @property
    def floods(self) -> bool:
        """Whether its hulls do."""
        return self.each.floods

    @property
    def depth_mm(self) -> float:
        """Of one hull [mm]."""
        return self.each.depth_mm

    def body(self) -> Hull:
        """One of the two."""
        return self.each

    def places_mm(self) -> Sequence[float]:
        """Half the spacing to either side [mm]."""
        return (-self.spacing_mm / 2, self.spacing_mm / 2)

    def measured(self) -> dict[str, float]:
        """The spacing, and what one hull measures."""
        own = {"spacing_mm": self.spacing_mm}
        return own | {f"each.{key}": value for key, value in self.each.measured().items()}

    def measure_of(self, key: str) -> Measure:
        """Its own measure, or the single hull's."""
        if key.startswith("each."):
            return self.each.measure_of(key.removeprefix("each."))
        return self.measures[0]

    def remeasured(self, values: Mapping[str, float]) -> "Twin":
        """Both hulls alike. Raises OutOfRange."""
        one = {
            key.removeprefix("each."): value
            for key, value in values.items()
            if key.startswith("each.")
        }
        return Twin(self.each.remeasured(one), values["spacing_mm"])
