"""Which rig and which boats: the options, and the files behind them."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import click

from rig.cli.output import file_argument
from rig.errors import RigError
from rig.setup import Boat, RigSetup, read_boats, read_setup

RIG_FILE, BOATS_FILE = "rig.toml", "boats.toml"


boats_option = click.option(
    "--boats",
    "boats_file",
    type=file_argument,
    help=f"The boats file. [default: {BOATS_FILE} in the data folder, if any]",
)


def rig_file_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """`--setup` and `--boats`, for commands that find both in the data folder otherwise."""
    words = f"The rig file. [default: {RIG_FILE} in the data folder]"
    setup = click.option("--setup", "setup_file", type=file_argument, help=words)
    return setup(boats_option(command))


def rig_file_path(setup_file: Path | None, folder: Path) -> Path:
    """Return the rig file named, or the one in the data folder. Raises RigError without one."""
    if setup_file is not None:
        return setup_file
    if not (folder / RIG_FILE).exists():
        raise RigError(
            f"There is no rig file at {folder / RIG_FILE}.",
            "Put one there, or name it with --setup.",
        )
    return folder / RIG_FILE


def read_rig_files(
    setup_file: Path | None, boats_file: Path | None, folder: Path
) -> tuple[RigSetup, Mapping[str, Boat]]:
    """Return the files named, or those in the data folder. Raises SetupInvalid, RigError."""
    setup_file = rig_file_path(setup_file, folder)
    if boats_file is None and (folder / BOATS_FILE).exists():
        boats_file = folder / BOATS_FILE
    return read_setup(setup_file), read_boats(boats_file) if boats_file else {}
