"""The boats file: what each group measured with ruler and scale."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from rig.errors import OutOfRange
from rig.physics.hulls import FAMILIES, Hull
from rig.setup.tomlfile import Loc, bad_key, read_toml, validated


@dataclass(frozen=True)
class Boat:
    """A group's boat: its label, hull, own mass (flag and mast included), and the group's guess."""

    label: str
    hull: Hull
    mass_g: float
    guess_items: int | None = None

    def as_dict(self) -> dict[str, Any]:
        """The boat as a `[[boat]]` table; `boat_from_dict` reads it back."""
        measures = {m.key: getattr(self.hull, m.key) for m in self.hull.measures}
        guess = {} if self.guess_items is None else {"guess_items": self.guess_items}
        return {
            "label": self.label,
            "hull": self.hull.family,
            "mass_g": self.mass_g,
            **measures,
            **guess,
        }


class _BoatTable(BaseModel):
    model_config = ConfigDict(extra="allow")
    label: Annotated[str, Field(min_length=1, max_length=30, pattern=r"^[^\x00-\x1f\x7f]+$")]
    hull: str
    mass_g: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    guess_items: Annotated[int, Field(ge=0)] | None = None


class _Millimetres(BaseModel):
    """Any hull's measures: numbers, and nothing else."""

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, Annotated[float, Field(gt=0, allow_inf_nan=False)]]


def boat_from_dict(
    data: Mapping[str, Any], where: str = "boat", text: str = "", at: Loc = ("boat",)
) -> Boat:
    """Return the boat a `[[boat]]` table describes. Raises SetupInvalid, naming the key."""
    table = validated(_BoatTable, data, where, text, at)
    family = FAMILIES.get(table.hull)
    if family is None:
        known = ", ".join(FAMILIES)
        raise bad_key(where, text, (*at, "hull"), f'"{table.hull}" is not one of {known}')
    given = dict(table.__pydantic_extra__ or {})
    wanted = [measure.key for measure in family.measures]
    for key in wanted:
        if key not in given:
            raise bad_key(where, text, (*at, key), f"this is missing for a {table.hull}")
    for key in given:
        if key not in wanted:
            raise bad_key(where, text, (*at, key), f"a {table.hull} has no such measure")
    measured = validated(_Millimetres, given, where, text, at).__pydantic_extra__ or {}
    try:
        hull = family(**measured)
    except OutOfRange as err:
        raise bad_key(where, text, (*at, wanted[0]), err.what.removesuffix(".")) from err
    return Boat(table.label, hull, table.mass_g, table.guess_items)


def read_boats(path: Path) -> dict[str, Boat]:
    """Read and check a boats file: label -> boat, in the file's order. Raises SetupInvalid."""
    data, text = read_toml(path)
    rows = data.get("boat")
    if not isinstance(rows, list) or set(data) != {"boat"}:
        raise bad_key(
            path.name, "", ("boat",), "the file must hold [[boat]] tables and nothing else"
        )
    boats: dict[str, Boat] = {}
    for number, row in enumerate(rows):
        boat = boat_from_dict(row, path.name, text, ("boat", number))
        if boat.label in boats:
            raise bad_key(
                path.name, text, ("boat", number, "label"), f'"{boat.label}" is there twice'
            )
        boats[boat.label] = boat
    return boats
