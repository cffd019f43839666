"""The boats file: what each group measured with ruler and scale."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Final

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

from rig.errors import OutOfRange
from rig.physics.hulls import Hull, Raft, raft_mass_g
from rig.physics.uncertainty import Doubts
from rig.physics.walls import inside, outside
from rig.setup.hullfile import hull_as_dict, hull_from_dict
from rig.setup.tomlfile import Loc, bad_key, read_toml, validated
from rig.setup.values import NotNegative, plain_words, true_is_no_number

ADDED: Final = "inside, walls added"


@dataclass(frozen=True)
class Boat:
    """A group's boat: its label, hull, own mass (flag and mast included), and the group's guess.

    `hull` is the outside, what floats. `wall_mm`: thickness of walls and bottom. `measured_inside`:
    the hull was measured inside and the walls were added, so their thickness is in doubt.
    `rim_out_mm`: how much lower the lowest rim point may be than where the depth was measured.
    """

    label: str
    hull: Hull
    mass_g: float
    guess_items: int | None = None
    wall_mm: float = 0.0
    measured_inside: bool = False
    rim_out_mm: float = 0.0

    @property
    def doubts(self) -> Doubts:
        """How far its measures may be off."""
        wall_mm = self.wall_mm if self.measured_inside else 0.0
        return Doubts(wall_mm=wall_mm, rim_out_mm=self.rim_out_mm)

    def as_dict(self) -> dict[str, Any]:
        """The boat as a `[[boat]]` table; `boat_from_dict` reads it back."""
        more = {
            "guess_items": self.guess_items,
            "wall_mm": self.wall_mm or None,
            "measured": ADDED if self.measured_inside else None,
            "rim_out_mm": self.rim_out_mm or None,
        }
        hull = hull_as_dict(self.hull)
        first = {"label": self.label, "hull": hull.pop("hull"), "mass_g": self.mass_g}
        return first | hull | {key: value for key, value in more.items() if value is not None}


class _BoatTable(BaseModel):
    model_config = ConfigDict(extra="allow")
    label: Annotated[str, Field(min_length=1, max_length=30), AfterValidator(plain_words)]
    hull: str
    mass_g: NotNegative | None = None
    guess_items: (
        Annotated[int, BeforeValidator(true_is_no_number), Field(ge=0, le=99_999)] | None
    ) = None
    wall_mm: NotNegative = 0.0
    measured: str = "outside"
    rim_out_mm: NotNegative = 0.0


def boat_from_dict(
    data: Mapping[str, Any],
    where: str = "boat",
    text: str = "",
    at: Loc = ("boat",),
    folder: Path | None = None,
) -> Boat:
    """Return the boat a `[[boat]]` table describes. Raises SetupInvalid, naming the key.

    Args:
        folder: where the boat's mesh file lies; None where no file may be read.
    """
    table = validated(_BoatTable, data, where, text, at)
    given = dict(table.__pydantic_extra__ or {})
    density = given.pop("density_g_ml", None) if table.hull == Raft.family else None
    if table.mass_g is None and density is None:
        raise bad_key(where, text, (*at, "mass_g"), "this is missing")
    hull = hull_from_dict(table.hull, given, where, text, at, folder)
    if table.measured not in ("outside", "inside", ADDED):
        why = 'write measured = "outside" or measured = "inside"'
        raise bad_key(where, text, (*at, "measured"), why)
    if table.measured != "outside" and not (table.wall_mm > 0 and hull.floods):
        why = "a boat measured inside needs its wall's thickness"
        raise bad_key(where, text, (*at, "wall_mm"), why)
    try:
        if table.measured == "inside":
            hull = outside(hull, table.wall_mm)
        inside(hull, table.wall_mm)
    except OutOfRange as err:
        raise bad_key(where, text, (*at, "wall_mm"), err.what.removesuffix(".")) from err
    if not table.rim_out_mm < hull.depth_mm:
        why = "this is more than the whole boat's height"
        raise bad_key(where, text, (*at, "rim_out_mm"), why)
    return Boat(
        table.label,
        hull,
        _mass_g(table.mass_g, density, hull, where, text, at),
        table.guess_items,
        table.wall_mm,
        table.measured != "outside",
        table.rim_out_mm,
    )


def _mass_g(
    weighed: float | None, density: Any, hull: Hull, where: str, text: str, at: Loc
) -> float:
    """The mass as weighed, or of a solid raft by its material's density."""
    if density is None and weighed is not None:
        return weighed
    if weighed is not None:
        why = "a raft is weighed or known by its density, not both"
        raise bad_key(where, text, (*at, "density_g_ml"), why)
    try:
        assert isinstance(hull, Raft)
        return raft_mass_g(hull, float(density))
    except (OutOfRange, TypeError, ValueError) as err:
        why = "this must be a density in g/ml, above 0 and below 3"
        raise bad_key(where, text, (*at, "density_g_ml"), why) from err


def read_boats(path: Path) -> dict[str, Boat]:
    """Read and check a boats file: label -> boat, in the file's order. Raises SetupInvalid."""
    data, text = read_toml(path)
    rows = data.get("boat")
    if not isinstance(rows, list) or not rows:
        raise bad_key(path.name, text, ("boat",), "write each boat under a [[boat]] heading")
    for key in data:
        if key != "boat":
            why = "a boats file holds [[boat]] and nothing else"
            raise bad_key(path.name, text, (key,), why)
    boats: dict[str, Boat] = {}
    for number, row in enumerate(rows):
        boat = boat_from_dict(row, path.name, text, ("boat", number), path.parent)
        if boat.label in boats:
            raise bad_key(
                path.name, text, ("boat", number, "label"), f'"{boat.label}" is there twice'
            )
        boats[boat.label] = boat
    return boats
