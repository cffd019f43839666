"""Tub, boat, hands, gauges and board on one clock, which is the board's own."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import ceil, floor, inf
from random import Random

from rig.errors import SetupInvalid
from rig.physics.hx711 import CODE_HIGH
from rig.setup import Boat, RigSetup
from rig.simulator.board import Board
from rig.simulator.conditions import Conditions, Fate
from rig.simulator.disturbances import Disturbance, How
from rig.simulator.gauges import Gauges, Raw, units_of
from rig.simulator.hands import Hands, Plan, lay_out
from rig.simulator.wire import Wire
from rig.simulator.world import World

_MAX_STEP_S = 0.01
_CHANNELS = ("load", "surface", "rim", "water")
_BOARDS_OWN = ("reset", "rate", "fault", "port")
ITEMS = 150  # laid out on the tray unless told otherwise


@dataclass(slots=True)
class Spell:
    """A time in which a sensor was ill, or the line broken ("port")."""

    channel: str
    how: str
    from_s: float
    to_s: float
    word: int | None = None  # what a frozen sensor says


class Bench:
    """A whole simulated rig; `row` is all that moves time.

    The draws for hands, water and noise come from three generators, so that the same seed
    gives the same hands whatever the noise.
    """

    def __init__(self, setup: RigSetup, conditions: Conditions, seed: int = 0) -> None:
        if setup.item is None:
            raise SetupInvalid("The set-up has no [item].", "Say what the children put aboard.")
        board = conditions.board
        self.setup = setup
        self.world = World(setup, conditions, Random(f"water {seed}"))
        self.hands: Hands | None = None
        self.faults: list[Spell] = []  # what was ill, oldest first
        units = units_of(setup, conditions.water.thermometer)
        self.board = Board(
            units, board.rate_hz, board.first_seq, board.first_ms, board.complains_after_s
        )
        self.wire = Wire(conditions.line, Random(f"line {seed}"))
        self.unseen: list[tuple[float, float]] = []  # resets: last row before, clock begins anew
        self._item = setup.item
        self._rng = Random(f"hands {seed}")
        self._rate_hz, self._gauge_hz = board.rate_hz, board.gauge_hz
        self._rows, self._rows_from_s = 0, 0.0
        self._off_until_s: float | None = None
        self._stumbles: list[tuple[float, Disturbance]] = []  # the board's own, latest first
        self.world.tray = lay_out(self._item, ITEMS, self._rng)
        self.gauges = Gauges(setup, conditions, seed)

    @property
    def now_s(self) -> float:
        """Board time since the bench was made [s]."""
        return self.world.now_s

    @property
    def idle_s(self) -> float:
        """For how long nothing has been left to happen [s]; 0 while something still will.

        Something will while hands are at work, a boat is on its way down, or water leaks in.
        """
        vessel = self.world.vessel
        if vessel is None or self.hands is None:
            return 0.0
        if vessel.at_rest_s is not None:
            return max(0.0, self.now_s - vessel.at_rest_s)
        if not self.hands.done or vessel.fate.leak_ml_s > 0 or not self.hands.additions:
            return 0.0
        return self.now_s - self.hands.additions[-1].last_s

    def place_boat(self, boat: Boat, fate: Fate | None = None, items: int = ITEMS) -> None:
        """Set an empty boat down and lay items out. Raises OutOfRange where it cannot float."""
        self.world.place(boat, fate or Fate(), lay_out(self._item, items, self._rng))
        self.hands = None

    def lay_on_tray(self, *masses_g: float) -> None:
        """Put these on the tray in place of what lies there: known masses, of a calibration."""
        self.world.tray = list(masses_g)

    def fall_ill(self, channel: str, how: How, for_s: float = inf) -> None:
        """Let a sensor fail, from now on; "port" breaks the line."""
        self.faults.append(Spell(channel, how, self.now_s, self.now_s + for_s))

    def die(self, after_s: Mapping[str, float]) -> None:
        """Let sensors fall silent for good, each so long from now."""
        for channel, s in after_s.items():
            self.faults.append(Spell(channel, "silent", self.now_s + s, inf))

    def recover(self) -> None:
        """End whatever is ill now."""
        for spell in self.faults:
            spell.to_s = min(spell.to_s, self.now_s)

    def reset(self, for_s: float) -> None:
        """Let the board lose power and say nothing for a while."""
        if self._off_until_s is None:
            self._off_until_s = self.now_s + for_s
            self.unseen.append((self.now_s, self._off_until_s))

    def load_with(self, plan: Plan) -> None:
        """Let hands begin to put items aboard."""
        self.hands = Hands(plan, self.now_s, self._rng)
        self._stumbles = _stumbles(plan.disturb, self.now_s)

    def take_everything_out(self) -> None:
        """Take boat and load out of the tub; dead sensors come back."""
        self.world.take_out()
        self.hands = None
        self.recover()
        self._stumbles.clear()

    def row(self) -> bytes:
        """Go on to the board's next row; return its lines as they arrive, if it speaks."""
        self._rows += 1
        before_s = self.now_s
        to_go_s = self._rows_from_s + self._rows / self._rate_hz - before_s
        steps = max(1, ceil(to_go_s / _MAX_STEP_S - 1e-6))
        for _ in range(steps):
            self.world.step(to_go_s / steps)
            if self.hands:
                self.hands.work(self.world)
        if self._stumbles or self._off_until_s is not None:
            self._stumble(before_s)
        if self._off_until_s is not None:
            return b""
        heights = self._heights_due(before_s)
        heard = frozenset(_CHANNELS if heights else _CHANNELS[:1])
        lines = self.board.row(self.now_s, self._raw(heights), heard)
        return b"" if self._ill("port") else self.wire.carry(lines)

    def _heights_due(self, before_s: float) -> bool:
        if self._gauge_hz is None:
            return True
        return floor(self.now_s * self._gauge_hz + 1e-6) > floor(before_s * self._gauge_hz + 1e-6)

    def _raw(self, heights: bool) -> Raw:
        raw = self.gauges.read(self.world, self._rate_hz, heights)
        if not self.faults:
            return raw
        load, surface, rim, water = (
            self._said(channel, value) for channel, value in zip(_CHANNELS, raw, strict=True)
        )
        return load, surface, rim, water

    def _said(self, channel: str, word: int | None) -> int | None:
        """What a sensor says instead of its word, if it is ill."""
        spell = self._ill(channel)
        if spell is None or word is None:
            return word
        if spell.how == "frozen":
            spell.word = word if spell.word is None else spell.word
            return spell.word
        return CODE_HIGH if spell.how == "saturated" else None

    def _ill(self, channel: str) -> Spell | None:
        now_s = self.now_s
        ill = (s for s in self.faults if s.channel == channel and s.from_s <= now_s < s.to_s)
        return next(ill, None)

    def _stumble(self, last_row_s: float) -> None:
        """The board resets, comes up again, or changes its rate, if that is due."""
        while self._stumbles and self._stumbles[-1][0] <= self.now_s:
            at_s, what = self._stumbles.pop()
            if what.kind == "reset" and self._off_until_s is None:
                self._off_until_s = at_s + what.for_s
                self.unseen.append((last_row_s, self._off_until_s))
            elif what.kind == "rate":
                self._rate_hz = what.rate_hz
                self._rows, self._rows_from_s = 0, self.now_s
                self.board.change_rate(what.rate_hz)
            elif what.kind in ("fault", "port"):
                channel = what.channel if what.kind == "fault" else "port"
                self.faults.append(Spell(channel, what.how, at_s, at_s + what.for_s))
        if self._off_until_s is not None and self.now_s > self._off_until_s:
            self.board.restart(self._off_until_s)
            self._off_until_s = None


def _stumbles(disturb: Iterable[Disturbance], start_s: float) -> list[tuple[float, Disturbance]]:
    board = [(start_s + d.at_s, d) for d in disturb if d.kind in _BOARDS_OWN]
    return sorted(board, key=lambda due: due[0], reverse=True)
