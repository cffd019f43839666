"""`tubrig simulate`: a recording from a scenario, and the truth behind it."""

from dataclasses import replace
from pathlib import Path

import click

from rig.cli.output import file_argument, json_option, print_json
from rig.errors import RigError
from rig.sensing.recording import RecordingWriter
from rig.simulator import read_scenario, ready_made
from rig.simulator import simulate as played


@click.command(
    epilog="Example: tubrig simulate clean-box --out a.rec --setup rig.toml --boats b.toml"
)
@click.argument("scenario", required=False)
@click.option("--out", type=file_argument, help="Where the recording goes.")
@click.option("--setup", "setup_file", type=file_argument, help="Where its rig file goes.")
@click.option("--boats", "boats_file", type=file_argument, help="Where its boats file goes.")
@click.option("--seed", type=int, help="Another seed than the scenario's.")
@click.option("--force", is_flag=True, help="Write over files that are there.")
@json_option
def simulate(
    scenario: str | None,
    out: Path | None,
    setup_file: Path | None,
    boats_file: Path | None,
    seed: int | None,
    force: bool,
    as_json: bool,
) -> None:
    """Write a recording from a scenario file or a ready-made scenario; without one, list those."""
    if scenario is None:
        names = ready_made()
        print_json({"scenarios": names}) if as_json else click.echo("\n".join(names))
        return
    if out is None:
        raise RigError("Where should the recording go?", "Add --out a.rec.")
    script = read_scenario(scenario)
    if seed is not None:
        script = replace(script, seed=seed)
    recording, truth = played(script)
    with RecordingWriter(out, overwrite=force) as writer:
        writer.write(recording)
    if setup_file:
        _write(setup_file, script.setup_toml(), force)
    if boats_file:
        _write(boats_file, script.boats_toml(), force)
    if as_json:
        print_json(truth)
        return
    for trial in truth["trials"]:
        click.echo(f"{trial['boat']}: {trial['outcome']}, carried {trial['held_items']} items")
    click.echo(f"Simulated, invented data: {out}")


def _write(path: Path, text: str, force: bool) -> None:
    try:
        with open(path, "w" if force else "x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as err:
        raise RigError(f"{path} is there already.", "Choose another name, or add --force.") from err
    except OSError as err:
        raise RigError(f"Cannot write {path}: {err.strerror}.", "Choose another place.") from err
