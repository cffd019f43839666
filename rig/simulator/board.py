"""The board: says who it is, then one row after the other; answers when asked. Nothing else."""

from dataclasses import replace

from rig.physics.hx711 import CODE_HIGH, CODE_LOW
from rig.sensing.framing import LineSplitter, Rejected, body_of
from rig.sensing.sentences import Data, Fault, Identity, Query, decode, encode
from rig.simulator.gauges import Raw

_CHANNELS = ("load", "surface", "rim", "water")
_ALL = frozenset(_CHANNELS)


class Board:
    """Turns raw numbers into sentences with its own counter and clock, both of which wrap.

    It speaks of a trouble once, when it has lasted `complains_after_s`.
    """

    def __init__(
        self,
        units: tuple[tuple[str, str], ...],
        rate_hz: float,
        first_seq: int = 0,
        first_ms: int = 0,
        complains_after_s: float = 0.0,
    ) -> None:
        self.identity = Identity("tub-simulator", "1", rate_hz, units)
        self.last_ms = first_ms  # its clock at the newest row
        self._seq, self._first_ms = first_seq, first_ms
        self._on_since_s = 0.0
        self._greeted = False
        self._complains_after_s = complains_after_s
        self._since_s: dict[str, float] = {}  # channel -> when its trouble began
        self._complained: set[str] = set()
        self._splitter = LineSplitter()

    def row(self, now_s: float, raw: Raw, heard: frozenset[str] = _ALL) -> bytes:
        """Return the lines for one row, the identity before the first.

        `heard`: the channels that were read at all for this row.
        """
        greeting = b"" if self._greeted else encode(self.identity)
        self._greeted = True
        since_ms = round(1000 * (now_s - self._on_since_s))
        self.last_ms = (self._first_ms + since_ms) % 2**32
        line = encode(Data(self._seq, self.last_ms, *raw))
        self._seq = (self._seq + 1) % 2**16
        return greeting + self._complaints(now_s, raw, heard) + line

    def hear(self, chunk: bytes) -> bytes:
        """Return the answers to what the host has written, in any chunks; ignore the rest."""
        answers = b""
        for line in self._splitter.feed(chunk):
            body = body_of(line)
            if not isinstance(body, Rejected) and decode(body) == Query():
                answers += encode(self.identity)
        return answers

    def change_rate(self, rate_hz: float) -> None:
        """Go on at another rate, and say so."""
        self.identity = replace(self.identity, rate_hz=rate_hz)
        self._greeted = False

    def restart(self, now_s: float) -> None:
        """Lose power and come up again: counter and clock at 0, identity first."""
        self._seq = self._first_ms = self.last_ms = 0
        self._on_since_s = now_s
        self._greeted = False
        self._complained.clear()
        self._since_s.clear()
        self._splitter = LineSplitter()

    def _complaints(self, now_s: float, raw: Raw, heard: frozenset[str]) -> bytes:
        """A fault sentence for each trouble that has just lasted long enough."""
        said = b""
        for channel, value in zip(_CHANNELS, raw, strict=True):
            if channel not in heard or self.identity.unit(channel) is None:
                continue
            fault = _fault(channel, value)
            if fault is None:
                self._since_s.pop(channel, None)
                self._complained.discard(channel)
                continue
            lasted_s = now_s - self._since_s.setdefault(channel, now_s)
            if lasted_s >= self._complains_after_s and channel not in self._complained:
                self._complained.add(channel)
                said += encode(fault)
        return said


def _fault(channel: str, value: int | None) -> Fault | None:
    if value is None:
        if channel == "load":
            return Fault("E01", "amplifier silent")
        return Fault("E03", f"{channel} gauge no echo")
    if channel == "load" and value in (CODE_LOW, CODE_HIGH):
        return Fault("E02", "amplifier saturated")
    return None
