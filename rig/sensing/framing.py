"""One line on the wire: `$body*HH` CR LF, framed as NMEA 0183. Pure; never raises on input."""

import re
from dataclasses import dataclass
from functools import reduce
from operator import xor

MAX_LINE = 82  # characters, CR LF included (NMEA 0183)


@dataclass(frozen=True, slots=True)
class Rejected:
    """A line, or a piece of one, that was skipped, and the reason it is counted under."""

    line: bytes
    why: str


TOO_LONG = "longer than 82 characters"
TORN = "not a whole sentence"
BAD_CHECKSUM = "checksum does not match"
BAD_CHARACTER = "a character that may not stand in a sentence"

_PRINTABLE = re.compile(rb"[\x20-\x7e]*").fullmatch


def checksum(body: bytes) -> bytes:
    """Return the XOR of all bytes as two upper-case hex digits."""
    return b"%02X" % reduce(xor, body, 0)


def frame(body: str) -> bytes:
    """Return the whole line for a body of printable ASCII without `$` and `*`.

    Raises:
        ValueError: the body has other characters, or the line would be longer than 82.
    """
    raw = body.encode("ascii")
    if not _PRINTABLE(raw) or b"$" in raw or b"*" in raw:
        raise ValueError(f"a sentence may not contain {body!r}")
    line = b"$" + raw + b"*" + checksum(raw) + b"\r\n"
    if len(line) > MAX_LINE:
        raise ValueError(f"{len(line)} characters are more than {MAX_LINE}: {body!r}")
    return line


def body_of(line: bytes) -> bytes | Rejected:
    """Return the body of one line, or why it was refused. The line may lack its CR LF."""
    bare = line.rstrip(b"\r\n")
    if len(line) > MAX_LINE or len(bare) > MAX_LINE - 2:
        return Rejected(line, TOO_LONG)
    head, star, check = bare.partition(b"*")
    if not (head.startswith(b"$") and star and len(check) == 2):
        return Rejected(line, TORN)
    if check != checksum(head[1:]):
        return Rejected(line, BAD_CHECKSUM)
    if not _PRINTABLE(head):
        return Rejected(line, BAD_CHARACTER)
    return head[1:]


class LineSplitter:
    """Cuts a stream of bytes, in any chunks, into lines; what it holds never outgrows one line.

    A `$` begins a new line wherever it stands, so a torn line costs itself and not its
    neighbour. The lines that come out do not depend on how the bytes were cut into chunks.
    """

    def __init__(self) -> None:
        self._held = bytearray()

    def feed(self, chunk: bytes) -> list[bytes]:
        """Return the lines completed by this chunk, each with its line end if it had one."""
        lines: list[bytes] = []
        for piece in _pieces(chunk):
            if piece.startswith(b"$"):
                self._close(lines)
            self._hold(piece)
            if piece.endswith(b"\n"):
                self._close(lines)
        return lines

    def rest(self) -> list[bytes]:
        """Return the unfinished line, if any, and forget it: for the end of a stream."""
        lines: list[bytes] = []
        self._close(lines)
        return lines

    def _hold(self, piece: bytes) -> None:
        room = MAX_LINE + 1 - len(self._held)  # one over the limit is enough to refuse it
        self._held += piece[:room]

    def _close(self, lines: list[bytes]) -> None:
        # blank lines are nobody's loss, but what was cut off a long one may be
        if self._held.strip(b"\r\n") or len(self._held) > MAX_LINE:
            lines.append(bytes(self._held))
        self._held.clear()


def _pieces(chunk: bytes) -> list[bytes]:
    """Cut before every `$` and after every LF."""
    return re.findall(rb"\$?[^$\n]*\n|\$[^$\n]*|[^$\n]+", chunk)
