"""`tubrig serve`: the rig that a rig file describes, and its pages."""

import sys
from pathlib import Path

import click

from rig.cli.house import House, play_class, server_options
from rig.cli.output import data_dir_option, file_argument, json_option
from rig.cli.rigfiles import BOATS_FILE, RIG_FILE, boats_option, read_rig_files, rig_file_path
from rig.cli.tubs import serve_side_by_side
from rig.cli.unit import HOME, unit_text
from rig.errors import RigError
from rig.records import data_folder, records_file
from rig.sensing.pins.source import pin_source
from rig.sensing.serial_source import SerialSource
from rig.setup import read_setup
from rig.simulator import DemoClass


@click.command(epilog="Example: tubrig serve --setup rig.toml --boats boats.toml --host 0.0.0.0")
@click.option(
    "--setup",
    "setup_files",
    type=file_argument,
    multiple=True,
    help="The rig file; given several times, up to four tubs stand side by side on one Board."
    " [default: rig.toml in the data folder]",
)
@boats_option
@server_options
@click.option("--unit", is_flag=True, help="Print a systemd unit for this, and how to install it.")
@data_dir_option
@json_option
def serve(
    setup_files: tuple[Path, ...],
    boats_file: Path | None,
    host: str,
    port: int,
    pin: str | None,
    unit: bool,
    data_dir: Path | None,
    as_json: bool,
) -> None:
    """Run the rig that a rig file describes, with Board and Desk."""
    setup_file = setup_files[0] if setup_files else None
    if unit:
        given = ["serve", "--host", host, "--port", str(port), *(["--pin", pin] if pin else [])]
        files = [*(setup_files or (Path(RIG_FILE),)), boats_file or Path(BOATS_FILE)]
        if len({path.name for path in files}) < len(files):
            raise RigError("Two of these files have the same name.", "Rename one.")
        for path in setup_files:
            given += ["--setup", str(HOME / path.name)]
        if boats_file:
            given += ["--boats", str(HOME / boats_file.name)]
        pins = any(read_setup(path).rig.source == "gpio" for path in setup_files)
        program = Path(sys.executable).with_name("tubrig")
        click.echo(unit_text(program, given, pins, [str(path) for path in files]), nl=False)
        return
    if len(setup_files) > 1:
        more = ["--boats", str(boats_file)] if boats_file else []
        more += ["--data-dir", str(data_dir)] if data_dir else []
        serve_side_by_side(setup_files, more, host=host, port=port, pin=pin, as_json=as_json)
        return
    setup, boats = read_rig_files(setup_file, boats_file, data_folder(data_dir))
    records = records_file(data_dir)
    kind, _, name = setup.rig.source.partition(":")
    if kind == "demo":
        group = DemoClass.with_rig(setup, boats)
        play_class(group, 1.0, records, host=host, port=port, pin=pin, as_json=as_json)
        return
    source = pin_source(setup) if kind == "gpio" else SerialSource(name)
    rig_file = rig_file_path(setup_file, data_folder(data_dir))
    house = House(
        setup,
        boats.values(),
        source,
        records,
        host=host,
        port=port,
        pin=pin,
        rig_file=rig_file,
    )
    house.say_address(as_json)
    house.run()
