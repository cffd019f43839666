"""`tubrig serve`: the rig that a rig file describes, and its pages."""

from collections.abc import Mapping
from pathlib import Path

import click

from rig.cli.house import DEFAULT_PORT, LOOPBACK, House, play_class
from rig.cli.output import data_dir_option, file_argument, json_option
from rig.errors import RigError
from rig.records import data_folder, records_file
from rig.sensing.serial_source import SerialSource
from rig.setup import Boat, RigSetup, read_boats, read_setup
from rig.simulator import DemoClass

RIG_FILE, BOATS_FILE = "rig.toml", "boats.toml"


@click.command(epilog="Example: tubrig serve --setup rig.toml --boats boats.toml --host 0.0.0.0")
@click.option(
    "--setup",
    "setup_file",
    type=file_argument,
    help="The rig file. [default: rig.toml in the data folder]",
)
@click.option(
    "--boats",
    "boats_file",
    type=file_argument,
    help="The boats file. [default: boats.toml there, if any]",
)
@click.option("--host", default=LOOPBACK, show_default=True, help="0.0.0.0 for the whole network.")
@click.option(
    "--port",
    type=click.IntRange(0, 65_535),
    default=DEFAULT_PORT,
    show_default=True,
    help="0 takes a free one.",
)
@click.option("--pin", help="Of the Desk. [default: none on this machine, else a new one]")
@data_dir_option
@json_option
def serve(
    setup_file: Path | None,
    boats_file: Path | None,
    host: str,
    port: int,
    pin: str | None,
    data_dir: Path | None,
    as_json: bool,
) -> None:
    """Run the rig that a rig file describes, with Board and Desk."""
    setup, boats = _files(setup_file, boats_file, data_folder(data_dir))
    records = records_file(data_dir)
    kind, _, name = setup.rig.source.partition(":")
    if kind == "demo":
        group = DemoClass.with_rig(setup, boats)
        play_class(group, 1.0, records, host=host, port=port, pin=pin, as_json=as_json)
        return
    if kind == "gpio":
        raise RigError(
            "Reading straight from the pins is not built yet.",
            'Use a microcontroller on USB, source = "serial:/dev/ttyACM0".',
        )
    source = SerialSource(name)
    house = House(setup, boats.values(), source, records, host=host, port=port, pin=pin)
    house.say_address(as_json)
    house.run()


def _files(
    setup_file: Path | None, boats_file: Path | None, folder: Path
) -> tuple[RigSetup, Mapping[str, Boat]]:
    """The files named, or those in the data folder. Raises SetupInvalid, RigError."""
    if setup_file is None:
        setup_file = folder / RIG_FILE
        if not setup_file.exists():
            raise RigError(
                f"There is no rig file at {setup_file}.", "Put one there, or name it with --setup."
            )
    if boats_file is None and (folder / BOATS_FILE).exists():
        boats_file = folder / BOATS_FILE
    return read_setup(setup_file), read_boats(boats_file) if boats_file else {}
