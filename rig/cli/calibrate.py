"""`tubrig calibrate`: step by step from known masses, heights and jugs to the rig file."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from rig.cli.bench import Wanted, bench_options, run
from rig.cli.output import json_option
from rig.sensing.procedures.height_job import RULER_MM
from rig.sensing.procedures.known import EXAMPLES


@click.group(no_args_is_help=False)
def calibrate() -> None:
    """Find a rig's zero, span, heights and level-volume table, with how sure they are."""


def _options(command: Callable[..., Any]) -> Callable[..., Any]:
    plot = click.option(
        "--plot",
        type=click.Path(path_type=Path, dir_okay=False),
        help="Write a page with the deviations to this file (.html).",
    )
    write = click.option(
        "--write", is_flag=True, help="Put the result into the rig file; the old one is kept."
    )
    return bench_options(plot(write(json_option(command))))


@calibrate.command(
    epilog='Example: tubrig calibrate load --mass "M2 200 g" --mass "M2 500 g" --mass'
    ' "20 x EUR 2 euro"'
)
@click.option("masses", "--mass", multiple=True, help=f"One known mass: {EXAMPLES}.")
@click.option("--rounds", type=click.IntRange(1, 5), default=1, show_default=True)
@click.option("--creep/--no-creep", default=True, help="Watch the largest for a minute.")
@_options
def load(masses: tuple[str, ...], rounds: int, creep: bool, **common: Any) -> None:
    """The load cell, by known masses up and down; two at least, four or five are better."""
    run(Wanted(**common), "load", {"masses": list(masses), "rounds": rounds, "creep": creep})


def _height_options(command: Callable[..., Any]) -> Callable[..., Any]:
    for option in (
        click.option("--down/--no-down", default=True, help="Come back down as well."),
        click.option("--air-c", type=float, help="Air at an echo gauge. [default: the rig file's]"),
        click.option(
            "--ruler-mm",
            type=float,
            default=RULER_MM,
            show_default=True,
            help="How far a reading of the ruler may be off.",
        ),
        click.option(
            "heights", "--height-mm", type=float, multiple=True, help="One height, about."
        ),
    ):
        command = option(command)
    return _options(command)


@calibrate.command(epilog="Example: tubrig calibrate surface --height-mm 40 --height-mm 120")
@_height_options
def surface(
    heights: tuple[float, ...], ruler_mm: float, air_c: float | None, down: bool, **common: Any
) -> None:
    """The gauge above the water, by levels read from a ruler; type what the ruler says."""
    run(Wanted(**common), "surface", _height(heights, ruler_mm, air_c, down))


@calibrate.command(epilog="Example: tubrig calibrate rim --height-mm 100 --height-mm 250")
@_height_options
def rim(
    heights: tuple[float, ...], ruler_mm: float, air_c: float | None, down: bool, **common: Any
) -> None:
    """The gauge above the flag, by heights read from a ruler."""
    run(Wanted(**common), "rim", _height(heights, ruler_mm, air_c, down))


def _height(
    heights: tuple[float, ...], ruler_mm: float, air_c: float | None, down: bool
) -> dict[str, Any]:
    return {"heights": list(heights), "ruler_mm": ruler_mm, "air_c": air_c, "down": down}


@calibrate.command(
    epilog="Example: tubrig calibrate tub --jug-ml 1000 --off-ml 10 --jugs 2 --jugs 4 --jugs 6"
)
@click.option("--jug-ml", type=float, default=1000.0, show_default=True, help="One full jug.")
@click.option("--off-ml", type=float, help="How far a jug may be off. [default: a hundredth]")
@click.option("--jugs", type=float, multiple=True, help="Read the level after so many in all.")
@_options
def tub(jug_ml: float, off_ml: float | None, jugs: tuple[float, ...], **common: Any) -> None:
    """The tub's table of level and volume, by jugs poured in."""
    run(Wanted(**common), "tub", {"jug_ml": jug_ml, "off_ml": off_ml, "jugs": list(jugs)})
