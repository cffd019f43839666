"""`tubrig plan stock`: which weights, and how many."""

from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from rig.cli.output import data_dir_option, json_option, print_json
from rig.cli.rigfiles import RIG_FILE
from rig.errors import RigError
from rig.lesson.stock import USUAL_CAPACITY_G, USUAL_SPREAD, Boats, Stock, heap_ml, plan_stock
from rig.lesson.weigh_twenty import OwnMass, own_mass, weighings_from_text
from rig.records import data_folder
from rig.setup import RigSetup, read_setup
from rig.setup.everyday import HAZARDS, WATER, EverydayItem, everyday_items, find_item
from rig.setup.findings import ItemFinding
from rig.setup.fitness import findings
from rig.setup.rigfile import Item

REGIONS = ("US", "EUR", "GB")
WEIGHING_G_SD = 0.1  # of a small scale or load cell (common practice, no source)


@click.command(
    epilog="Example: tubrig plan stock --item 'US cent' --groups 7 --have 200    (without --item"
    " the whole table; --weighed '5=14.1 5=14.3 5=14.0 5=14.2' finds the mass of your own)"
)
@click.option("--item", "name", help="An item of the table, such as 'steel washer M8'.")
@click.option("--weighed", help="Your own item: batches as items=grams, one after the other.")
@click.option("--groups", type=int, default=7, show_default=True, help="Boats to test.")
@click.option(
    "--capacity-g", type=float, default=USUAL_CAPACITY_G, show_default=True, help="Median boat's."
)
@click.option(
    "--spread", type=float, default=USUAL_SPREAD, show_default=True, help="How far boats differ."
)
@click.option("--hull-ml", type=float, help="What a boat holds: does the load fit in?")
@click.option("--have", type=int, help="Items at hand.")
@click.option("--tubs", type=int, default=1, show_default=True, help="Side by side.")
@click.option(
    "--reset-every", type=int, default=1, show_default=True, help="Boats between two resets."
)
@click.option("--assurance", type=float, default=0.95, show_default=True, help="How sure.")
@click.option("--region", type=click.Choice(REGIONS), help="Leave out other countries' coins.")
@click.option("--setup", "setup_file", type=click.Path(path_type=Path), help="The rig file.")
@data_dir_option
@json_option
def stock(
    name: str | None,
    weighed: str | None,
    groups: int,
    capacity_g: float,
    spread: float,
    hull_ml: float | None,
    have: int | None,
    tubs: int,
    reset_every: int,
    assurance: float,
    region: str | None,
    setup_file: Path | None,
    data_dir: Path | None,
    as_json: bool,
) -> None:
    """Which weights to use, how many a class needs, and what to mind about them."""
    if name and weighed:
        raise RigError("Both an item and weighings are given.", "Leave one of them out.")
    if hull_ml is not None and not hull_ml > 0:
        raise RigError(
            f"A hull of {hull_ml:g} ml holds nothing.", "Fill one and measure the water."
        )
    boats = Boats(groups, capacity_g, spread)
    setup = _setup(setup_file, data_folder(data_dir))

    def planned(item_g: float) -> Stock:
        return plan_stock(boats, item_g, have, reset_every, assurance, tubs)

    told: dict[str, Any]
    if weighed:
        own = own_mass(weighings_from_text(weighed), WEIGHING_G_SD)
        told = {
            "own_mass": asdict(own),
            "stock": asdict(planned(own.mass_g)),
            "weighable": _weighable(setup, "item", own.mass_g),
            "words": [*own_lines(own), *stock_lines(planned(own.mass_g), boats)],
        }
    elif name:
        item = find_item(name)
        told = _item_told(item, planned(item.mass_g), boats, setup, hull_ml)
    else:
        rows = [item for item in everyday_items() if region is None or item.region in ("", region)]
        table = [_item_told(item, planned(item.mass_g), boats, setup, hull_ml) for item in rows]
        told = {"items": table, "words": []}
        if not as_json:
            _print_table(table, boats)
            return
    if as_json:
        print_json(told)
        return
    for line in told["words"]:
        click.echo(line)


def stock_lines(stock: Stock, boats: Boats) -> list[str]:
    """Return how many are needed, and what a shortage does, in plain lines."""
    every = "each boat" if stock.reset_every == 1 else f"every {stock.reset_every} boats"
    lines = [
        f"{stock.needed} items ({stock.needed_g:.0f} g) are enough for {boats.groups} boats,"
        f" {stock.assurance:.0%} sure, if they go back on the tray after {every}."
    ]
    if stock.boats_between:
        boat = "1 boat" if stock.boats_between == 1 else f"{stock.boats_between} boats"
        lines.append(f"{stock.have} items last for {boat} in a row without a reset.")
    if stock.have < stock.needed:
        lines.append(
            f"With {stock.have} items, {stock.short_boats:.1f} boats of a class run out of items,"
            f" and {stock.short_class:.0%} of classes meet that. Those boats stay afloat: they are"
            " known to carry that much, not how much more. Add heavier items for the last ones."
        )
    return lines


def own_lines(own: OwnMass) -> list[str]:
    """Return what the weighings say, and what to write into the rig file."""
    lines = [
        f"One item weighs {own.mass_g:.3f} g (+-{2 * own.mass_g_sd:.3f} g), from {own.items} items."
    ]
    if own.spread_g is None:
        lines.append("Weigh them in four batches or more to see how much they differ.")
        return lines
    lines.append(
        f"Single items differ by {own.spread_g:.3f} g (one sd; {own.spread_low_g:.3f} to"
        f" {own.spread_high_g:.3f})."
    )
    lines.append(
        f"In the rig file: [item] mass_g = {own.mass_g:.4f}, mass_sd_g = {own.spread_g:.4f}"
    )
    return lines


def item_lines(item: EverydayItem) -> list[str]:
    """Return what to know of an everyday item."""
    return [
        f"{item.name}: {item.mass_g:g} g ({item.low_g:g} to {item.high_g:g} g). {item.source};"
        f" {item.how}.",
        f"A heap of 100 takes {100 * item.mass_g / item.bulk_g_ml:.0f} ml. In water it"
        f" {WATER[item.water]}; a wet one carries about {item.wet_g:.2f} g of water.",
        *(f"Mind: {HAZARDS[hazard]}." for hazard in item.hazards),
    ]


def _item_told(
    item: EverydayItem,
    stock: Stock,
    boats: Boats,
    setup: RigSetup | None,
    hull_ml: float | None,
) -> dict[str, Any]:
    weighable = _weighable(setup, item.name, item.mass_g)
    words = [*item_lines(item), *stock_lines(stock, boats)]
    full = None if hull_ml is None else heap_ml(boats.capacity_g, item) / hull_ml
    if full is not None:
        stands = "stands out above the rim: take denser ones" if full > 1 else "fits in"
        words.append(f"A load of {boats.capacity_g:g} g fills {full:.0%} of the hull: it {stands}.")
    if weighable:
        words.append(f"{weighable['says']} {weighable['do']}".strip())
    return {
        "item": {
            **asdict(item),
            "spread_g": item.spread_g,
            "bulk_g_ml": item.bulk_g_ml,
            "wet_g": item.wet_g,
        },
        "stock": asdict(stock),
        "weighable": weighable,
        "hull_full": full,
        "words": words,
    }


def _weighable(setup: RigSetup | None, name: str, mass_g: float) -> dict[str, Any] | None:
    """Whether this rig tells one item; None without a rig file."""
    if setup is None:
        return None
    other = setup.model_copy(update={"item": Item(name=name[:40], mass_g=mass_g)})
    found = next(f for f in findings(other) if isinstance(f, ItemFinding))
    return {"ok": found.ok, "says": found.says, "do": "" if found.ok else found.do}


def _setup(setup_file: Path | None, folder: Path) -> RigSetup | None:
    if setup_file is None and not (folder / RIG_FILE).exists():
        return None
    return read_setup(setup_file or folder / RIG_FILE)


def _print_table(table: list[dict[str, Any]], boats: Boats) -> None:
    click.echo(
        f"For {boats.groups} boats, the median one carrying {boats.capacity_g:g} g (common"
        " practice until you give your own):"
    )
    click.echo("item                      one item    differ by    needed   heap of 100   mind")
    for row in table:
        item, stock = row["item"], row["stock"]
        told = " ".join(item["hazards"]) + (
            "  (not weighable one by one)"
            if row["weighable"] and not row["weighable"]["ok"]
            else ""
        )
        click.echo(
            f"{item['name']:<24}{item['mass_g']:8.2f} g{item['spread_g']:10.2f} g"
            f"{stock['needed']:10d}{100 * item['mass_g'] / item['bulk_g_ml']:10.0f} ml   {told}"
        )
