"""`tubrig demo`: a simulated rig on a pseudo-terminal, and a class of invented groups."""

import tempfile
from pathlib import Path

import click

from rig.cli.house import play_class, server_options
from rig.cli.output import json_option
from rig.records import records_file
from rig.simulator import DemoClass


@click.command()
@server_options
@click.option(
    "--speed",
    type=click.FloatRange(0.1, 20.0),
    default=1.0,
    show_default=True,
    help="How many times faster than a real class.",
)
@click.option(
    "--data-dir",
    type=click.Path(path_type=Path, file_okay=False),
    help="Keep the invented trials here. [default: a folder that goes away at the end]",
)
@json_option
def demo(
    host: str, port: int, pin: str | None, speed: float, data_dir: Path | None, as_json: bool
) -> None:
    """Show it all without hardware: invented groups take their turn until you stop it."""
    with tempfile.TemporaryDirectory(prefix="tubrig-demo-") as passing:
        records = records_file(data_dir or Path(passing))
        play_class(DemoClass(), speed, records, host=host, port=port, pin=pin, as_json=as_json)
