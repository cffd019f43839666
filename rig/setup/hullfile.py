"""A hull as it stands in a boats file: `hull = "box"` and its measures, or what else it needs.

twin        spacing_mm, and under [boat.each] one of its two hulls
sections    section = [{ height_mm = 0, outline_mm = [[x, y], ...] }, ...] from keel to rim; or by
            { height_mm = 0, length_mm = 120, beam_mm = 60, form = "box", "oval" or "pointed" }
mesh        file = "boat.stl" beside the boats file, mm_per_unit if it was not drawn in mm
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from rig.errors import OutOfRange
from rig.physics.hulls import FAMILIES, Hull, Mesh, Sections, Twin
from rig.physics.hulls.plan_forms import Form, outline_of
from rig.setup.meshfile import mesh_from_text, mesh_text, read_mesh
from rig.setup.tomlfile import Loc, bad_key, validated
from rig.setup.values import Finite, NotNegative, Positive

OTHERS = ("twin", "sections", "mesh")
_MOST_ROWS = 200


class _Numbers(BaseModel):
    """Any hull's measures: numbers, and nothing else."""

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, Positive]


class _Twin(BaseModel):
    model_config = ConfigDict(extra="forbid")
    spacing_mm: Positive
    each: dict[str, Any]


class _Section(BaseModel):
    model_config = ConfigDict(extra="forbid")
    height_mm: NotNegative
    outline_mm: (
        Annotated[
            list[Annotated[list[Finite], Field(min_length=2, max_length=2)]],
            Field(min_length=1, max_length=_MOST_ROWS),
        ]
        | None
    ) = None
    length_mm: Positive | None = None
    beam_mm: Positive | None = None
    form: Form = "box"

    def outline(self) -> Sequence[Sequence[float]]:
        """Corner by corner, or by length and width. Raises OutOfRange."""
        if self.outline_mm is not None:
            if self.length_mm is not None or self.beam_mm is not None:
                raise OutOfRange(
                    "A section has an outline_mm or a length_mm and beam_mm, not both.",
                    "Leave one out.",
                )
            return self.outline_mm
        if self.length_mm is None or self.beam_mm is None:
            raise OutOfRange(
                "A section needs its outline_mm, or length_mm and beam_mm.", "Add them."
            )
        return outline_of(self.form, self.length_mm, self.beam_mm)


class _Sections(BaseModel):
    model_config = ConfigDict(extra="forbid")
    section: Annotated[list[_Section], Field(min_length=2, max_length=_MOST_ROWS)]


class _Mesh(BaseModel):
    model_config = ConfigDict(extra="forbid")
    file: str
    mm_per_unit: Positive = 1.0
    mesh_data: str | None = None


def hull_as_dict(hull: Hull) -> dict[str, Any]:
    """Return a hull's keys in a file; `hull_from_dict` reads them back to the last digit."""
    told: dict[str, Any] = {"hull": hull.family}
    if isinstance(hull, Twin):
        return told | {"spacing_mm": hull.spacing_mm, "each": hull_as_dict(hull.each)}
    if isinstance(hull, Sections):
        rows = [{"height_mm": z, "outline_mm": [list(p) for p in o]} for z, o in hull.rows]
        return told | {"section": rows}
    if isinstance(hull, Mesh):  # the drawing itself: a kept trial must not need the file
        return told | {"file": hull.name, "mesh_data": mesh_text(hull)}
    return told | hull.measured()


def hull_from_dict(
    name: str, given: Mapping[str, Any], where: str, text: str, at: Loc, folder: Path | None
) -> Hull:
    """Return the hull of a family from the keys that are its own. Raises SetupInvalid.

    Args:
        folder: where a mesh file may lie; None where no file may be read.
    """
    if name in OTHERS:
        return _other(name, given, where, text, at, folder)
    family = FAMILIES.get(name)
    if family is None:
        known = ", ".join([*FAMILIES, *OTHERS])
        raise bad_key(where, text, (*at, "hull"), f'"{name}" is not one of {known}')
    wanted = {measure.key: measure for measure in family.measures}
    for key, measure in wanted.items():
        if key not in given and measure.default is None:
            raise bad_key(where, text, (*at, key), f"this is missing for a {name}")
    for key in given:
        if key not in wanted:
            raise bad_key(where, text, (*at, key), f"a {name} has no such measure")
    measured = validated(_Numbers, given, where, text, at).__pydantic_extra__ or {}
    try:
        return family(**measured)
    except OutOfRange as err:
        key = next((key for key in wanted if err.what.startswith(f"{key} ")), next(iter(wanted)))
        raise bad_key(where, text, (*at, key), err.what.removesuffix(".")) from err


def _other(
    name: str, given: Mapping[str, Any], where: str, text: str, at: Loc, folder: Path | None
) -> Hull:
    try:
        if name == "twin":
            twin = validated(_Twin, given, where, text, at)
            inner = dict(twin.each)
            kind = inner.pop("hull", None)
            if not isinstance(kind, str) or kind in OTHERS:
                why = f"write hull = and one of {', '.join(FAMILIES)} under [boat.each]"
                raise bad_key(where, text, (*at, "each", "hull"), why)
            each = hull_from_dict(kind, inner, where, text, (*at, "each"), folder)
            return Twin(each, twin.spacing_mm)
        if name == "sections":
            table = validated(_Sections, given, where, text, at)
            return Sections.drawn([(row.height_mm, row.outline()) for row in table.section])
        mesh = validated(_Mesh, given, where, text, at)
        if mesh.mesh_data is not None:
            return mesh_from_text(mesh.mesh_data, mesh.file)
        if folder is None:
            raise bad_key(where, text, (*at, "file"), "a mesh can only be read from a boats file")
        return read_mesh(folder / mesh.file, mesh.mm_per_unit)
    except OutOfRange as err:
        key = {"twin": "spacing_mm", "sections": "section", "mesh": "file"}[name]
        raise bad_key(where, text, (*at, key), err.what.removesuffix(".")) from err
