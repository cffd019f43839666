"""The engine: everything a stream gives goes in, trial events come out.

The same code runs live, in a replay and on a simulation. It holds no clock and does no I/O.
"""

import re
from collections.abc import Mapping
from dataclasses import replace

from rig.sensing.health import RigHealth, Turn
from rig.sensing.readings import Calibration, with_units
from rig.sensing.sentences import Fault, Identity
from rig.sensing.stream import OperatorMark, Sample, StreamItem
from rig.setup import Boat, RigSetup
from rig.trial.events import FaultBegan, FaultOver, Started, TrialEvent
from rig.trial.trial import Trial

_SEEN_BY_HEALTH = ("E01", "E02", "E03")  # silent, saturated, no echo: told with from and to

_whole = re.compile(r"-?\d{1,4}", re.ASCII).fullmatch
_decimal = re.compile(r"-?\d{1,4}(\.\d{1,3})?", re.ASCII).fullmatch


class TrialEngine:
    """Runs one trial after another. `boats` may grow while it runs."""

    def __init__(self, setup: RigSetup, boats: Mapping[str, Boat]) -> None:
        self.trial: Trial | None = None  # the present one, or the last
        self._setup = setup
        self._boats = boats
        self._calibration = Calibration(setup)
        self._health = RigHealth(setup)
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
                return self._row(item)
            case OperatorMark():
                return self._mark(item)
            case Identity():
                self._calibration.identity = item
                return []
            case Fault():
                if self.trial is None or item.code in _SEEN_BY_HEALTH:
                    return []
                return self.trial.warn(f"The board says {item.code}: {item.text}.")

    def finish(self) -> list[TrialEvent]:
        """The stream is over: close a trial that is still open."""
        if self.trial is None or not self.running:
            return []
        return self.trial.stop(
            self._seconds(self._now_ms), "The recording ends before the test was stopped."
        )

    def _row(self, row: Sample) -> list[TrialEvent]:
        if self.trial is None or not self.running:
            return []
        events = self._turned(self._health.feed(row))
        believed = row
        if self._health.troubles:
            believed = replace(
                row,
                load_count=self._health.believed("load", row.load_count),
                surface_raw=self._health.believed("surface", row.surface_raw),
                rim_raw=self._health.believed("rim", row.rim_raw),
            )
        at_s = self._seconds(row.at_ms)
        return events + self.trial.feed(at_s, self._calibration.reading(believed))

    def _turned(self, turns: list[Turn]) -> list[TrialEvent]:
        if self.trial is None:
            return []
        return [event for turn in turns for event in self.trial.fault(self._told(turn))]

    def _told(self, turn: Turn) -> FaultBegan | FaultOver:
        since_s = self._seconds(turn.trouble.since_ms)
        channel, ailment = turn.trouble.channel, turn.trouble.ailment
        if turn.over_ms is None:
            return FaultBegan(channel, ailment, since_s)
        return FaultOver(channel, ailment, since_s, self._seconds(turn.over_ms))

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
            case "fix":
                return self.trial.fix(mark.text)
            case "tick":
                events = self._turned(self._health.nothing(mark.at_ms))
                return events + self.trial.tick(at_s)
            case "count":
                return self.trial.count_by_hand(at_s, int(mark.text)) if _whole(mark.text) else []
            case "ruler":
                return self.trial.ruler(at_s, float(mark.text)) if _decimal(mark.text) else []
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
        self._health = RigHealth(self._setup, self._calibration.identity)
        self.trial = Trial(setup, mark.text, boat)
        events.append(Started(mark.text))
        if boat is None:
            events += self.trial.warn(f'No boat called "{mark.text}" was measured: no prediction.')
        return events
