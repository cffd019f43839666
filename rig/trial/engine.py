"""The engine: everything a stream gives goes in, trial events come out.

The same code runs live, in a replay and on a simulation. It holds no clock and does no I/O.
"""

from collections.abc import Mapping

from rig.sensing.readings import Calibration, with_units
from rig.sensing.sentences import Fault, Identity
from rig.sensing.stream import OperatorMark, Sample, StreamItem
from rig.setup import Boat, RigSetup
from rig.trial.events import Started, TrialEvent
from rig.trial.trial import Trial


class TrialEngine:
    """Runs one trial after another. `boats` may grow while it runs."""

    def __init__(self, setup: RigSetup, boats: Mapping[str, Boat]) -> None:
        self.trial: Trial | None = None  # the present one, or the last
        self._setup = setup
        self._boats = boats
        self._calibration = Calibration(setup)
        self._start_ms = 0
        self._now_ms = 0

    @property
    def running(self) -> bool:
        """Whether a trial is going on."""
        return self.trial is not None and self.trial.result is None

    def feed(self, item: StreamItem) -> list[TrialEvent]:
        """Take in the next thing from the stream."""
        match item:
            case Sample():
                self._now_ms = item.at_ms
                if self.trial is None or not self.running:
                    return []
                return self.trial.feed(self._seconds(item.at_ms), self._calibration.reading(item))
            case OperatorMark():
                return self._mark(item)
            case Identity():
                self._calibration.identity = item
                return []
            case Fault():
                if self.trial is None:
                    return []
                return self.trial.warn(f"The board says {item.code}: {item.text}.")

    def finish(self) -> list[TrialEvent]:
        """The stream is over: close a trial that is still open."""
        if self.trial is None or not self.running:
            return []
        return self.trial.stop(
            self._seconds(self._now_ms), "The recording ends before the test was stopped."
        )

    def _seconds(self, at_ms: int) -> float:
        return (at_ms - self._start_ms) / 1000

    def _mark(self, mark: OperatorMark) -> list[TrialEvent]:
        if mark.word == "start":
            return self._start(mark)
        if self.trial is None:
            return []
        at_s = self._seconds(mark.at_ms)
        match mark.word:
            case "stop":
                return self.trial.stop(at_s)
            case "sunk":
                return self.trial.sunk_by_hand(at_s)
            case "void":
                return self.trial.void(at_s)
            case _:
                return []  # notes are kept in the recording, for people

    def _start(self, mark: OperatorMark) -> list[TrialEvent]:
        events: list[TrialEvent] = []
        if self.trial is not None and self.running:
            events = self.trial.stop(
                self._seconds(self._now_ms),
                "The next test was started before this one was stopped.",
            )
        self._start_ms = self._now_ms = mark.at_ms
        boat = self._boats.get(mark.text)
        setup = with_units(self._setup, self._calibration.identity)
        self.trial = Trial(setup, mark.text, boat)
        events.append(Started(mark.text))
        if boat is None:
            events += self.trial.warn(f'No boat called "{mark.text}" was measured: no prediction.')
        return events
