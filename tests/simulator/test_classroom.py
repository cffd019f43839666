"""The demo class goes on by itself and never hangs; played here on a clock of its own."""

from dataclasses import dataclass, field
from threading import Event, Thread

import pytest

from rig.errors import OutOfPlace
from rig.setup import Boat
from rig.simulator.bench import ITEMS, Bench
from rig.simulator.classroom import DemoClass
from rig.simulator.conditions import Fate
from rig.simulator.hands import Plan
from rig.simulator.scenario import read_scenario
from rig.simulator.tape import simulate


class InstantTub:
    """A bench that is moved on by waiting for it."""

    def __init__(self, demo: DemoClass) -> None:
        scenario = demo.scenario
        self.bench = Bench(scenario.setup, scenario.conditions, scenario.seed)
        self.emptied = 0

    @property
    def now_s(self) -> float:
        return self.bench.now_s

    @property
    def idle_s(self) -> float:
        return self.bench.idle_s

    def place_boat(self, boat: Boat, fate: Fate | None = None, items: int = ITEMS) -> None:
        self.bench.place_boat(boat, fate, items)

    def load_with(self, plan: Plan) -> None:
        self.bench.load_with(plan)

    def take_everything_out(self) -> None:
        self.emptied += 1
        self.bench.take_everything_out()

    def wait(self, board_s: float, stopped: Event) -> bool:
        until_s = self.now_s + board_s
        while self.now_s < until_s and not stopped.is_set():
            self.bench.row()
        return stopped.is_set()


class StandingTub(InstantTub):
    """Its board has died: the clock does not move."""

    def wait(self, board_s: float, stopped: Event) -> bool:
        return stopped.is_set()


@dataclass
class Watcher:
    """A teacher whose engine sees the boat go down 4 s after it lies on the floor."""

    tub: InstantTub
    stopped: Event
    turns: int
    sees: bool = True
    log: list[tuple[str, str, float]] = field(default_factory=list)
    running: str | None = None
    refuses: str | None = None
    asked_to_stop: int = 0

    def start(self, boat_label: str) -> None:
        self.turns -= 1
        if self.turns < 0:
            self.stopped.set()
        if boat_label == self.refuses:
            raise OutOfPlace("A trial is running.", "End it first.")
        self.running = boat_label
        self._note("start")

    def stop(self) -> None:
        self.asked_to_stop += 1
        self._end("stop" if self.sees else None)

    def void(self) -> None:
        self._end("void")

    def trial_over(self) -> bool:
        vessel = self.tub.bench.world.vessel
        if self.sees and vessel and vessel.at_rest_s and self.tub.now_s > vessel.at_rest_s + 4:
            self._end(vessel.fortune)
        return self.running is None

    def _end(self, word: str | None) -> None:
        if self.running and word:
            self._note(word)
            self.running = None

    def _note(self, word: str) -> None:
        self.log.append((word, str(self.running), self.tub.now_s))


def play(turns: int, tub_type: type[InstantTub] = InstantTub, **teacher: object) -> Watcher:
    demo, stopped = DemoClass(), Event()
    watcher = Watcher(tub_type(demo), stopped, turns, **teacher)
    demo.run(watcher.tub, watcher, stopped)
    return watcher


def test_seven_groups_in_turn_and_round_again():
    log = play(8).log
    scenario = read_scenario("class")
    labels = [label for word, label, _ in log if word == "start"]
    assert labels[:8] == [*scenario.boats, "Otters"]
    # the afloat one is ended by the class itself; the others by what the teacher sees
    expected = [t["outcome"].replace("afloat", "stop") for t in simulate(scenario)[1]["trials"]]
    assert [word for word, *_ in log if word != "start"][:7] == expected
    assert expected.count("stop") == 1


def test_a_trial_takes_60_to_105_board_seconds_and_a_pause_follows():
    log = play(8).log
    for (_, label, begun_s), (_, _, ended_s) in zip(log[:14:2], log[1:14:2], strict=True):
        assert 60 <= ended_s - begun_s <= 105, label
    for (_, _, ended_s), (_, label, begun_s) in zip(log[1:13:2], log[2:14:2], strict=True):
        assert begun_s - ended_s == pytest.approx(4 + 8 + 3, abs=1), label  # look, pause, settle


def test_a_trial_that_never_ends_is_voided_and_the_next_group_comes():
    watcher = play(2, sees=False)
    log = watcher.log
    words = [(word, label) for word, label, _ in log]
    assert words[:4] == [
        ("start", "Otters"),
        ("void", "Otters"),
        ("start", "Newts"),
        ("void", "Newts"),
    ]
    assert log[1][2] - log[0][2] == pytest.approx(300, abs=1)
    assert watcher.asked_to_stop == 2  # once a trial, before it was voided


def test_a_dead_board_does_not_hang_the_class():
    words = [word for word, *_ in play(2, StandingTub, sees=False).log]
    assert words[:4] == ["start", "void", "start", "void"]


def test_a_refused_start_costs_one_group_its_turn():
    watcher = play(3, refuses="Newts")
    assert [label for word, label, _ in watcher.log if word == "start"][:2] == ["Otters", "Dippers"]
    assert watcher.tub.emptied >= 3


class Absent:
    """A teacher for whom every trial is over at once."""

    def __init__(self) -> None:
        self.started = Event()

    def start(self, boat_label: str) -> None:
        self.started.set()

    def stop(self) -> None: ...

    def void(self) -> None: ...

    def trial_over(self) -> bool:
        return True


def test_on_a_real_line_it_stops_when_told():
    demo, stopped, teacher = DemoClass(), Event(), Absent()
    with demo.board(speed=100) as board:
        thread = Thread(target=demo.run, args=(board, teacher, stopped))
        thread.start()
        assert teacher.started.wait(20)
        stopped.set()
        thread.join(20)
        assert not thread.is_alive()
        assert board.now_s >= 2  # three seconds, but for what its thread lags on a busy machine
