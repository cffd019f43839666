"""`tubrig check install`: is this machine ready, and do gauges, tub and item suit each other?"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from rig.cli.machine import check_machine
from rig.cli.output import data_dir_option, json_option, print_json
from rig.cli.rigfiles import read_rig_files, rig_file_options
from rig.records.place import data_folder
from rig.setup.fitness import USUAL_RATE_HZ, Readings, findings


def _above_0(_: click.Context, option: click.Parameter, value: float | None) -> float | None:
    if value is not None and not 0 < value < 1e6:
        raise click.BadParameter(f"{value:g} cannot be; give a number above 0.", param=option)
    return value


@click.command(epilog="Example: tubrig check install --setup rig.toml --boats boats.toml")
@rig_file_options
@click.option(
    "--surface-noise-mm",
    type=float,
    callback=_above_0,
    help="Measured noise (sd) of one reading. [default: 1 for an echo gauge, 0.5 for others]",
)
@click.option("--rim-noise-mm", type=float, callback=_above_0, help="The same of the rim gauge.")
@click.option(
    "--rate-hz",
    type=float,
    callback=_above_0,
    default=USUAL_RATE_HZ,
    show_default=True,
    help="Readings a second.",
)
@data_dir_option
@json_option
@click.pass_context
def install(
    ctx: click.Context,
    setup_file: Path | None,
    boats_file: Path | None,
    surface_noise_mm: float | None,
    rim_noise_mm: float | None,
    rate_hz: float,
    data_dir: Path | None,
    as_json: bool,
) -> None:
    """Port, disk, clock, and whether the gauges are fine enough; exit code 2: mend something."""
    folder = data_folder(data_dir)
    setup, boats = read_rig_files(setup_file, boats_file, folder)
    readings = Readings(surface_noise_mm, rim_noise_mm, rate_hz)
    found: list[dict[str, Any]] = [asdict(c) for c in check_machine(setup.rig.source, folder)]
    found += [f.as_dict() for f in findings(setup, boats.values(), readings)]
    if not (setup.surface or setup.rim):
        says = 'There is no distance gauge: tap "sunk" when a boat goes down.'
        found.append({"about": "gauges", "ok": True, "says": says, "do": ""})
    ok = all(finding["ok"] for finding in found)
    if as_json:
        print_json({"ok": ok, "findings": found})
    else:
        _print(found)
    if not ok:
        ctx.exit(2)


def _print(found: Sequence[Mapping[str, Any]]) -> None:
    """A line each; what is to be mended stands out, and is counted at the end."""
    for finding in found:
        mark = "ok  " if finding["ok"] else "MEND"
        click.echo(f"{mark}  {finding['says']} {finding['do']}".rstrip())
    to_mend = sum(not finding["ok"] for finding in found)
    things = "1 thing" if to_mend == 1 else f"{to_mend} things"
    click.echo(f"{things} to mend." if to_mend else "Ready for class.")
