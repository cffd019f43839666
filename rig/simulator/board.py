"""The board: says who it is, then one row after the other; answers when asked. Nothing else."""

from rig.sensing.framing import LineSplitter, Rejected, body_of
from rig.sensing.sentences import Data, Fault, Identity, Query, decode, encode
from rig.simulator.gauges import ADC_HIGH, ADC_LOW, Raw

_CHANNELS = ("load", "surface", "rim", "water")


class Board:
    """Turns raw numbers into sentences with its own counter and clock, both of which wrap."""

    def __init__(
        self,
        units: tuple[tuple[str, str], ...],
        rate_hz: float,
        first_seq: int = 0,
        first_ms: int = 0,
    ) -> None:
        self.identity = Identity("tub-simulator", "1", rate_hz, units)
        self.last_ms = first_ms  # its clock at the newest row
        self._seq, self._first_ms = first_seq, first_ms
        self._on_since_s = 0.0
        self._greeted = False
        self._complained: set[str] = set()
        self._splitter = LineSplitter()

    def row(self, now_s: float, raw: Raw) -> bytes:
        """Return the lines for one row, the identity before the first."""
        greeting = b"" if self._greeted else encode(self.identity)
        self._greeted = True
        since_ms = round(1000 * (now_s - self._on_since_s))
        self.last_ms = (self._first_ms + since_ms) % 2**32
        line = encode(Data(self._seq, self.last_ms, *raw))
        self._seq = (self._seq + 1) % 2**16
        return greeting + self._complaints(raw) + line

    def hear(self, chunk: bytes) -> bytes:
        """Return the answers to what the host has written, in any chunks; ignore the rest."""
        answers = b""
        for line in self._splitter.feed(chunk):
            body = body_of(line)
            if not isinstance(body, Rejected) and decode(body) == Query():
                answers += encode(self.identity)
        return answers

    def restart(self, now_s: float) -> None:
        """Lose power and come up again: counter and clock at 0, identity first."""
        self._seq = self._first_ms = self.last_ms = 0
        self._on_since_s = now_s
        self._greeted = False
        self._complained.clear()
        self._splitter = LineSplitter()

    def _complaints(self, raw: Raw) -> bytes:
        """A fault sentence for each trouble that has just begun."""
        values = dict(zip(_CHANNELS, raw, strict=True))
        trouble: dict[str, Fault] = {}
        for channel, _ in self.identity.units:
            value = values[channel]
            if value is None and channel == "load":
                trouble[channel] = Fault("E01", "amplifier silent")
            elif value is None:
                trouble[channel] = Fault("E03", f"{channel} gauge no echo")
            elif channel == "load" and value in (ADC_LOW, ADC_HIGH):
                trouble[channel] = Fault("E02", "amplifier saturated")
        new = [fault for channel, fault in trouble.items() if channel not in self._complained]
        self._complained = set(trouble)
        return b"".join(encode(fault) for fault in new)
