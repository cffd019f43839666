"""A boat given on the command line: any family, by its own measures."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import click

from rig.cli.output import file_argument, number_option
from rig.errors import OutOfRange, RigError
from rig.physics.hulls import FAMILIES, Hull, Raft, Sections, Twin, raft_mass_g
from rig.physics.hulls.plan_forms import outline_of
from rig.physics.walls import outside
from rig.setup import Boat, read_boats
from rig.setup.hullfile import OTHERS
from rig.setup.meshfile import read_mesh


def boat_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """All options that describe a boat; `boat_from` takes them."""
    for option in reversed((*_FIRST, *_measures(), *_LAST)):
        command = option(command)
    return command


_FIRST = (
    click.option(
        "--hull", type=click.Choice([*FAMILIES, *OTHERS]), default="box", show_default=True
    ),
    click.option("--boats", "boats_file", type=file_argument, help="Take a boat from this file."),
    click.option("--label", help="Which boat of that file. [default: its first]"),
    number_option("mass_g", "The empty boat."),
    number_option("density_g_ml", "raft: of its material, in place of --mass-g."),
    click.option("--each", type=click.Choice(list(FAMILIES)), help="twin: one of its two hulls."),
    number_option("spacing_mm", "twin: from the middle of one hull to that of the other."),
    click.option(
        "--section",
        "rows",
        multiple=True,
        help="sections: HEIGHT:LENGTHxBEAM, or HEIGHT:x,y/x,y/x,y; one for each height, from"
        " the keel (0) to the rim.",
    ),
    click.option("--stl", type=file_argument, help="mesh: an STL file, z up."),
    number_option("mm_per_unit", "mesh: if it was not drawn in mm."),
)
_LAST = (
    number_option("wall_mm", "Thickness of walls and bottom."),
    click.option("--inside", is_flag=True, help="Measured inside: --wall-mm is added."),
    number_option("rim_out_mm", "How much lower the lowest rim point may lie."),
)


def _measures() -> list[Callable[..., Any]]:
    words: dict[str, dict[str, list[str]]] = {}
    for name, family in FAMILIES.items():
        for measure in family.measures:
            words.setdefault(measure.key, {}).setdefault(measure.words, []).append(name)
    return [
        number_option(key, "; ".join(f"{', '.join(of)}: {what}" for what, of in ways.items()))
        for key, ways in words.items()
    ]


def boat_from(
    hull: str,
    boats_file: Path | None,
    label: str | None,
    mass_g: float | None,
    density_g_ml: float | None,
    each: str | None,
    spacing_mm: float | None,
    rows: tuple[str, ...],
    stl: Path | None,
    mm_per_unit: float | None,
    wall_mm: float | None,
    inside: bool,
    rim_out_mm: float | None,
    **measures: float | None,
) -> Boat:
    """Return the boat that the options describe. Raises RigError for what does not go together."""
    given = {key: value for key, value in measures.items() if value is not None}
    if boats_file is not None:
        others = (mass_g, density_g_ml, each, spacing_mm, stl, mm_per_unit, wall_mm, rim_out_mm)
        if given or rows or inside or any(value is not None for value in others):
            raise RigError("The boats file says how the boat is.", "Leave its measures out.")
        return _of_file(boats_file, label)
    if label is not None:
        raise RigError("--label chooses from a boats file.", "Add --boats.")
    whose: dict[str, tuple[str, Any]] = {
        "each": ("twin", each),
        "spacing_mm": ("twin", spacing_mm),
        "section": ("sections", rows or None),
        "stl": ("mesh", stl),
        "mm_per_unit": ("mesh", mm_per_unit),
        "density_g_ml": (Raft.family, density_g_ml),
    }
    foreign = [key for key, (name, value) in whose.items() if value is not None and name != hull]
    if foreign:
        raise RigError(f"A {hull} has no {_options(foreign)}.", "Leave it out.")
    if hull == "twin":
        if each is None or spacing_mm is None:
            raise _needs("twin", ["each"] * (each is None) + ["spacing_mm"] * (spacing_mm is None))
        shape: Hull = Twin(_family(each, given), spacing_mm)
    elif hull in FAMILIES:
        shape = _family(hull, given)
    elif given:
        raise RigError(f"A {hull} has no {_options(list(given))}.", "Leave it out.")
    elif hull == "sections":
        if not rows:
            raise _needs("sections", ["section"])
        shape = Sections.drawn([_row(row) for row in rows])
    else:
        if stl is None:
            raise _needs("mesh", ["stl"])
        shape = read_mesh(stl, 1.0 if mm_per_unit is None else mm_per_unit)
    if inside:
        if not wall_mm:
            raise RigError("A boat measured inside needs its wall.", "Add --wall-mm.")
        shape = outside(shape, wall_mm)
    mass = _mass_g(shape, mass_g, density_g_ml)
    return Boat(
        "", shape, mass, wall_mm=wall_mm or 0.0, measured_inside=inside, rim_out_mm=rim_out_mm or 0
    )


def _of_file(path: Path, label: str | None) -> Boat:
    boats = read_boats(path)
    if label is None:
        return next(iter(boats.values()))
    if label not in boats:
        raise RigError(f'No boat "{label}" in {path.name}.', f"There are: {', '.join(boats)}.")
    return boats[label]


def _family(name: str, given: Mapping[str, float]) -> Hull:
    family = FAMILIES[name]
    wanted = {measure.key: measure.default for measure in family.measures}
    missing = [key for key, default in wanted.items() if key not in given and default is None]
    unwanted = [key for key in given if key not in wanted]
    if missing:
        raise _needs(name, missing)
    if unwanted:
        raise RigError(f"A {name} has no {_options(unwanted)}.", "Leave it out.")
    return family(**given)


def _row(text: str) -> tuple[float, list[tuple[float, float]]]:
    """`40:120x80` or `40:60,0/20,30/-60,0`."""
    height, _, outline = text.partition(":")
    try:
        if "x" in outline:
            length, beam = (float(part) for part in outline.split("x"))
            return float(height), list(outline_of("box", length, beam))
        pairs = [corner.split(",") for corner in outline.split("/")]
        return float(height), [(float(x), float(y)) for x, y in pairs]
    except ValueError as err:
        raise RigError(
            f'--section "{text}" is no section.', "Write 40:120x80, or 40:60,0/20,30/-60,0."
        ) from err


def _mass_g(hull: Hull, mass_g: float | None, density_g_ml: float | None) -> float:
    if density_g_ml is not None:
        if mass_g is not None:
            raise RigError("A raft is weighed or known by its density.", "Leave one of both out.")
        assert isinstance(hull, Raft)
        return raft_mass_g(hull, density_g_ml)
    if mass_g is None:
        raise _needs(hull.family, ["mass_g"])
    if not 0 <= mass_g < 1e7:
        raise OutOfRange(f"A boat of {mass_g:g} g cannot be.", "Weigh it and give grams.")
    return mass_g


def _needs(name: str, keys: list[str]) -> RigError:
    return RigError(f"A {name} also needs {_options(keys)}.", "Measure and add it.")


def _options(keys: list[str]) -> str:
    return ", ".join(f"--{key.replace('_', '-')}" for key in keys)
