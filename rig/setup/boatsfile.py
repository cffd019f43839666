"""The boats file: what each group measured with ruler and scale."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

from rig.errors import OutOfRange
from rig.physics.hulls import FAMILIES, Hull
from rig.setup.tomlfile import Loc, bad_key, read_toml, validated
from rig.setup.values import NotNegative, Positive, plain_words, true_is_no_number


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
    label: Annotated[str, Field(min_length=1, max_length=30), AfterValidator(plain_words)]
    hull: str
    mass_g: NotNegative
    guess_items: (
        Annotated[int, BeforeValidator(true_is_no_number), Field(ge=0, le=99_999)] | None
    ) = None


class _Millimetres(BaseModel):
    """Any hull's measures: numbers, and nothing else."""

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, Positive]


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
        key = next((key for key in wanted if err.what.startswith(f"{key} ")), wanted[0])
        raise bad_key(where, text, (*at, key), err.what.removesuffix(".")) from err
    return Boat(table.label, hull, table.mass_g, table.guess_items)


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
        boat = boat_from_dict(row, path.name, text, ("boat", number))
        if boat.label in boats:
            raise bad_key(
                path.name, text, ("boat", number, "label"), f'"{boat.label}" is there twice'
            )
        boats[boat.label] = boat
    return boats
