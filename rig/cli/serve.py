"""`tubrig serve`: the real rig and its pages."""

from pathlib import Path

import click

from rig.cli.house import DEFAULT_PORT, LOOPBACK, House
from rig.cli.output import data_dir_option, file_argument, json_option
from rig.errors import RigError
from rig.records import records_file
from rig.sensing.serial_source import SerialSource
from rig.sensing.source import Source
from rig.setup import RigSetup, read_boats, read_setup


@click.command(epilog="Example: tubrig serve --setup rig.toml --boats boats.toml --host 0.0.0.0")
@click.option("--setup", "setup_file", type=file_argument, required=True, help="The rig file.")
@click.option("--boats", "boats_file", type=file_argument, help="The boats file.")
@click.option("--host", default=LOOPBACK, show_default=True, help="0.0.0.0 for the whole network.")
@click.option("--port", default=DEFAULT_PORT, show_default=True, help="0 takes a free one.")
@click.option("--pin", help="Of the Desk. [default: none on this machine, else a new one]")
@data_dir_option
@json_option
def serve(
    setup_file: Path,
    boats_file: Path | None,
    host: str,
    port: int,
    pin: str | None,
    data_dir: Path | None,
    as_json: bool,
) -> None:
    """Run the rig that a rig file describes, with Board and Desk."""
    setup = read_setup(setup_file)
    boats = read_boats(boats_file) if boats_file else {}
    source = _source(setup)
    house = House(
        setup, boats.values(), source, records_file(data_dir), host=host, port=port, pin=pin
    )
    house.say_address(as_json)
    house.run()


def _source(setup: RigSetup) -> Source:
    kind, _, port = setup.rig.source.partition(":")
    if kind == "serial":
        return SerialSource(port)
    if kind == "demo":
        raise RigError(
            'This rig file says source = "demo".',
            'Run `tubrig demo`, or give source = "serial:/dev/ttyACM0".',
        )
    raise RigError(
        "Reading straight from the pins is not built yet.",
        'Use a microcontroller on USB, source = "serial:/dev/ttyACM0".',
    )
