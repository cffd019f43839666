"""The sentences `$PTRGx`: what a body says, and how to say it. Pure; never raises on input."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from rig.physics.hx711 import CODE_HIGH, CODE_LOW
from rig.sensing.framing import MAX_LINE, Rejected, frame

PROTOCOL = 1
NOT_OURS = "not a sentence of this rig"
BAD_FIELD = "a field makes no sense"
UNITS = {
    "load": ("count",),
    "surface": ("um", "us"),
    "rim": ("um", "us"),
    "water": ("mC",),
}
MARK_WORDS = ("start", "stop", "sunk", "void", "note", "fix", "count", "ruler", "tick")
MORE = "more"  # a mark's text too long for one line: its beginning, the mark itself follows
MAX_PARTS = 40  # lines of one mark
_DECIMAL = re.compile(r"[-+]?\d{1,10}", re.ASCII).fullmatch


@dataclass(frozen=True, slots=True)
class Data:
    """`D`: one row of raw numbers; an absent channel is None."""

    seq: int
    ms: int
    load: int | None
    surface: int | None
    rim: int | None
    water: int | None


@dataclass(frozen=True, slots=True)
class Identity:
    """`I`: who the board is, its rate, and each channel's unit."""

    board: str
    firmware: str
    rate_hz: float
    units: tuple[tuple[str, str], ...]

    def unit(self, channel: str) -> str | None:
        """The unit the board names for a channel, None if it has none."""
        return dict(self.units).get(channel)


@dataclass(frozen=True, slots=True)
class Fault:
    """`F`: something the board noticed."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class Query:
    """`Q`: the host asks for the identity."""


@dataclass(frozen=True, slots=True)
class Mark:
    """`M`: an operator's mark, written by the host into recordings; any text."""

    ms: int
    word: str
    text: str = ""


Sentence = Data | Identity | Fault | Query | Mark


def encode(sentence: Sentence) -> bytes:
    """Return the whole line, CR LF included; for a mark with a long text, the lines.

    Raises:
        ValueError: it would not fit, or would not be read back as it is.
    """
    if isinstance(sentence, Mark):
        return b"".join(_line(part) for part in _parts(sentence))
    return _line(sentence)


def _line(sentence: Sentence) -> bytes:
    line = frame(_body(sentence))
    if decode(line[1:-5]) != sentence:
        raise ValueError(f"would not be read back as it is: {sentence}")
    return line


def _parts(mark: Mark) -> Iterator[Mark]:
    """The mark, after as many `more` as its text needs; no character is cut in two."""
    room = MAX_LINE - len(frame(f"PTRGM,{mark.ms},start,"))
    text, length, parts = "", 0, 1
    for character in mark.text.encode("utf-8", errors="replace").decode("utf-8"):
        added = len(_escaped(character))
        if length + added > room:
            yield Mark(mark.ms, MORE, text)
            text, length, parts = "", 0, parts + 1
        text, length = text + character, length + added
    if parts > MAX_PARTS:
        raise ValueError(f"a mark of {parts} lines; {MAX_PARTS} at most")
    yield Mark(mark.ms, mark.word, text)


def _body(sentence: Sentence) -> str:
    match sentence:
        case Data():
            channels = (sentence.load, sentence.surface, sentence.rim, sentence.water)
            values = ["" if value is None else str(value) for value in channels]
            return f"PTRGD,{sentence.seq},{sentence.ms},{','.join(values)}"
        case Identity():
            units = ";".join(f"{channel}:{unit}" for channel, unit in sentence.units)
            rate = _decimal(sentence.rate_hz)
            return f"PTRGI,{PROTOCOL},{sentence.board},{sentence.firmware},{rate},{units}"
        case Fault():
            return f"PTRGF,{sentence.code},{_escaped(sentence.text)}"
        case Query():
            return "PTRGQ,I"
        case Mark():
            text = f",{_escaped(sentence.text)}" if sentence.text else ""
            return f"PTRGM,{sentence.ms},{sentence.word}{text}"


def decode(body: bytes) -> Sentence | Rejected:
    """Return what a body says, or why it says nothing."""
    try:
        fields = body.decode("ascii").split(",")
    except UnicodeDecodeError:
        return Rejected(body, BAD_FIELD)
    reader = _READERS.get(fields[0])
    if reader is None:
        return Rejected(body, NOT_OURS)
    try:
        return reader(fields[1:])
    except (ValueError, TypeError):
        return Rejected(body, BAD_FIELD)


def _data(fields: list[str]) -> Data:
    seq, ms, *channels = fields
    load, surface, rim, water = (
        _integer(field, -(2**31), 2**31) if field else None for field in channels
    )
    if load is not None and not CODE_LOW <= load <= CODE_HIGH:
        raise ValueError("not a 24-bit word")
    return Data(_integer(seq, 0, 2**16), _integer(ms, 0, 2**32), load, surface, rim, water)


def _identity(fields: list[str]) -> Identity:
    protocol, board, firmware, rate, *rest = fields
    if _integer(protocol, 0, 2**16) != PROTOCOL or not re.fullmatch(r"\d+(\.\d+)?", rate):
        raise ValueError("another protocol")
    if not board or not float(rate) > 0:
        raise ValueError("no name, or no rate")
    pairs = [channel.partition(":") for channel in ",".join(rest).split(";") if channel]
    units = tuple((channel, unit) for channel, _, unit in pairs)
    if any(unit not in UNITS.get(channel, (unit,)) for channel, unit in units):
        raise ValueError("a unit this host does not know")
    if len(dict(units)) < len(units):
        raise ValueError("a channel twice")
    return Identity(board, firmware, float(rate), units)


def _fault(fields: list[str]) -> Fault:
    code, *text = fields
    return Fault(code, _plain(",".join(text)))


def _query(fields: list[str]) -> Query:
    if fields != ["I"]:
        raise ValueError("an unknown question")
    return Query()


def _mark(fields: list[str]) -> Mark:
    ms, word, *text = fields
    if word not in (*MARK_WORDS, MORE):
        raise ValueError("an unknown mark")
    return Mark(_integer(ms, 0, 2**32), word, _plain(",".join(text)))


_READERS: dict[str, Callable[[list[str]], Sentence]] = {
    "PTRGD": _data,
    "PTRGI": _identity,
    "PTRGF": _fault,
    "PTRGQ": _query,
    "PTRGM": _mark,
}


def _integer(field: str, low: int, beyond: int) -> int:
    """A plain decimal integer in low <= value < beyond; int() alone would take ' 1_0 '."""
    if not _DECIMAL(field):
        raise ValueError(field)
    value = int(field)
    if not low <= value < beyond:
        raise ValueError(field)
    return value


def _decimal(number: float) -> str:
    """All its digits, without an exponent: 80, 12.5, 0.00001."""
    digits = format(Decimal(repr(float(number))), "f")
    return digits.removesuffix(".0")


def _escaped(text: str) -> str:
    """Printable ASCII for any text: other bytes, and reserved ones, as ^HH (NMEA 0183's escape)."""
    return "".join(
        chr(byte) if 0x20 <= byte < 0x7F and byte not in b"$*^!\\~" else f"^{byte:02X}"
        for byte in text.encode("utf-8")
    )


def _plain(escaped: str) -> str:
    """Undo `_escaped`; bytes that are no UTF-8 become the replacement character."""
    raw = re.sub(
        rb"\^([0-9A-F]{2})", lambda found: bytes([int(found[1], 16)]), escaped.encode("ascii")
    )
    return raw.decode("utf-8", errors="replace")
