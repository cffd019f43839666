"""Which channels can be believed: a watch on every channel's raw words. Pure.

A word is silent, saturated or frozen; a gauge may also hear no echo, which on the wire looks
like silence. What a channel's own noise forbids is judged by the noise it showed before: a
coarse gauge repeats its words honestly, a load cell's last bits practically never do.
"""

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from math import log
from statistics import median

from rig.physics.hx711 import CODE_HIGH, CODE_LOW
from rig.sensing.sentences import Identity
from rig.sensing.stream import Sample
from rig.setup import RigSetup

SILENT_S = 1.5  # without a word while rows go on; with the row it is told in, below 2 s
SATURATED_S = 1.0
FROZEN_S = 1.0  # at the least; longer where the channel repeats its words honestly
WATER_S = 5.0  # a thermometer may be slow, and nothing hurries
RESTART_TOLD_S = 10.0
BACK_WORDS = 3  # sound words in a row until a channel is believed again
_ROW_S = 0.5  # a longer gap between two rows is the board's silence, not the channel's
_GAPS = 15
_SLOW = 2.5  # gaps: a gauge that speaks every second is silent after 2.5 s
_CHANCE = log(1e-7)  # of an honest channel standing still so long: once in weeks of readings
_REPEATS = 300  # words looked back at
_LEAST_WORDS = 20
_CELL_WORDS = (
    60  # what is known of every load cell beforehand: so many words, none of them repeated
)


class Ailment(StrEnum):
    """What is wrong with a channel."""

    SILENT = "silent"
    NO_ECHO = "no echo"
    SATURATED = "saturated"
    FROZEN = "frozen"
    RESTARTED = "restarted"  # of the board itself


CHANNELS = ("load", "surface", "rim", "water")
BOARD = "board"  # the channel of what the board itself suffers


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing wrong, and since when on the stream's time line."""

    channel: str
    ailment: Ailment
    since_ms: int


@dataclass(frozen=True, slots=True)
class Turn:
    """A trouble that has just been noticed (`over_ms` None), or has just ended."""

    trouble: Trouble
    over_ms: int | None = None


class RigHealth:
    """Watches the channels that a rig has; feed it every row."""

    def __init__(self, setup: RigSetup, identity: Identity | None = None) -> None:
        self.troubles: dict[str, Trouble] = {}  # by channel, oldest first
        self._last_ms: int | None = None
        self._watches = {"load": _Watch("load", Ailment.SILENT)}
        for name, gauge in (("surface", setup.surface), ("rim", setup.rim)):
            if gauge is not None:
                named = identity.unit(name) if identity else None
                echo = (named or gauge.unit) == "us"
                mute = Ailment.NO_ECHO if echo else Ailment.SILENT
                self._watches[name] = _Watch(name, mute)
        if identity and identity.unit("water"):
            self._watches["water"] = _Watch("water", Ailment.SILENT)

    def out(self, channel: str) -> bool:
        """Whether nothing to be believed comes from a channel now."""
        board = self.troubles.get(BOARD)
        return channel in self.troubles or (board is not None and board.ailment is Ailment.SILENT)

    def believed(self, channel: str, word: int | None) -> int | None:
        """Return a channel's word, or None where it is not to be believed.

        A gauge that was silent is believed with its first word; a scale, and what was frozen
        or saturated, after three.
        """
        trouble = self.troubles.get(channel)
        mute = trouble is None or trouble.ailment in (Ailment.SILENT, Ailment.NO_ECHO)
        return word if mute and not (channel == "load" and trouble) else None

    def feed(self, row: Sample) -> list[Turn]:
        """Take in the next row; return what has begun or ended with it."""
        step_s = 0.0 if self._last_ms is None else (row.at_ms - self._last_ms) / 1000
        self._last_ms = row.at_ms
        talked_s = min(max(step_s, 0.0), _ROW_S)
        turns = list(self._restarts(row)) if row.restarted or BOARD in self.troubles else []
        words = (row.load_count, row.surface_raw, row.rim_raw, row.water_mc)
        for name, word in zip(CHANNELS, words, strict=True):
            watch = self._watches.get(name)
            if watch is None:
                continue
            watch.feed(row.at_ms, talked_s, word)
            if watch.trouble is not self.troubles.get(name):
                turns += self._turn(row.at_ms, name, watch.trouble)
        return turns

    def nothing(self, at_ms: int) -> list[Turn]:
        """The host's clock has gone on to a moment and no row has come."""
        board = self.troubles.get(BOARD)
        if board is not None and board.ailment is Ailment.SILENT:
            return []
        since_ms = at_ms if self._last_ms is None else self._last_ms
        return list(self._turn(at_ms, BOARD, Trouble(BOARD, Ailment.SILENT, since_ms)))

    def _restarts(self, row: Sample) -> Iterator[Turn]:
        """A row has come: the board speaks, perhaps anew."""
        board = self.troubles.get(BOARD)
        if row.restarted:
            yield from self._turn(row.at_ms, BOARD, Trouble(BOARD, Ailment.RESTARTED, row.at_ms))
        elif board is not None:
            told_s = (row.at_ms - board.since_ms) / 1000
            if board.ailment is Ailment.SILENT or told_s >= RESTART_TOLD_S:
                yield from self._turn(row.at_ms, BOARD, None)

    def _turn(self, at_ms: int, channel: str, now: Trouble | None) -> Iterator[Turn]:
        before = self.troubles.get(channel)
        if now == before:
            return
        if before is not None:
            del self.troubles[channel]
            yield Turn(before, at_ms)
        if now is not None:
            self.troubles[channel] = now
            yield Turn(now)


class _Watch:
    """One channel."""

    def __init__(self, name: str, mute: Ailment) -> None:
        self.trouble: Trouble | None = None
        self._name, self._mute = name, mute
        self._least_s = WATER_S if name == "water" else SILENT_S
        self._heard_ms: int | None = None  # the last word of any kind
        self._unheard_s = 0.0  # since then, of the board's own talking
        self._gaps: deque[float] = deque(maxlen=_GAPS)
        self._sound_ms: int | None = None  # the last word that was not saturated
        self._still = _Stillness(_CELL_WORDS if name == "load" else 0)
        self._sound_words = 0  # in a row

    def feed(self, at_ms: int, step_s: float, word: int | None) -> None:
        """Take in a row's word, and the time since the row before, as far as it counts."""
        if self._heard_ms is None:
            self._heard_ms = self._sound_ms = at_ms
        self._unheard_s += step_s
        if word is None:
            if self._unheard_s > max(self._least_s, _SLOW * self._usual_gap_s()):
                self._ail(self._mute, self._heard_ms)
            return
        self._gaps.append(self._unheard_s)
        self._heard_ms, self._unheard_s = at_ms, 0.0
        self._spoken(at_ms, word)

    def _spoken(self, at_ms: int, word: int) -> None:
        frozen_since_ms = self._still.feed(at_ms, word)
        if self._name == "load" and word in (CODE_LOW, CODE_HIGH):
            self._sound_words = 0
            if at_ms - (self._sound_ms or at_ms) >= 1000 * SATURATED_S:
                self._ail(Ailment.SATURATED, self._sound_ms or at_ms)
            return
        self._sound_ms = at_ms
        if frozen_since_ms is not None and self._name != "water":
            self._sound_words = 0
            self._ail(Ailment.FROZEN, frozen_since_ms)
            return
        self._sound_words += 1
        if self.trouble and self._sound_words >= BACK_WORDS:
            self.trouble = None

    def _ail(self, ailment: Ailment, since_ms: int) -> None:
        self._sound_words = 0
        if self.trouble is None or self.trouble.ailment is not ailment:
            self.trouble = Trouble(self._name, ailment, since_ms)

    def _usual_gap_s(self) -> float:
        return median(self._gaps) if self._gaps else 0.0


class _Stillness:
    """Since when a channel has repeated one word for longer than its noise allows.

    If a share p of an honest channel's words repeat the one before, no word has a probability
    above sqrt(p) (p is the sum of their squares), so k repeats in a row have one below
    sqrt(p)^k. A float that sticks, or a gauge that rounds coarsely, has a large p.
    """

    def __init__(self, known_words: int) -> None:
        self._beforehand = known_words
        self._word: int | None = None
        self._since_ms = 0
        self._run = 0  # repeats of the present word
        self._known: deque[bool] = deque(maxlen=_REPEATS)
        self._repeats = 0  # of the known ones
        self._frozen = False

    def feed(self, at_ms: int, word: int) -> int | None:
        """Take in a word; return since when it has been frozen, if it is."""
        if word != self._word:
            if self._word is not None and not self._frozen:
                for _ in range(min(self._run, _REPEATS - 1)):
                    self._learn(True)
                self._learn(False)
            self._word, self._since_ms, self._run, self._frozen = word, at_ms, 0, False
            return None
        self._run += 1
        self._frozen = self._frozen or self._too_long(at_ms)
        return self._since_ms if self._frozen else None

    def _learn(self, repeat: bool) -> None:
        if len(self._known) == _REPEATS:
            self._repeats -= self._known[0]
        self._known.append(repeat)
        self._repeats += repeat

    def _too_long(self, at_ms: int) -> bool:
        if len(self._known) < _LEAST_WORDS or at_ms - self._since_ms < 1000 * FROZEN_S:
            return False
        share = (self._repeats + 1) / (len(self._known) + self._beforehand + 2)
        return self._run * log(share) / 2 < _CHANCE
