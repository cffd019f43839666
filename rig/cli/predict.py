"""`tubrig predict`: what a hull will carry."""

from collections.abc import Iterator
from pathlib import Path
from textwrap import wrap
from typing import Any

import click

from rig.cli.boat_options import boat_from, boat_options
from rig.cli.output import file_argument, json_option, number_option, print_json, save
from rig.errors import OutOfRange
from rig.physics.water import ROOM_C
from rig.setup import Item
from rig.trial.foretold import Foretold, Heap, foretell

WORKED = (
    "--hull box --length-mm 150 --beam-mm 100 --depth-mm 40 --mass-g 20 --item-g 2.5",
    "--hull tray --length-mm 180 --beam-mm 120 --bottom-length-mm 140 --bottom-beam-mm 80"
    " --depth-mm 35 --mass-g 18",
    "--hull dish --diameter-mm 160 --bottom-diameter-mm 100 --depth-mm 45 --mass-g 15",
    "--hull bowl --diameter-mm 120 --depth-mm 50 --mass-g 90",
    "--hull trough --length-mm 160 --beam-mm 90 --depth-mm 45 --mass-g 25",
    "--hull vee --length-mm 160 --beam-mm 90 --depth-mm 45 --mass-g 22",
    "--hull tubes --count 12 --diameter-mm 12 --length-mm 200 --mass-g 20",
    "--hull raft --length-mm 200 --beam-mm 120 --depth-mm 25 --density-g-ml 0.03",
    "--hull brimful --length-mm 170 --beam-mm 110 --depth-mm 40 --held-ml 480 --mass-g 16",
    "--hull twin --each box --length-mm 160 --beam-mm 45 --depth-mm 40 --spacing-mm 110"
    " --mass-g 30",
    "--hull sections --section 0:120x60 --section 20:140x70 --section 40:150x80 --mass-g 20",
    "--hull mesh --stl boat.stl --mass-g 20",
)
_END_WORDS = {
    "rim under": "then the low rim meets the water",
    "turns over": "then it turns over",
    "slides": "then the load slides",
}


def _epilog() -> str:
    """The worked lines, broken where a shell takes them as one."""
    lines = [f"tubrig predict {line}" for line in (*WORKED, "--boats boats.toml --label Otters")]
    pairs = (line.replace(" ", "\0").replace("\0--", " --") for line in lines)  # kept together
    broken = (" \\\n    ".join(wrap(line, 74, break_on_hyphens=False)) for line in pairs)
    return "One of each family, and a boat of a file:\n\n\b\n" + "\n".join(broken).replace(
        "\0", " "
    )


@click.command(epilog=_epilog())
@boat_options
@click.option("--item-g", type=float, help="One item, to count in items.")
@click.option("--water-c", type=float, help=f"Water temperature. [default: about {ROOM_C:g}]")
@number_option("pile_mm2", "The load is piled up on so much; spread over the bottom if not given.")
@number_option("bulk_g_ml", "Mass of a heap of items over its room; washers have 4.")
@click.option("--html", type=file_argument, help="Save it as a page with curve and drawing.")
@json_option
def predict(
    item_g: float | None,
    water_c: float | None,
    pile_mm2: float | None,
    bulk_g_ml: float | None,
    html: Path | None,
    as_json: bool,
    **boat: Any,
) -> None:
    """What a boat will carry by Archimedes' law, its own mass taken off.

    Level rim, and the range up to a dry rim that holds water back; how sure; whether it fills or
    tips first.
    """
    if item_g is not None and not 0 < item_g < 1e6:
        raise OutOfRange(f"An item of {item_g:g} g cannot be.", "Weigh one and give grams.")
    item = None if item_g is None else Item(name="item", mass_g=item_g)
    heap = Heap(pile_mm2=pile_mm2) if bulk_g_ml is None else Heap(bulk_g_ml, pile_mm2)
    found = foretell(boat_from(**boat), item, water_c, heap)
    told = {**found.as_dict(), "water_c": ROOM_C if water_c is None else water_c}
    if html is not None:
        from dashboard.saved import prediction_page  # only who wants a page loads its templates

        hull = found.boat.hull
        save(html, prediction_page(told, hull, found.boat.label or hull.family.capitalize()))
    if as_json:
        print_json(told)
        return
    for line in _lines(found):
        click.echo(line)
    if html is not None:
        click.echo(f"Saved: {html}")


def _lines(found: Foretold) -> Iterator[str]:
    prediction, doubt = found.prediction, found.bill
    yield f"It carries {prediction.capacity_g:.1f} g{_in_items(prediction.capacity_items)}."
    yield (
        f"Up to {prediction.held_back_g:.1f} g while a clean dry rim holds back"
        f" {prediction.held_back_mm:.1f} mm of water."
    )
    counted = "" if found.likely_items is None else ", {} to {} items".format(*found.likely_items)
    yield f"Nine times in ten {doubt.low_g:.0f} to {doubt.high_g:.0f} g{counted}."
    yield found.outlook.words
    yield (
        f"Empty it floats {found.empty.draft_mm:.1f} mm deep, its rim"
        f" {found.empty.freeboard_mm:.1f} mm above the water."
    )
    if found.stability:
        yield (
            f"Empty it stays upright while its centre of gravity is below KM ="
            f" {found.stability.km_mm:.1f} mm (KB {found.stability.kb_mm:.1f} + BM"
            f" {found.stability.bm_mm:.1f})."
        )
    for at in found.bears:
        yield (
            f"{at.load_g:.0f} g may lie {at.limit.limit_mm:.1f} mm to the side;"
            f" {_END_WORDS[at.limit.end]}."
        )
    yield ""
    yield "where the doubt comes from        +- g   share"
    for line in doubt.lines:
        if line.sd_g > 0 or line.shift_g:
            yield f"{line.words:<32}{line.sd_g:6.1f}{line.share:8.0%}"
    yield ""
    yield "    load      draft  freeboard"
    for point in found.points:
        yield f"{point.load_g:8.1f} g {point.draft_mm:7.1f} mm {point.freeboard_mm:7.1f} mm"


def _in_items(items: int | None) -> str:
    return "" if items is None else f", which is {items} whole items"
