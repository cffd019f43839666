"""Bytes in, sentences out, with an honest count of everything that was not one.

`Stream` is the whole way from raw chunks to time-stamped items, with no I/O. It is the
same for a live port, a recording and a test.
"""

from collections import Counter, deque
from dataclasses import dataclass, field

from rig.sensing.framing import LineSplitter, Rejected, body_of
from rig.sensing.sentences import (
    MAX_PARTS,
    MORE,
    Data,
    Fault,
    Identity,
    Mark,
    Query,
    Sentence,
    decode,
)

REPEATED = "repeated line"
UNFINISHED = "a mark without its end"
_SEQ, _MS = 2**16, 2**32
_WRAP_GAP_MS = (
    600_000  # a clock that went back is a wrap if this much time explains it, else a restart
)
_AHEAD_MS = 1000  # a mark so far ahead: the host knows that time has passed without a row
_MARK_SLACK_MS = 2000  # a mark and the rows around it may disagree by so much
_FRESH_ROWS = 50  # a board that has just come up still counts its first rows
_REMEMBERED = 64  # rows looked at for repeats: 6 s at 10 rows a second


@dataclass(frozen=True, slots=True)
class Sample:
    """One row of raw numbers on the stream's own time line, which never runs backwards.

    `at_ms` is whole milliseconds since the first thing in the stream. `restarted` marks the
    first row after the board's clock began anew; the gap before it is then only a lower bound.
    """

    at_ms: int
    load_count: int | None
    surface_raw: int | None
    rim_raw: int | None
    water_mc: int | None
    restarted: bool = False


@dataclass(frozen=True, slots=True)
class OperatorMark:
    """An operator's mark on the stream's time line."""

    at_ms: int
    word: str
    text: str = ""


StreamItem = Sample | OperatorMark | Identity | Fault


@dataclass
class LineCount:
    """What the wire gave: rows read, lines skipped by reason, rows missing by their numbers."""

    data: int = 0
    skipped: Counter[str] = field(default_factory=Counter)
    lost: int = 0

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return {"data": self.data, "skipped": dict(self.skipped), "lost": self.lost}


class Stream:
    """Feeds on bytes; yields samples, marks, identities and faults in order."""

    def __init__(self) -> None:
        self.count = LineCount()
        self.last_ms = 0  # the board's clock at the newest row, for the host's own marks
        self._splitter = LineSplitter()
        self._clock = BoardClock()
        self._last_seq: int | None = None
        self._greeted = False  # the board has said who it is since the newest row
        self._recent: deque[tuple[int, int]] = deque(maxlen=_REMEMBERED)
        self._parts: list[Mark] = []  # the beginning of a mark of several lines

    def feed(self, chunk: bytes) -> list[StreamItem]:
        """Return the items completed by a chunk. Never raises, whatever the bytes are."""
        return self._read(self._splitter.feed(chunk))

    def finish(self) -> list[StreamItem]:
        """Return what the unfinished last line still gives."""
        items = self._read(self._splitter.rest())
        self._drop_parts()
        return items

    def _read(self, lines: list[bytes]) -> list[StreamItem]:
        items = (self._item(line) for line in lines)
        return [item for item in items if item is not None]

    def _item(self, line: bytes) -> StreamItem | None:
        body = body_of(line)
        sentence: Sentence | Rejected = body if isinstance(body, Rejected) else decode(body)
        match sentence:
            case Rejected():
                self.count.skipped[sentence.why] += 1
                return None
            case Data():
                return self._sample(sentence)
            case Mark():
                return self._mark(sentence)
            case Query():
                return None
            case Identity():
                self._greeted = True
                return sentence
            case Fault():
                return sentence

    def _mark(self, mark: Mark) -> OperatorMark | None:
        """A `more` waits for the mark it begins: the next one with the same time."""
        if self._parts and (self._parts[0].ms != mark.ms or len(self._parts) >= MAX_PARTS):
            self._drop_parts()
        self._parts.append(mark)
        if mark.word == MORE:
            return None
        text = "".join(part.text for part in self._parts)
        self._parts.clear()
        if mark.word == "start":  # a trial cut out of the stream must read as it did within it
            self._recent.clear()
            self._greeted = False
            return OperatorMark(self._clock.anchor(mark.ms), mark.word, text)
        return OperatorMark(self._clock.mark(mark.ms), mark.word, text)

    def _drop_parts(self) -> None:
        if self._parts:
            self.count.skipped[UNFINISHED] += len(self._parts)
        self._parts.clear()

    def _sample(self, row: Data) -> Sample | None:
        fresh = self._greeted and row.seq < _FRESH_ROWS
        # a board that reset soon after it came up says the same numbers again
        anew = fresh and self._last_seq is not None and row.seq < self._last_seq
        if (row.seq, row.ms) in self._recent and not anew:
            self.count.skipped[REPEATED] += 1
            return None
        at_ms, restarted = self._clock.row(row.ms, fresh)
        self._greeted = False
        if restarted:
            self._recent.clear()
        elif self._last_seq is not None:
            self.count.lost += max(0, (row.seq - self._last_seq) % _SEQ - 1)
        self._recent.append((row.seq, row.ms))
        self._last_seq, self.last_ms = row.seq, row.ms
        self.count.data += 1
        return Sample(at_ms, row.load, row.surface, row.rim, row.water, restarted)


class BoardClock:
    """Unwraps the board's 32-bit millisecond clock into a line that never runs backwards.

    A clock that goes back is a wrap if at most ten minutes explain it, otherwise the board
    has restarted: then its new reading, the time since it came up, is the least gap there was.
    A board that greets and counts its rows from 0 again has restarted, however near a wrap was.
    """

    def __init__(self) -> None:
        self._last: int | None = None  # the board reading our time line stands on
        self._at = 0  # the same moment on our time line
        self._row_at = 0  # the newest row on our time line
        self._on_mark = False  # it stands on a mark, which rows may trail a little
        self._unshown = False  # a mark showed a restart that no row has shown yet

    def row(self, ms: int, fresh: bool = False) -> tuple[int, bool]:
        """Return a row's time and whether the board restarted just before it.

        `fresh`: the board has just said who it is, and counts its first rows.
        """
        step, restarted = self._step(ms, fresh)
        if self._on_mark and 0 < self._behind(ms) <= _MARK_SLACK_MS:
            step, restarted = 0, False
        restarted, self._unshown = restarted or self._unshown, False
        at = max(self._at, self._row_at + step) if restarted else self._at + step
        self._stand(ms, at)
        self._row_at = at
        return at, restarted

    def mark(self, ms: int) -> int:
        """Return a mark's time: the host writes marks, a little before or after the rows.

        Only a first mark, one far behind the clock (the board has restarted, though no row has
        shown it yet) or one far ahead (no rows came for a while) moves the time line.
        """
        behind = self._behind(ms)
        if 0 < behind <= _MARK_SLACK_MS:
            return self._at - behind
        step, restarted = self._step(ms)
        if self._last is None or restarted or step >= _AHEAD_MS:
            self._stand(ms, self._at + step)
            self._on_mark, self._unshown = True, self._unshown or restarted
            return self._at
        return self._at + step

    def anchor(self, ms: int) -> int:
        """Return a mark's time; unless rows have passed it, the time line stands on it now."""
        at = self.mark(ms)
        if at >= self._at:
            self._stand(ms, at)
            self._on_mark, self._row_at = True, at
        return at

    def _stand(self, ms: int, at: int) -> None:
        self._last, self._at, self._on_mark = ms, at, False

    def _behind(self, ms: int) -> int:
        return (self._last - ms) % _MS if self._last is not None else 0

    def _step(self, ms: int, fresh: bool = False) -> tuple[int, bool]:
        if self._last is None:
            return 0, False
        if ms >= self._last:
            return ms - self._last, False
        wrapped = ms - self._last + _MS
        return (wrapped, False) if wrapped <= _WRAP_GAP_MS and not fresh else (ms, True)
