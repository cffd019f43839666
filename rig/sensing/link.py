"""One opened port, and what has been heard on it so far."""

import contextlib
from dataclasses import dataclass, field

from rig.sensing.framing import LineSplitter, Rejected, body_of
from rig.sensing.ports import ListedPort, Port
from rig.sensing.sentences import Identity, Query, decode, encode

ASK_EVERY_S = 2.0


@dataclass
class Link:
    """From opening a port to losing it. Times are the source's own seconds.

    `certain`: the USB serial number says that this is the board. `accepted`: its bytes go out;
    until then they are held. `heard_s`: the last byte, or what counts in its place.
    """

    port: Port
    listed: ListedPort
    certain: bool
    accepted: bool
    opened_s: float
    heard_s: float
    sentence_s: float | None = None
    held: bytearray = field(default_factory=bytearray)
    identified: bool = False
    handed_out: bool = False  # something of it has gone out
    _ask_s: float | None = None
    _splitter: LineSplitter = field(default_factory=LineSplitter)

    @property
    def name(self) -> str:
        """The port's name."""
        return self.listed.name

    def ask_if_due(self, now_s: float) -> None:
        """Ask for the identity, at once and every two seconds, until it has come."""
        if self.identified or (self._ask_s is not None and now_s - self._ask_s < ASK_EVERY_S):
            return
        self._ask_s = now_s
        with contextlib.suppress(OSError):  # a port that is lost says so when it is read
            self.port.write(encode(Query()))

    def hear(self, chunk: bytes, now_s: float) -> list[Identity]:
        """Keep what came and note when; return the identities in it."""
        if not chunk:
            return []
        self.heard_s = now_s
        self.held += chunk
        bodies = [body_of(line) for line in self._splitter.feed(chunk)]
        ours = [decode(body) for body in bodies if not isinstance(body, Rejected)]
        if any(not isinstance(sentence, Rejected) for sentence in ours):
            self.sentence_s = now_s
        return [sentence for sentence in ours if isinstance(sentence, Identity)]

    def take(self) -> bytes:
        """Hand out what is held."""
        taken = bytes(self.held)
        self.held.clear()
        return taken
