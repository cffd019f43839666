"""`tubrig check rig`: one known mass, corners, repeatability, creep and zero return."""

from typing import Any

import click

from rig.cli.bench import Wanted, bench_options, run
from rig.cli.output import json_option
from rig.sensing.procedures.known import EXAMPLES


@click.command(epilog='Example: tubrig check rig --mass "M2 500 g"')
@click.option("--mass", default="", help=f"The known mass, about a third of the most: {EXAMPLES}.")
@bench_options
@json_option
def rig(mass: str, **common: Any) -> None:
    """Is the scale right? One known mass, step by step; exit code 2: mend something."""
    run(Wanted(**common), "check", {"mass": mass})
