"""Step by step at the command line: prompts, steady readings, the result. Thin: see `Workbench`."""

import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any, Final

import click

from rig.cli.output import data_dir_option, file_argument, print_json
from rig.cli.rigfiles import rig_file_path
from rig.errors import OutOfPlace, OutOfRange, RigError, SourceLost
from rig.records import data_folder
from rig.sensing.serial_source import SerialSource
from rig.sensing.source import Source
from rig.service.workbench import Workbench, again
from rig.setup import RigSetup, read_setup
from rig.setup.rigwrite import lines_for

FIRST_ROW_S: Final = 8.0  # a board that resets when its port is opened needs a few seconds
NO_ROW_S: Final = 5.0
LOOK_S: Final = 0.05


@dataclass(frozen=True)
class Wanted:
    """What all of these commands ask for."""

    setup_file: Path | None
    data_dir: Path | None
    port: str | None
    recording: Path | None
    note: str
    as_json: bool
    plot: Path | None = None
    write: bool = False


def bench_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of every procedure."""
    note = click.option("--note", default="", help="Your own words, kept with the result.")
    recording = click.option(
        "--recording", type=file_argument, help="Work out again what an earlier recording says."
    )
    port = click.option("--port", help="The board's port. [default: the rig file's]")
    setup = click.option(
        "--setup",
        "setup_file",
        type=file_argument,
        help="The rig file. [default: rig.toml in the data folder]",
    )
    return setup(port(recording(note(data_dir_option(command)))))


def run(wanted: Wanted, kind: str, options: Mapping[str, Any]) -> None:
    """Go through a procedure, print the result, write it if wanted; exit code 2: mend something.

    Raises RigError. What was measured is kept whatever happens.
    """
    path = rig_file_path(wanted.setup_file, data_folder(wanted.data_dir))
    setup = read_setup(path)
    if wanted.recording is not None:
        _again(wanted, kind, setup)
        return
    bench = Workbench(setup, path)
    bench.begin(kind, options, wanted.note)
    source = SerialSource(wanted.port or _port_of(setup))
    with _pumped(source, bench):
        try:
            _wait_for(lambda: bench.rows > 0, FIRST_ROW_S, source)
            _go_through(bench, source)
        finally:
            bench.give_up("")
            _stop(bench)
    told = bench.look()
    if wanted.write and told["outcome"] and "write" in told["can"]:
        bench.write()
        told = bench.look()
    bench.leave()
    _show(wanted, told)
    if wanted.write and not told["in_use"]:
        why = "the points contradict each other" if told["outcome"] else "there is no result"
        raise OutOfPlace(f"Nothing was written: {why}.", "Take what was named above again.")
    if not (told["outcome"] and told["outcome"]["ok"]):
        click.get_current_context().exit(2)


def _port_of(setup: RigSetup) -> str:
    kind, _, name = setup.rig.source.partition(":")
    if kind != "serial":
        raise RigError(
            f'The rig file\'s source is "{setup.rig.source}", which is no port.',
            "Name the board's port with --port.",
        )
    return name


@contextmanager
def _pumped(source: Source, bench: Workbench) -> Iterator[None]:
    """Hand on what the board says, in a thread of its own, while we wait for keys."""
    stopping = threading.Event()

    def pump() -> None:
        while not stopping.is_set():
            bench.heard(source.read())

    thread = threading.Thread(target=pump, name="rig", daemon=True)
    thread.start()
    try:
        yield
    finally:
        stopping.set()
        source.close()
        thread.join(timeout=3)


def _wait_for(there: Callable[[], bool], longest_s: float, source: Source) -> None:
    until_s = time.monotonic() + longest_s
    while not there():
        if time.monotonic() > until_s:
            raise SourceLost("No readings from the board.", source.status.text)
        time.sleep(LOOK_S)


def _go_through(bench: Workbench, source: Source) -> None:
    """Ask, wait, show, until done or stopped."""
    shown = 0
    keys = "Enter: ready.  r: take the last one again.  q: stop here, nothing is lost."
    click.echo(keys, err=True)
    while True:
        told = bench.look()
        for one in told["taken"][shown:]:
            click.echo(f"      {one['known']}: {one['shows']}", err=True)
        shown = len(told["taken"])
        if told["trouble"]:
            click.echo(f"      {told['trouble']}", err=True)
        if told["phase"] == "done":
            if _asked("Done. Enter: the result.  r: take the last one again.") != "r":
                return
            bench.press("redo")
        elif told["phase"] == "asking":
            if not _next(bench, told):
                return
            _read(bench, source)
        shown = min(shown, len(bench.look()["taken"]))


def _next(bench: Workbench, told: Mapping[str, Any]) -> bool:
    """Prompt for one step and press what was typed; False to stop."""
    field = f"  ({told['field']}: {told['known']})" if told["field"] else ""
    typed = _asked(f"{told['number']}/{told['steps']}  {told['asks']}{field}")
    if typed is None or typed.lower() == "q":
        return False
    try:
        if typed.lower() == "r":
            bench.press("redo")
        else:
            bench.press("ready", typed)
    except (OutOfPlace, OutOfRange) as err:
        click.echo(f"      {err}", err=True)
    return True


def _asked(words: str) -> str | None:
    """One line from the person; None at the end of the input."""
    click.echo(f"{words} > ", err=True, nl=False)
    line = sys.stdin.readline()
    return line.strip() if line else None


def _read(bench: Workbench, source: Source) -> None:
    """Wait for the reading; ask again when the board says nothing for too long."""
    rows, since_s = bench.rows, time.monotonic()
    while bench.look()["phase"] == "reading":
        if bench.rows != rows:
            rows, since_s = bench.rows, time.monotonic()
        elif time.monotonic() - since_s > NO_ROW_S:
            bench.give_up(f"No readings from the board. {source.status.text}")
        time.sleep(LOOK_S)


def _stop(bench: Workbench) -> None:
    if bench.open:
        bench.press("stop")


def _again(wanted: Wanted, kind: str, setup: RigSetup) -> None:
    """The result of a kept recording."""
    assert wanted.recording is not None, "asked for"
    session, about = again(wanted.recording, setup)
    if about["kind"] != kind:
        raise RigError(
            f'{wanted.recording} is a recording of "{about["kind"]}".', "Use that command instead."
        )
    outcome = session.outcome()
    told = {**session.view(), "outcome": outcome.as_dict(), "outcome_trouble": "", "in_use": ""}
    lines = lines_for(outcome.sets) if outcome.sets else ""
    _show(wanted, {**told, "lines": lines, "kept": str(wanted.recording), "can": []})
    if not outcome.ok:
        click.get_current_context().exit(2)


def _show(wanted: Wanted, told: Mapping[str, Any]) -> None:
    """The result, for people or programs."""
    outcome = told["outcome"]
    if wanted.plot is not None and outcome and outcome["figure"]:
        _plot(wanted.plot, outcome["figure"])
    if wanted.as_json:
        keys = ("kind", "steps", "outcome", "outcome_trouble", "lines", "kept", "in_use")
        print_json({key: told[key] for key in keys})
        return
    if outcome is None:
        click.echo(told["outcome_trouble"])
    else:
        _print(outcome)
    if told["in_use"]:
        click.echo(told["in_use"])
    elif told["lines"]:
        click.echo("\nFor the rig file (--write puts them in and keeps the old file):\n")
        click.echo(told["lines"])
    if told["kept"]:
        click.echo(f"Kept in {told['kept']}")


def _print(outcome: Mapping[str, Any]) -> None:
    for line in outcome["says"]:
        click.echo(line)
    for row in outcome["rows"]:
        off = f"{row['off']:+10.3g}" if "off" in row else f"{row.get('reads_g', 0.0):10.3f} g"
        click.echo(f"  {row['number']:3d}  {row['words']:<34} {off}")
    for finding in outcome["findings"]:
        mark = "ok  " if finding["ok"] else "MEND"
        click.echo(f"{mark}  {finding['says']} {finding['do']}".rstrip())


def _plot(path: Path, figure: Mapping[str, Any]) -> None:
    """A page that needs nothing else. plotly is heavy, so it comes only when asked for."""
    write_html = import_module("plotly.io").write_html

    try:
        write_html(dict(figure), path, include_plotlyjs=True, validate=False)
    except OSError as err:
        raise RigError(
            f"Cannot write the plot {path}: {err.strerror}.", "Give another name with --plot."
        ) from err
