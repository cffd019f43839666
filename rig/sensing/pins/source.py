"""Straight from the pins, as if a board spoke: the same lines, kept and replayed alike."""

import logging
from collections import deque
from collections.abc import Callable, Mapping
from threading import Event, Lock, Thread
from time import monotonic
from typing import Final, Protocol

from rig.sensing.pins.amplifier import PinAmplifier, Status, Word
from rig.sensing.pins.echo import REST_S, EchoGauge
from rig.sensing.sentences import Data, Fault, Identity, encode
from rig.sensing.source import SourceStatus
from rig.setup import RigSetup

BOARD: Final = "own pins"
WAIT_S: Final = 0.2  # for one word: `Source.read` must come back within 0.25 s
FAULTS: Final = {
    Status.SILENT: Fault("E01", "amplifier silent"),
    Status.SATURATED: Fault("E02", "amplifier saturated"),
    Status.SPOILT: Fault("E04", "timing spoilt, reading thrown away"),
}
_LOOK_BACK: Final = 200  # readings
_SPOILT_PART: Final = 0.05  # more than that is told: the rate sinks
_SEQ: Final = 2**16
_MS: Final = 2**32

log = logging.getLogger(__name__)


class Amplifier(Protocol):
    """What the source needs of an amplifier."""

    def word(self, wait_s: float) -> Word:
        """The next word, or why there is none."""
        ...

    def close(self) -> None:
        """Let go."""
        ...


class Gauge(Protocol):
    """What the source needs of a gauge."""

    def read_us(self) -> int | None:
        """One echo; None without."""
        ...

    def close(self) -> None:
        """Let go."""
        ...


class PinSource:
    """See `rig.sensing.source.Source`.

    Args:
        rate_hz: the amplifier's.
        gauges: "surface", "rim" or both; read in turns by a thread of their own, so that no
            echo is taken for the other's and none holds up the amplifier.
    """

    def __init__(
        self,
        amplifier: Amplifier,
        gauges: Mapping[str, Gauge],
        rate_hz: float,
        *,
        now: Callable[[], float] = monotonic,
    ) -> None:
        self.status = SourceStatus(True, "Reading the pins.")
        self._amplifier, self._gauges, self._now = amplifier, dict(gauges), now
        self._rate_hz = rate_hz
        self._began_s = now()
        self._seq = 0
        self._greeted = False
        self._before = Status.OK
        self._lately: deque[Status] = deque(maxlen=_LOOK_BACK)
        self._echoes: dict[str, int] = {}
        self._lock = Lock()
        self._closed = Event()
        self._listener = Thread(target=self._listen, name="gauges", daemon=True)
        if self._gauges:
            self._listener.start()

    def read(self) -> bytes:
        """One row, and a fault's line where something has changed; b"" once it is closed."""
        if self._closed.is_set():
            return b""
        lines = [] if self._greeted else [encode(self._identity())]
        self._greeted = True
        word = self._amplifier.word(WAIT_S)
        if word.status is not self._before and word.status in FAULTS:
            lines.append(encode(FAULTS[word.status]))
        self._before = word.status
        self._lately.append(word.status)
        self.status = self._told()
        with self._lock:
            echoes, self._echoes = self._echoes, {}
        ms = round(1000 * (self._now() - self._began_s)) % _MS
        row = Data(self._seq, ms, word.count, echoes.get("surface"), echoes.get("rim"), None)
        self._seq = (self._seq + 1) % _SEQ
        return b"".join([*lines, encode(row)])

    def close(self) -> None:
        """Let go of the pins. May be called twice."""
        if self._closed.is_set():
            return
        self._closed.set()
        if self._listener.is_alive():
            self._listener.join(timeout=1.0)
        self._amplifier.close()
        for gauge in self._gauges.values():
            gauge.close()

    def _identity(self) -> Identity:
        units = (("load", "count"), *((name, "us") for name in self._gauges))
        return Identity(BOARD, "1", self._rate_hz, units)

    def _told(self) -> SourceStatus:
        spoilt = sum(status is Status.SPOILT for status in self._lately)
        if spoilt > max(2, _SPOILT_PART * len(self._lately)):
            return SourceStatus(
                False,
                f"This computer is too busy: {spoilt} of the last {len(self._lately)} readings"
                " were spoilt and thrown away. Close other programs.",
            )
        return SourceStatus(True, "Reading the pins.")

    def _listen(self) -> None:
        while not self._closed.is_set():
            for name, gauge in self._gauges.items():
                try:
                    us = gauge.read_us()
                except Exception:
                    log.exception("gauge %s", name)  # silence is told by the rig's own watch
                    us = None
                if us is not None:
                    with self._lock:
                        self._echoes[name] = us
                if self._closed.wait(REST_S):
                    return


def pin_source(setup: RigSetup) -> PinSource:
    """Return the source of a rig file with `source = "gpio"`. Raises SetupInvalid."""
    pins = setup.pins
    assert pins is not None, "the rig file is checked for that"
    amplifier = PinAmplifier(pins.data, pins.clock, pins.gain, pins.rate_hz)
    gauges: dict[str, Gauge] = {
        name: EchoGauge(trigger, echo) for name, (trigger, echo) in pins.gauges.items()
    }
    return PinSource(amplifier, gauges, pins.rate_hz)
