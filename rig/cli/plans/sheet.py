"""`tubrig plan sheet`: the ceiling of the material."""

from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from rig.cli.output import file_argument, json_option, print_json, save
from rig.errors import OutOfRange
from rig.physics.flotation import whole_items
from rig.physics.sheet import SheetPlan, plan_sheet
from rig.physics.water import ROOM_C, water_density


@click.command(
    epilog="Example: tubrig plan sheet --length-mm 300 --beam-mm 200 --sheet-g 5 --item-g 2.5"
)
@click.option("--length-mm", type=float, required=True, help="Of the sheet.")
@click.option("--beam-mm", type=float, required=True, help="Of the sheet.")
@click.option("--sheet-g", type=float, default=0.0, show_default=True, help="The whole sheet.")
@click.option("--corners-cut", is_flag=True, help="Corners cut off and thrown away, not folded in.")
@click.option("--item-g", type=float, help="One item, to count in items.")
@click.option("--water-c", type=float, default=ROOM_C, show_default=True, help="Water temperature.")
@click.option("--html", type=file_argument, help="Save it as a page with curve and drawing.")
@json_option
def sheet(
    length_mm: float,
    beam_mm: float,
    sheet_g: float,
    corners_cut: bool,
    item_g: float | None,
    water_c: float,
    html: Path | None,
    as_json: bool,
) -> None:
    """The best tray that one sheet of material makes, and what it carries at most."""
    if item_g is not None and not 0 < item_g < 1e6:
        raise OutOfRange(f"An item of {item_g:g} g cannot be.", "Weigh one and give grams.")
    plan = plan_sheet(length_mm, beam_mm, sheet_g, water_density(water_c), corners_cut)
    told: dict[str, Any] = {
        "length_mm": length_mm,
        "beam_mm": beam_mm,
        "sheet_g": sheet_g,
        **asdict(plan),
        "best_items": None if item_g is None else whole_items(plan.best.capacity_g, item_g),
    }
    if html is not None:
        from dashboard.saved import sheet_page  # only who wants a page loads its templates

        save(html, sheet_page(told, plan.box))
    if as_json:
        print_json(told)
        return
    _say(plan, told["best_items"])
    if html is not None:
        click.echo(f"Saved: {html}")


def _say(plan: SheetPlan, items: int | None) -> None:
    box, best = plan.box, plan.best
    counted = "" if items is None else f", {items} whole items"
    click.echo(
        f"Best walls {best.wall_mm:.1f} mm: a tray of {box.length_mm:.0f} x {box.beam_mm:.0f} mm"
        f" carries {best.capacity_g:.0f} g{counted}."
    )
    click.echo("A goal above that asks for more material.")
    click.echo("    walls      holds    carries")
    for fold in plan.folds:
        carries = f"{fold.capacity_g:8.0f} g" if fold.capacity_g >= 0 else "     sinks"
        click.echo(f"{fold.wall_mm:6.1f} mm {fold.volume_ml:7.0f} ml {carries}")
