"""Several tubs on one computer: a program of its own for each rig, and one Board for all.

What happens to one rig, its port or its program, cannot reach the others; a program that ended is
started again, and goes on with its open trial as after a power cut.
"""

import contextlib
import json
import os
import secrets
import signal
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from threading import Event, Thread
from typing import Final

import click

from dashboard.serving import make_server
from dashboard.side_by_side import Watched, create_tubs_app, watch_all
from rig.cli.heartbeat import NOT_HANDED_ON, Heartbeat
from rig.cli.house import print_code, shown_address
from rig.cli.output import print_json
from rig.errors import RigError, SourceLost
from rig.setup import read_setup

MOST: Final = 4
AGAIN_S: Final = 2.0


class Tub:
    """One rig's program, kept running.

    Args:
        arguments: of `tubrig serve` for this rig alone, its port included.
    """

    def __init__(self, name: str, arguments: Sequence[str]) -> None:
        self.watched = Watched(name)
        self.started = 0
        self.process: subprocess.Popen[str] | None = None
        program = str(Path(sys.executable).with_name("tubrig"))
        self._command = [program, "serve", *arguments, "--json"]

    def keep(self, stopping: Event) -> None:
        """Run the program, again and again, until `stopping` is set."""
        while not stopping.is_set():
            self.process = subprocess.Popen(
                self._command, env=_environment(), stdout=subprocess.PIPE, text=True
            )
            self.started += 1
            self.watched.address = _address(self.process)
            self.process.wait()
            if self.process.stdout:
                self.process.stdout.close()
            stopping.wait(AGAIN_S)

    def stop(self) -> None:
        """Let the program end calmly."""
        if self.process is not None and self.process.poll() is None:
            self.process.terminate()


def serve_side_by_side(
    setup_files: Sequence[Path],
    more: Sequence[str],
    *,
    host: str,
    port: int,
    pin: str | None,
    as_json: bool,
) -> None:
    """Serve all rigs until a signal ends it.

    Args:
        more: what every rig's program is told as well.
        port: of the Board for all; the rigs' own pages follow on the next ones. 0: free ones.

    Raises:
        RigError: too many rigs, two of one name or one port, or a file that is no rig.
    """
    setups = [read_setup(path) for path in setup_files]
    if len(setups) > MOST:
        raise RigError(f"{len(setups)} rigs are too many for one computer.", f"Take {MOST}.")
    for what, values in (
        ("name", [setup.rig.name for setup in setups]),
        ("source", [setup.rig.source for setup in setups if setup.rig.source != "demo"]),
    ):
        if len(set(values)) < len(values):
            raise RigError(f"Two of these rigs have the same {what}.", "Give each its own.")
    pin = pin or f"{secrets.randbelow(10**6):06d}"
    shared = ["--host", host, "--pin", pin, *more]
    tubs = [
        Tub(setup.rig.name, ["--setup", str(path), "--port", str(port and port + n), *shared])
        for n, (path, setup) in enumerate(zip(setup_files, setups, strict=True), start=1)
    ]
    watched = [tub.watched for tub in tubs]
    try:
        server = make_server(create_tubs_app(watched), host, port)
    except OSError as err:
        raise SourceLost(
            f"Cannot serve on {host} port {port}: {err.strerror}.",
            "Choose another with --port, or stop the program that has it.",
        ) from err
    address = shown_address(host, server.effective_port)
    if as_json:
        print_json({"board": address, "rigs": [tub.watched.name for tub in tubs], "pin": pin})
    else:
        click.echo(f"All tubs are at {address}; each tile leads to its Desk. PIN: {pin}")
        print_code(address)
    stopping = Event()
    keepers = [Thread(target=tub.keep, args=(stopping,), daemon=True) for tub in tubs]
    for keeper in keepers:
        keeper.start()
    watchers = watch_all(watched, stopping)
    heartbeat = Heartbeat(lambda: all(keeper.is_alive() for keeper in keepers))
    telling = Thread(target=heartbeat.run, args=(stopping,), daemon=True)
    telling.start()
    before = signal.signal(signal.SIGTERM, lambda *_: server.close())
    try:
        with contextlib.suppress(KeyboardInterrupt):
            server.run()
    finally:
        signal.signal(signal.SIGTERM, before)
        stopping.set()
        for tub in tubs:
            tub.stop()
        for thread in (*keepers, *watchers, telling):
            thread.join(timeout=10)


def _environment() -> dict[str, str]:
    """For a rig's program: the service manager listens to this one only."""
    return {key: value for key, value in os.environ.items() if key not in NOT_HANDED_ON}


def _address(process: subprocess.Popen[str]) -> str | None:
    """Read from a rig's program where its pages are; None if it ended before it said so."""
    said = ""
    assert process.stdout is not None, "it was given a pipe"
    for line in process.stdout:
        said += line
        try:
            return str(json.loads(said)["board"])
        except ValueError:
            continue
    return None
