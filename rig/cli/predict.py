"""`tubrig predict`: what a hull will carry."""

from dataclasses import asdict
from typing import Any

import click

from rig.cli.output import json_option, number_option, print_json
from rig.errors import OutOfRange, RigError
from rig.physics.flotation import capacity_g, float_at, sinking_curve, whole_items
from rig.physics.hulls import FAMILIES, Hull
from rig.physics.stability import initial_stability
from rig.physics.water import ROOM_C, water_density

POINTS = 21


def _measure_options(command: Any) -> Any:
    words: dict[str, list[str]] = {}
    for name, family in FAMILIES.items():
        for measure in family.measures:
            words.setdefault(measure.key, []).append(f"{name}: {measure.words}")
    for key, lines in reversed(words.items()):
        command = number_option(key, "; ".join(lines))(command)
    return command


@click.command(
    epilog="Example: tubrig predict --hull box --length-mm 150 --beam-mm 100 --depth-mm 40"
    " --mass-g 20 --item-g 2.5"
)
@click.option("--hull", type=click.Choice(list(FAMILIES)), default="box", show_default=True)
@_measure_options
@click.option("--mass-g", type=float, required=True, help="The empty boat.")
@click.option("--item-g", type=float, help="One item, to count in items.")
@click.option("--water-c", type=float, default=ROOM_C, show_default=True, help="Water temperature.")
@json_option
def predict(
    hull: str,
    mass_g: float,
    item_g: float | None,
    water_c: float,
    as_json: bool,
    **measures: float | None,
) -> None:
    """What a boat will carry by Archimedes' law: level rim, its own mass taken off."""
    told = _prediction(_hull(hull, measures), mass_g, item_g, water_c)
    if as_json:
        print_json(told)
        return
    click.echo(f"It carries {told['capacity_g']:.1f} g" + _in_items(told["capacity_items"]) + ".")
    click.echo(
        f"Empty it floats {told['draft_empty_mm']:.1f} mm deep, its rim"
        f" {told['freeboard_empty_mm']:.1f} mm above the water."
    )
    stability = told["stability_empty"]
    if stability:
        click.echo(
            f"Empty it stays upright while its centre of gravity is below KM = "
            f"{stability['km_mm']:.1f} mm (KB {stability['kb_mm']:.1f} + BM"
            f" {stability['bm_mm']:.1f})."
        )
    click.echo("    load      draft  freeboard")
    for point in told["curve"]:
        click.echo(
            f"{point['load_g']:8.1f} g {point['draft_mm']:7.1f} mm {point['freeboard_mm']:7.1f} mm"
        )


def _in_items(items: int | None) -> str:
    return "" if items is None else f", which is {items} whole items"


def _hull(name: str, measures: dict[str, float | None]) -> Hull:
    family = FAMILIES[name]
    wanted = {measure.key: measure.default for measure in family.measures}
    given = {key: value for key, value in measures.items() if value is not None}
    missing = [key for key, default in wanted.items() if key not in given and default is None]
    unwanted = [key for key in given if key not in wanted]
    if missing:
        raise RigError(f"A {name} also needs {_options(missing)}.", "Measure and add it.")
    if unwanted:
        raise RigError(f"A {name} has no {_options(unwanted)}.", "Leave it out.")
    return family(**given)


def _options(keys: list[str]) -> str:
    return ", ".join(f"--{key.replace('_', '-')}" for key in keys)


def _prediction(hull: Hull, mass_g: float, item_g: float | None, water_c: float) -> dict[str, Any]:
    if not 0 <= mass_g < 1e7:
        raise OutOfRange(f"A boat of {mass_g:g} g cannot be.", "Weigh it and give grams.")
    if item_g is not None and not 0 < item_g < 1e6:
        raise OutOfRange(f"An item of {item_g:g} g cannot be.", "Weigh one and give grams.")
    density = water_density(water_c)
    capacity = capacity_g(hull, mass_g, density)
    if capacity < 0:
        raise OutOfRange(
            f"This boat goes down empty: it is {-capacity:.1f} g too heavy for its size.",
            "Measure and weigh it again, or build higher walls.",
        )
    loads = [capacity * i / (POINTS - 1) for i in range(POINTS)]
    empty = float_at(hull, mass_g, 0.0, density)
    return {
        "hull": hull.family,
        "capacity_g": capacity,
        "capacity_items": None if item_g is None else whole_items(capacity, item_g),
        "draft_empty_mm": empty.draft_mm,
        "freeboard_empty_mm": empty.freeboard_mm,
        "water_density_g_ml": density,
        "stability_empty": asdict(initial_stability(hull, empty.draft_mm))
        if empty.draft_mm
        else None,
        "curve": [asdict(point) for point in sinking_curve(hull, mass_g, density, loads)],
    }
