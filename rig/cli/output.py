"""What commands share: `--json`, and where the kept trials are."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from rig.errors import RigError

json_option = click.option("as_json", "--json", is_flag=True, help="Print JSON.")
data_dir_option = click.option(
    "data_dir",
    "--data-dir",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of the kept trials. [default: the platform's, or TUBRIG_DATA]",
)
file_argument = click.Path(path_type=Path, dir_okay=False)


def print_json(data: Any) -> None:
    """Print JSON with floats to their last digit; nothing that JSON cannot say."""
    click.echo(json.dumps(data, indent=2, allow_nan=False, ensure_ascii=False))


def number_option(key: str, words: str) -> Callable[[Any], Any]:
    """An option `--length-mm` for a measure `length_mm`."""
    return click.option(f"--{key.replace('_', '-')}", key, type=float, help=words)


def save(path: Path, text: str) -> None:
    """Write a file, whole or not at all. Raises RigError."""
    part = path.with_name(path.name + ".part")
    try:
        part.write_text(text, encoding="utf-8")
        part.replace(path)
    except OSError as err:
        raise RigError(
            f"Cannot write {path}: {err.strerror}.", "Name a file in a folder that is yours."
        ) from err
