"""`tubrig check parts`: which load cell and which gauge for a tub, before anything is built."""

from collections.abc import Callable
from dataclasses import asdict, fields
from typing import Any

import click

from rig.cli.output import json_option, print_json
from rig.setup.parts import SENSITIVITY_MV_V, SPARE, PartsTable, Plan, Spot, parts_table

_HELP = {
    "tub_length_mm": "Water surface, one way.",
    "tub_width_mm": "Water surface, the other way.",
    "water_mm": "Depth of the water.",
    "tub_g": "The empty tub.",
    "boat_length_mm": "The largest boat, along.",
    "boat_beam_mm": "The largest boat, across.",
    "wall_mm": "Height of its wall.",
    "boat_g": "The empty boat, mast and flag included.",
    "most_g": "The most that goes aboard.",
    "item_g": "One item.",
    "tray_g": "The empty feed tray.",
    "gauge_mm": "Gauges above the water.",
    "flag_mm": "Flag above the rim.",
    "flag_side_mm": "The flag's shorter side.",
    "supply_v": "Supply of the amplifier.",
}


def _options(command: Callable[..., Any]) -> Callable[..., Any]:
    for part in reversed(fields(Plan)):
        name = f"--{part.name.replace('_', '-')}"
        command = click.option(
            name, part.name, type=float, default=part.default, show_default=True,
            help=_HELP[part.name],
        )(command)  # fmt: skip
    return command


@click.command(epilog="Example: tubrig check parts --tub-length-mm 400 --tub-width-mm 300")
@_options
@json_option
def parts(as_json: bool, **measures: float) -> None:
    """Counts per gram, noise, level rise and what a gauge sees, from data sheets and geometry."""
    table = parts_table(Plan(**measures))
    if as_json:
        print_json(asdict(table))
        return
    click.echo("\n".join([*_cells(table), "", *_level(table), "", *_gauges(table)]))


def _cells(table: PartsTable) -> list[str]:
    tray, tub = table.tray_bears_g / 1000, table.tub_bears_g / 1000
    rows = [
        f"{cell.rated_g / 1000:8g} {cell.counts_per_g:10.1f} {cell.noise_10_g:9.3f}"
        f" {cell.noise_80_g:9.3f} {cell.told_g:9.3f}   {cell.feed_tray:<12}{cell.tub_on_cell}"
        for cell in table.cells
    ]
    return [
        f"The load cell bears {tray:.2f} kg under a feed tray, {tub:.1f} kg under the tub;"
        f" rated for {SPARE:g} times that.",
        f"By data sheets ({SENSITIVITY_MV_V:g} mV/V, gain 128, {table.plan.supply_v:g} V)."
        " Noise and least step are in grams.",
        "rated kg   counts/g  noise 10  noise 80      step   feed tray   tub on cell",
        *rows,
    ]


def _level(table: PartsTable) -> list[str]:
    lines = [f"100 g aboard lift the water by {table.level[0].rise_mm_per_100_g:.2f} mm."]
    for level, spot in zip(table.level, table.spots, strict=True):
        lines.append(
            f"One {spot.kind} gauge over the water tells {level.told_mm:.2f} mm,"
            f" which is {level.told_g:.0f} g."
        )
    return lines


def _gauges(table: PartsTable) -> list[str]:
    plan = table.plan
    lines = [f"What a gauge sees from {plan.gauge_mm:g} mm above the water:"]
    for spot in table.spots:
        lines.append(
            f"  {spot.kind}: a spot {spot.on_water_mm:.0f} mm wide on the water,"
            f" {spot.on_flag_mm:.0f} mm on the flag of a full boat."
        )
        lines += [f"    {remark}" for remark in _remarks(spot, plan)]
    lines.append("Light goes through clear water: give it a float to look at.")
    return lines


def _remarks(spot: Spot, plan: Plan) -> list[str]:
    """What is right or to be changed, one line each."""
    room = "Keep the surface gauge" if spot.surface_has_room else "MEND  There is hardly room. Keep"
    lines = [f"{room} {spot.clear_mm:.0f} mm or more from hull, fence and walls."]
    if not spot.flag_in_sight:
        lines.append(
            f"MEND  The empty boat's flag comes within {spot.flag_gap_mm:.0f} mm; it is blind"
            f" below {spot.nearest_mm:g} mm. Hang it higher."
        )
    if spot.flag_fills:
        lines.append(f"A flag of {plan.flag_side_mm:g} mm fills its spot.")
    elif spot.kind == "echo":
        lines.append(
            f"A flag of {plan.flag_side_mm:g} mm does not fill its spot: the flag answers first"
            " as long as it is the nearest thing in the spot; keep hands out of it."
        )
    else:
        lines.append(
            f"MEND  A flag of {plan.flag_side_mm:g} mm does not fill its spot: it mixes flag and"
            f" hull. Take one of {spot.on_flag_mm:.0f} mm, or hang it lower."
        )
    return lines
