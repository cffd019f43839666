"""A world of ports without hardware: a clock that only moves when something waits."""

from collections import deque

import pytest

from rig.sensing.framing import Rejected, body_of
from rig.sensing.ports import PATIENCE_S, ListedPort, UsbIdentity
from rig.sensing.sentences import Identity, Query, decode, encode
from rig.sensing.serial_source import SerialSource

LINE_S = 0.1  # ten lines a second


class ScriptedPort:
    """Plays a script of chunks (silence as b"") and errors; then it is silent for good."""

    def __init__(self, world, script, answer: Identity | None = None):
        self.world, self.script, self.answer = world, deque(script), answer
        self.asked_s: list[float] = []
        self.closed = 0

    def read(self) -> bytes:
        assert not self.closed, "read after close"
        step = self.script.popleft() if self.script else b""
        self.world.now_s += LINE_S if step else PATIENCE_S
        if isinstance(step, Exception):
            raise step
        return step

    def write(self, data: bytes) -> None:
        body = body_of(data)
        assert not isinstance(body, Rejected) and decode(body) == Query()
        self.asked_s.append(self.world.now_s)
        if self.answer is not None:
            self.script.appendleft(encode(self.answer))

    def close(self) -> None:
        self.closed += 1


class World:
    """Which ports there are, what opening each gives (a port or an error), and the time."""

    def __init__(self):
        self.reset()

    def reset(self):
        self.now_s = 100.0
        self.listing: list[ListedPort] = []
        self.ports: dict[str, ScriptedPort | OSError] = {}
        self.opened: list[tuple[float, str]] = []

    def plug(self, name, script=(), answer=None, usb: UsbIdentity | None = None):
        self.listing.append(ListedPort(name, usb))
        self.ports[name] = ScriptedPort(self, script, answer)
        return self.ports[name]

    def unplug(self, name):
        """A port that is open plays what is left of its script, then breaks off."""
        self.listing = [port for port in self.listing if port.name != name]
        port = self.ports.pop(name)
        if isinstance(port, ScriptedPort):
            port.script.append(OSError("read failed: [Errno 5] Input/output error"))

    def open(self, name):
        self.opened.append((self.now_s, name))
        port = self.ports.get(name, FileNotFoundError(2, "No such file or directory"))
        if isinstance(port, OSError):
            raise port
        if port.closed:  # the script goes on where it stood
            port = self.ports[name] = ScriptedPort(self, port.script, port.answer)
        return port

    def sleep(self, seconds):
        assert 0 <= seconds <= PATIENCE_S
        self.now_s += seconds

    def source(self, name="/dev/ttyACM0") -> SerialSource:
        return SerialSource(
            name,
            open_port=self.open,
            list_ports=lambda: list(self.listing),
            monotonic=lambda: self.now_s,
            sleep=self.sleep,
        )

    def run(self, source, seconds) -> bytes:
        """Read for a while; each read must come back soon, and time must go on."""
        got, end_s, reads = b"", self.now_s + seconds, 0
        while self.now_s < end_s:
            before_s, reads = self.now_s, reads + 1
            got += source.read()
            assert self.now_s - before_s <= 2 * PATIENCE_S
            assert reads < 100 * (1 + seconds), "spins without waiting"
        return got


@pytest.fixture
def world():
    return World()
