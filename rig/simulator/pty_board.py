"""The simulated board on a real pseudo-terminal, in real time or faster. The only I/O here."""

import os
import threading
import tty
from time import monotonic
from typing import Self

from rig.errors import SourceLost
from rig.setup import Boat, RigSetup
from rig.simulator.bench import ITEMS, Bench
from rig.simulator.conditions import Conditions, Fate
from rig.simulator.disturbances import How
from rig.simulator.hands import Plan

_LATE_S = 1.0  # a machine that slept so long goes on from now instead of racing to catch up


class PtyBoard:
    """A board to open with pyserial at `path`; its methods may be called from any thread.

    Args:
        speed: board seconds per second.

    Raises:
        SourceLost: the machine has no pseudo-terminal left.
    """

    def __init__(
        self,
        setup: RigSetup,
        conditions: Conditions | None = None,
        seed: int = 0,
        speed: float = 1.0,
    ) -> None:
        if not speed > 0:
            raise ValueError("speed must be above 0")
        conditions = conditions or Conditions()
        self.speed = speed
        self._bench = Bench(setup, conditions, seed)
        self._period_s = 1 / (conditions.board.rate_hz * speed)
        self._lock = threading.Lock()
        self._closing = threading.Event()
        self._line: _Line | None = _Line()
        self._path = self._line.name
        self._thread = threading.Thread(target=self._run, name="simulated board", daemon=True)
        self._thread.start()

    @property
    def path(self) -> str:
        """The port's name; while unplugged, the one it had."""
        with self._lock:
            return self._path

    @property
    def now_s(self) -> float:
        """Board time [s]."""
        with self._lock:
            return self._bench.now_s

    @property
    def idle_s(self) -> float:
        """As `Bench.idle_s`."""
        with self._lock:
            return self._bench.idle_s

    def place_boat(self, boat: Boat, fate: Fate | None = None, items: int = ITEMS) -> None:
        """As `Bench.place_boat`."""
        with self._lock:
            self._bench.place_boat(boat, fate, items)

    def load_with(self, plan: Plan) -> None:
        """As `Bench.load_with`."""
        with self._lock:
            self._bench.load_with(plan)

    def take_everything_out(self) -> None:
        """As `Bench.take_everything_out`."""
        with self._lock:
            self._bench.take_everything_out()

    def lay_on_tray(self, *masses_g: float) -> None:
        """As `Bench.lay_on_tray`."""
        with self._lock:
            self._bench.lay_on_tray(*masses_g)

    def pour(self, volume_ml: float) -> None:
        """As `World.pour`."""
        with self._lock:
            self._bench.world.pour(volume_ml)

    def fall_ill(self, channel: str, how: How = "silent") -> None:
        """Let one sensor fail, until it recovers or everything is taken out."""
        with self._lock:
            self._bench.fall_ill(channel, how)

    def recover(self) -> None:
        """As `Bench.recover`."""
        with self._lock:
            self._bench.recover()

    def reset(self, for_s: float) -> None:
        """As `Bench.reset`."""
        with self._lock:
            self._bench.reset(for_s)

    def unplug(self) -> None:
        """Pull the plug: the port goes away; tub and hands go on. Twice does no harm."""
        with self._lock:
            if self._line:
                self._line.close()
                self._line = None

    def plug_in(self) -> None:
        """Plug in again: the board comes up anew, under another port name."""
        with self._lock:
            if self._line is None and not self._closing.is_set():
                self._line = _Line.other_than(self._path)
                self._path = self._line.name
                self._bench.board.restart(self._bench.now_s)

    def wait(self, board_s: float, stopped: threading.Event) -> bool:
        """Wait for board seconds; return at once, and True, when stopped."""
        return stopped.wait(board_s / self.speed)

    def close(self) -> None:
        """Stop for good. Twice does no harm."""
        self._closing.set()
        self._thread.join(timeout=5)
        self.unplug()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _run(self) -> None:
        due = monotonic()
        while not self._closing.wait(max(0.0, due - monotonic())):
            with self._lock:
                self._exchange()
            due = max(due + self._period_s, monotonic() - _LATE_S)

    def _exchange(self) -> None:
        lines = self._bench.row()
        if self._line:
            self._line.write(self._bench.board.hear(self._line.read()) + lines)


class _Line:
    """One pseudo-terminal. Writing never blocks: whole lines are dropped while it is full."""

    def __init__(self) -> None:
        try:
            self._master, self._slave = os.openpty()
        except OSError as err:
            raise SourceLost(
                f"No pseudo-terminal for the simulated board: {err.strerror}.",
                "Close other terminals, or run this on Linux or macOS.",
            ) from err
        tty.setraw(self._slave)  # kept open, so that the line stays up between two readers
        os.set_blocking(self._master, False)
        self.name = os.ttyname(self._slave)
        self._left = b""  # the end of a line that was half sent

    @classmethod
    def other_than(cls, name: str) -> Self:
        """A line with another name: the system hands the lowest free one out again."""
        first = cls()
        if first.name != name:
            return first
        try:
            return cls()
        finally:
            first.close()

    def read(self) -> bytes:
        """What the host has written so far."""
        try:
            return os.read(self._master, 4096)
        except OSError:  # nothing there
            return b""

    def write(self, lines: bytes) -> None:
        self._left = self._send(self._left)
        for line in lines.splitlines(keepends=True):
            if self._left:
                return  # the board has no memory: what cannot be sent now is lost
            left = self._send(line)
            self._left = b"" if left == line else left

    def close(self) -> None:
        os.close(self._master)
        os.close(self._slave)

    def _send(self, line: bytes) -> bytes:
        """Send what fits; return the rest."""
        try:
            return line[os.write(self._master, line) :] if line else b""
        except OSError:  # full
            return line
