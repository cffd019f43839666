"""The demo class: invented groups take their turn at a simulated tub until somebody stops it."""

from collections.abc import Mapping
from contextlib import suppress
from threading import Event
from typing import Protocol

from rig.errors import RigError, SetupInvalid
from rig.setup import Boat, RigSetup
from rig.simulator.conditions import Conditions, Fate
from rig.simulator.hands import Plan
from rig.simulator.pty_board import PtyBoard
from rig.simulator.scenario import Scenario, TrialPart, read_scenario

_POLL_S = 0.25
_SETTLE_S = 3.0  # from setting the boat down to the start
_LINGER_S = 3.0  # on top of a hold, before the teacher ends a trial that nothing more happens in
_LOOK_S = 4.0  # the boat stays in the tub so long after the end
_DEADLINE_S = 300.0  # three times what a trial of the class takes
_FIRST, _THEN = ((5.0, 10), (8.0, 10)), (8.0, 5)  # hands with no orders: [after_s, items]
_PAUSE_S = 8.0  # between two boats
_STUCK = 4  # a board whose clock hardly moves gets so many deadlines by our own count


class Teacher(Protocol):
    """Who taps the buttons. A method may raise RigError where a tap makes no sense."""

    def start(self, boat_label: str) -> None:
        """Start a trial with this boat."""

    def stop(self) -> None:
        """End the trial: nothing more will happen."""

    def void(self) -> None:
        """End the trial without a result."""

    def trial_over(self) -> bool:
        """Whether no trial is running, however it ended."""


class Tubside(Protocol):
    """What the class needs of a simulated rig; `PtyBoard` fits. Times are board seconds."""

    @property
    def now_s(self) -> float: ...
    @property
    def idle_s(self) -> float: ...
    def place_boat(self, boat: Boat, fate: Fate | None = None, items: int = ...) -> None: ...
    def load_with(self, plan: Plan) -> None: ...
    def take_everything_out(self) -> None: ...
    def wait(self, board_s: float, stopped: Event) -> bool: ...


class DemoClass:
    """Plays a scenario's trials in turn, for ever, with the teacher it is given.

    It goes on by itself when a trial is over, whoever ended it; a trial past its deadline is
    voided; a tap the teacher refuses costs that group its turn and nothing else.
    """

    def __init__(self, scenario: Scenario | None = None) -> None:
        self.scenario = scenario or read_scenario("class")

    @classmethod
    def with_rig(cls, setup: RigSetup, boats: Mapping[str, Boat]) -> "DemoClass":
        """Return a class that plays somebody's own boats on their own rig file.

        Raises SetupInvalid without a boat, or without an [item].
        """
        if not boats:
            raise SetupInvalid("There is no boat to play with.", "Add --boats boats.toml.")
        trials = tuple(TrialPart(boat=label, add=_FIRST, then=_THEN, silent={}) for label in boats)
        title = f"{setup.rig.name}, simulated"
        return cls(Scenario(title, 1, _PAUSE_S, setup, boats, Conditions(), trials))

    def board(self, speed: float = 1.0) -> PtyBoard:
        """Return the class's rig on a pseudo-terminal; the caller closes it."""
        return PtyBoard(
            self.scenario.setup, self.scenario.conditions, self.scenario.seed, speed=speed
        )

    def run(self, rig: Tubside, teacher: Teacher, stopped: Event) -> None:
        """Let one group after the other play until stopped."""
        while True:
            for trial in self.scenario.trials:
                with suppress(RigError):  # somebody else is at the Desk: the next group's turn
                    self._play(trial, rig, teacher, stopped)
                if rig.wait(_LOOK_S, stopped):
                    return
                rig.take_everything_out()
                if rig.wait(self.scenario.pause_s, stopped):
                    return

    def _play(self, trial: TrialPart, rig: Tubside, teacher: Teacher, stopped: Event) -> None:
        rig.place_boat(self.scenario.boats[trial.boat], trial.fate, trial.items)
        if rig.wait(_SETTLE_S, stopped):
            return
        teacher.start(trial.boat)
        rig.load_with(trial.plan)
        started_s, waited_s, asked = rig.now_s, 0.0, False
        linger_s = self.scenario.setup.rig.hold_s + _LINGER_S
        while not teacher.trial_over():
            waited_s += _POLL_S
            if rig.now_s - started_s > _DEADLINE_S or waited_s > _STUCK * _DEADLINE_S:
                teacher.void()
                return
            if rig.idle_s >= linger_s and not asked:
                asked = True
                teacher.stop()
            if rig.wait(_POLL_S, stopped):
                return
