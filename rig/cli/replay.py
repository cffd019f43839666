"""`tubrig replay`: a recording through the trial engine."""

from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import click

from rig.cli.output import data_dir_option, file_argument, json_option, print_json
from rig.errors import RigError
from rig.sensing.recording import read_recording
from rig.sensing.stream import LineCount, Stream
from rig.setup import Boat, RigSetup, boat_from_dict, read_boats, read_setup
from rig.trial.engine import TrialEngine
from rig.trial.events import Corrected, Ended, LoadSource, TrialResult


@click.command(epilog="Example: tubrig replay a.rec --setup rig.toml --boats boats.toml --json")
@click.argument("recording", type=file_argument, required=False)
@click.option("--setup", "setup_file", type=file_argument, help="The rig file it was made with.")
@click.option("--boats", "boats_file", type=file_argument, help="The boats file.")
@click.option("--trial", "number", type=int, help="A kept trial instead, with its own set-up.")
@data_dir_option
@json_option
def replay(
    recording: Path | None,
    setup_file: Path | None,
    boats_file: Path | None,
    number: int | None,
    data_dir: Path | None,
    as_json: bool,
) -> None:
    """Run a recording, or a kept trial, through the engine again."""
    if (recording is None) == (number is None):
        raise RigError("Which recording?", "Name a .rec file, or a kept trial with --trial.")
    if recording is not None:
        if setup_file is None:
            raise RigError("A recording needs its rig file.", "Add --setup rig.toml.")
        setup = read_setup(setup_file)
        boats = read_boats(boats_file) if boats_file else {}
        results, lines = replayed(read_recording(recording), setup, boats)
    else:
        results, lines = _kept(number or 0, data_dir)
    if as_json:
        print_json(told(results, lines))
        return
    for result in results:
        _print(result)
    skipped = sum(lines.skipped.values())
    click.echo(f"{lines.data} rows read, {lines.lost} lost, {skipped} lines skipped.")


def replayed(
    chunks: Iterable[bytes], setup: RigSetup, boats: Mapping[str, Boat]
) -> tuple[list[TrialResult], LineCount]:
    """Return the results of all trials in a recording, as corrected, and what its lines were."""
    stream, engine = Stream(), TrialEngine(setup, boats)
    events = []
    for chunk in chunks:
        for item in stream.feed(chunk):
            events += engine.feed(item)
    for item in stream.finish():
        events += engine.feed(item)
    events += engine.finish()
    results: list[TrialResult] = []
    for event in events:
        if isinstance(event, Ended):
            results.append(event.result)
        elif isinstance(event, Corrected):
            results[-1] = event.result
    return results, stream.count


def _kept(number: int, data_dir: Path | None) -> tuple[list[TrialResult], LineCount]:
    """A trial of the records, with the set-up and boat it ran with."""
    from rig.records import Store, records_file  # a database is half of the start-up time

    with Store.open(records_file(data_dir)) as store:
        row = store.trial(number)
        boat = boat_from_dict(row.boat)
        setup = RigSetup.model_validate(row.setup)
        return replayed([store.recording(row.id)], setup, {boat.label: boat})


def told(results: list[TrialResult], lines: LineCount) -> dict[str, Any]:
    """The JSON of `tubrig replay`."""
    return {"trials": [result.as_dict() for result in results], "lines": lines.as_dict()}


def sources(result: TrialResult) -> list[str]:
    """Where its numbers came from, in words."""
    lines = []
    counted = sum(a.items or 0 for a in result.additions if a.source is LoadSource.COUNT)
    if counted:
        lines.append(f"{counted} of the items aboard were counted by hand, the rest weighed")
    methods = Counter(point.method for point in result.curve if point.method is not None)
    if methods:
        told = ", ".join(f"{method.value} ({n})" for method, n in methods.most_common())
        lines.append(f"freeboard by {told}")
    return lines


def _print(result: TrialResult) -> None:
    items = "" if result.held_items is None else f"{result.held_items} items, "
    click.echo(f"{result.boat}: {result.outcome.value}. {result.reason}")
    click.echo(f"  carried {items}{result.held_g:.1f} g (+-{result.held_g_sd:.2f} g)")
    if result.predicted_capacity_g is not None:
        click.echo(f"  predicted {result.predicted_capacity_g:.1f} g")
    if result.sunk_at_s is not None:
        click.echo(f"  the rim went under {result.sunk_at_s:.1f} s after the start")
    for source in sources(result):
        click.echo(f"  {source}")
    for correction in result.corrections:
        click.echo(f"  corrected: {correction}")
    for warning in result.warnings:
        click.echo(f"  note: {warning}")
