"""Play a scenario on a bench, as fast as it goes: the recording, and what really happened."""

from collections.abc import Callable, Sequence
from random import Random
from typing import Any

from rig.sensing.sentences import Mark, encode
from rig.setup import Boat
from rig.simulator.bench import Bench
from rig.simulator.hands import Landed
from rig.simulator.ruler import true_boat
from rig.simulator.scenario import Scenario, TrialPart

_SETTLE_S = 3.0  # from setting the boat down to the start mark
_LINGER_S = 3.0  # on top of a hold, before the operator ends the trial
_LONGEST_S = 1800.0  # a trial that would never end is stopped here


def simulate(scenario: Scenario) -> tuple[bytes, dict[str, Any]]:
    """Return a recording and the truth behind it.

    The truth: {"trials": [{"boat", "outcome", "held_g", "held_items", "sunk_at_s",
    "additions": [{"at_s", "mass_g", "items"}], "capacity_g",
    "faults": [{"channel", "how", "from_s", "to_s"}]}]}, times in seconds since the start mark;
    `to_s` None: until the end. An addition's `at_s` is when its first item landed; additions
    include the one that sank the boat.

    Raises:
        OutOfRange: a boat does not fit the tub.
    """
    tape = Tape(scenario)
    if scenario.watch_min:
        tape.watch(60 * scenario.watch_min)
    trials = [tape.play(trial) for trial in scenario.trials]
    return b"".join(tape.lines), {"trials": trials}


class Tape:
    """Records trials; `on_row` looks at the bench after each row from the start mark on."""

    def __init__(self, scenario: Scenario, on_row: Callable[[Bench], None] | None = None) -> None:
        self.lines: list[bytes] = []
        self.bench = Bench(scenario.setup, scenario.conditions, scenario.seed)
        self.start_s = 0.0  # of the newest trial
        self._scenario = scenario
        self._on_row = on_row
        self._linger_s = scenario.setup.rig.hold_s + _LINGER_S

    def play(self, trial: TrialPart) -> dict[str, Any]:
        """Record one trial, after a pause if there was one before; return its truth."""
        bench = self.bench
        if self.lines:
            self._pause()
        bench.place_boat(self._true_boat(trial.boat), trial.fate, trial.items)
        self._run(_SETTLE_S)
        self._mark("start", trial.boat)
        start_s = self.start_s = bench.now_s
        bench.load_with(trial.plan)
        bench.die({str(channel): at_s for channel, at_s in trial.silent.items()})
        marked = False
        while bench.idle_s < self._linger_s and bench.now_s - start_s < _LONGEST_S:
            self.lines.append(bench.row())
            if self._on_row:
                self._on_row(bench)
            if trial.ends == "sunk" and not marked and self._gone_for_s() >= trial.tap_late_s:
                self._mark("sunk")
                marked = True
        if not marked:
            self._mark("void" if trial.ends == "void" else "stop")
        return _truth(bench, start_s, trial.ends == "void")

    def watch(self, for_s: float) -> None:
        """Record the tub alone."""
        self._run(for_s)

    def _true_boat(self, label: str) -> Boat:
        scenario = self._scenario
        rng = Random(f"ruler {scenario.seed} {label}")  # the same boat every time it sails
        return true_boat(scenario.boats[label], scenario.conditions.ruler, rng)

    def _gone_for_s(self) -> float:
        vessel = self.bench.world.vessel
        gone_at_s = vessel.gone_at_s if vessel else None
        return 0.0 if gone_at_s is None else self.bench.now_s - gone_at_s

    def _pause(self) -> None:
        self._run(1.0)
        self.bench.take_everything_out()
        self._run(self._scenario.pause_s)
        if self._scenario.conditions.board.restarts:
            self.bench.board.restart(self.bench.now_s)

    def _run(self, for_s: float) -> None:
        until_s = self.bench.now_s + for_s
        while self.bench.now_s < until_s - 1e-9:
            self.lines.append(self.bench.row())

    def _mark(self, word: str, text: str = "") -> None:
        self.lines.append(encode(Mark(self.bench.board.last_ms, word, text)))


def _truth(bench: Bench, start_s: float, void: bool) -> dict[str, Any]:
    vessel, hands = bench.world.vessel, bench.hands
    if vessel is None or hands is None:
        raise ValueError("a truth needs a trial")
    gone_at_s = vessel.gone_at_s
    end_s = bench.now_s if gone_at_s is None else gone_at_s
    held_g, held_items = held(hands.additions, end_s, bench.setup.rig.hold_s)
    return {
        "boat": vessel.boat.label,
        "outcome": "void" if void else vessel.fortune,
        "held_g": round(held_g, 4),
        "held_items": held_items,
        "sunk_at_s": None if gone_at_s is None else round(gone_at_s - start_s, 3),
        "additions": [
            {"at_s": round(a.at_s - start_s, 3), "mass_g": round(a.mass_g, 4), "items": a.items}
            for a in hands.additions
        ],
        "capacity_g": round(vessel.capacity_g, 4),
        "faults": faults_told(bench, start_s),
    }


def faults_told(bench: Bench, start_s: float) -> list[dict[str, Any]]:
    """What was ill since a start mark; `to_s` None: until the end."""
    return [
        {
            "channel": spell.channel,
            "how": spell.how,
            "from_s": round(spell.from_s - start_s, 3),
            "to_s": None if spell.to_s > bench.now_s else round(spell.to_s - start_s, 3),
        }
        for spell in bench.faults
        if spell.to_s > start_s
    ]


def held(additions: Sequence[Landed], end_s: float, hold_s: float) -> tuple[float, int]:
    """Return the largest load carried through a hold [g], and its items; (0, 0) for none.

    Args:
        end_s: when the boat went, or when watching ended.
    """
    best, load_g, items = (0.0, 0), 0.0, 0
    ends = [*(later.at_s for later in additions[1:]), end_s]
    for addition, until_s in zip(additions, ends, strict=True):
        load_g, items = load_g + addition.mass_g, items + addition.items
        if min(until_s, end_s) - addition.last_s >= hold_s:
            best = (load_g, items)
    return best
