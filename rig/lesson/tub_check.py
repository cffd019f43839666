"""A whole check of a tub: everything a stream gives goes in, a verdict comes out now and then.

The same code runs on the live port, inside the running rig and on a recording.
"""

from collections.abc import Iterable

from rig.errors import RigError
from rig.lesson.tub_facts import TubFacts, walk_per_sqrt_h
from rig.lesson.tub_verdict import TubVerdict, judge, look_times_min
from rig.lesson.tub_watch import By, TubWatch
from rig.sensing.readings import Calibration
from rig.sensing.sentences import Identity
from rig.sensing.stream import OperatorMark, Sample, StreamItem
from rig.setup import RigSetup


class TubCheck:
    """Feeds on stream items of a tub that nobody touches.

    A start mark ends the watch for good: from then on there is a boat in the tub.
    """

    def __init__(self, setup: RigSetup, facts: TubFacts) -> None:
        self.facts = facts
        self.verdict: TubVerdict | None = None  # of the newest look
        self.ended = False
        self._setup = setup
        self._calibration = Calibration(setup)
        self._watch = TubWatch(facts.by)
        self._looks = look_times_min()
        self._next_min = next(self._looks)

    @property
    def minutes(self) -> float:
        """How long the tub has been watched."""
        return self._watch.minutes

    def feed(self, items: Iterable[StreamItem]) -> TubVerdict | None:
        """Take in what the stream gives; return a verdict when it is time for a look."""
        looked = None
        for item in items:
            if isinstance(item, Identity):
                self._calibration.identity = item
            elif isinstance(item, OperatorMark) and item.word == "start":
                self.ended = True
            elif isinstance(item, Sample) and not self.ended:
                self._watch.feed(self._calibration.reading(item))
                if self._watch.minutes >= self._next_min:
                    looked = self.look()
                    while self._next_min <= self._watch.minutes:
                        self._next_min = next(self._looks)
        return looked

    def look(self) -> TubVerdict:
        """Return what the watch has shown up to now. Raises RigError where it cannot be told."""
        watched = self._watch.watched()
        typical = float(watched.value.mean()) if watched.value.size else 0.0
        depth_mm = None
        if self.facts.by is By.LEVEL and self._setup.tub is not None and watched.value.size:
            table = self._setup.tub.table
            level_mm = min(max(typical, table.pours[0][0]), table.pours[-1][0])
            depth_mm = 1000 * table.volume_ml(level_mm) / table.area_mm2(level_mm)
        walk = walk_per_sqrt_h(self._setup, self.facts.by, typical)
        self.verdict = judge(watched, self.facts, walk, depth_mm)
        return self.verdict

    def must_have_heard(self) -> None:
        """Raise RigError if not a single row came."""
        if self._watch.minutes == 0:
            raise RigError(
                "There is not a minute of readings in it.",
                "Take a recording of the tub without a boat.",
            )
