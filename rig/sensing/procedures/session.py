"""One procedure as it goes on: ask, wait for a steady reading, next. Pure; time is the stream's.

What a person presses comes in as an operator's note (`ready`, `redo`, `stop`) between the rows, so
a recording played again gives the same readings and the same result.
"""

from enum import StrEnum
from typing import Any, Final

from rig.errors import OutOfPlace
from rig.sensing.health import RigHealth
from rig.sensing.procedures.known import Known
from rig.sensing.procedures.steady import Reading, Steady, Unsettled, Watch, Watched
from rig.sensing.procedures.steps import Job, Outcome, Step, Taken
from rig.sensing.remedies import line_for
from rig.sensing.sentences import Identity
from rig.sensing.stream import OperatorMark, Sample, StreamItem
from rig.setup import RigSetup

TAG: Final = "bench"  # the first word of our notes
READY, REDO, STOP = "ready", "redo", "stop"
ILL_S: Final = 2.0  # a gauge may need so long to hear its flag again


class Phase(StrEnum):
    """ASKING waits for a person, READING for the channel; DONE is the end."""

    ASKING = "asking"
    READING = "reading"
    DONE = "done"


class Session:
    """Feed it the stream; it keeps what was taken. Quitting loses nothing that was measured."""

    def __init__(self, job: Job, setup: RigSetup, identity: Identity | None = None) -> None:
        self.job = job
        self.phase = Phase.ASKING
        self.taken: list[Taken] = []
        self.withdrawn = 0
        self.trouble = ""  # why the last reading was not taken, and what to do
        self._setup, self._identity = setup, identity
        self._health = RigHealth(setup, identity)
        self._known: Known | None = None
        self._wait: Steady | Watch | None = None
        self._newest: int | None = None
        self._since_ms: int | None = None  # when an ill channel was first met in this reading

    @property
    def step(self) -> Step | None:
        """The step that is asked for or being read; None at the end."""
        number = len(self.taken)
        return None if self.phase is Phase.DONE else self.job.steps[number]

    def feed(self, item: StreamItem) -> None:
        """Take in the next item. A note that is out of place changes nothing."""
        match item:
            case Identity():
                self._identity = item
            case OperatorMark(word="note", text=text):
                tag, _, rest = text.partition(" ")
                word, _, typed = rest.partition(" ")
                if tag == TAG and word in (READY, REDO, STOP):
                    try:
                        self.act(word, typed)
                    except (OutOfPlace, ValueError):
                        return
            case Sample():
                self._health.feed(item)
                self._row(item)

    def check(self, word: str, typed: str = "") -> None:
        """Raise what `act` would raise, and change nothing.

        Raises:
            OutOfPlace: this does not fit the phase.
            OutOfRange: what was typed is no known value.
        """
        step = self.step
        if step is None:
            if word == REDO and len(self.taken) == len(self.job.steps):
                return  # the last step may be taken again, too
            raise OutOfPlace("This is finished.", "Begin another one.")
        if word == READY:
            if self.phase is not Phase.ASKING:
                raise OutOfPlace("A reading is being taken.", "Wait until it is there.")
            if typed.strip():
                self.job.known_from(step, typed)
        elif word == REDO and not (self.taken or self.phase is Phase.READING):
            raise OutOfPlace("Nothing has been read yet.", "Do the first step.")

    def act(self, word: str, typed: str = "") -> None:
        """Ready for a reading; once more; or stop here. Raises as `check`."""
        self.check(word, typed)
        step = self.step
        self.trouble = ""
        if word == READY and step is not None:
            self._known = self.job.known_from(step, typed) if typed.strip() else step.known
            self._wait = Watch(step.watch_s) if step.watch_s else Steady()
            self.phase, self._since_ms = Phase.READING, None
        elif word == REDO:
            if self.phase is not Phase.READING:
                self.taken.pop()
                self.withdrawn += 1
            self.phase, self._wait = Phase.ASKING, None
        else:
            self.phase, self._wait = Phase.DONE, None

    def give_up(self, why: str) -> None:
        """The shell has waited long enough for any row at all: ask again."""
        if self.phase is Phase.READING:
            self.phase, self._wait, self.trouble = Phase.ASKING, None, why

    def outcome(self) -> Outcome:
        """Return what was found so far. Raises OutOfRange for too few readings."""
        return self.job.outcome(self.taken, self._setup, self._identity)

    def view(self) -> dict[str, Any]:
        """Return all that a page or a prompt shows."""
        step = self.step
        return {
            "kind": self.job.kind,
            "phase": self.phase.value,
            "number": min(len(self.taken) + 1, len(self.job.steps)),
            "steps": len(self.job.steps),
            "asks": step.asks if step else "",
            "field": step.field if step else "",
            "known": step.known.words if step else "",
            "watch_s": step.watch_s if step else 0.0,
            "part": self._wait.part if self._wait else 0.0,
            "shows": self._shows(self._newest),
            "trouble": self.trouble,
            "taken": [self._told(taken) for taken in self.taken],
        }

    def _told(self, taken: Taken) -> dict[str, str]:
        place = f" {taken.step.place}" if taken.step.place else ""
        reading = taken.reading
        shows = self.job.shows(reading.raw, reading.raw_sd, self._setup, self._identity)
        return {"known": taken.known.words + place, "shows": shows}

    def _shows(self, word: int | None) -> str:
        if word is None:
            return ""
        return self.job.shows(word, 0.0, self._setup, self._identity)

    def _row(self, row: Sample) -> None:
        word = {"load": row.load_count, "surface": row.surface_raw, "rim": row.rim_raw}[
            self.job.channel
        ]
        self._newest = word if word is not None else self._newest
        if self._wait is None or self._known is None:
            return
        if row.restarted:
            self.give_up("The board has just started again. Wait a moment, then take this again.")
            return
        ill = self._health.troubles.get(self.job.channel)
        if ill is not None:
            self._since_ms = row.at_ms if self._since_ms is None else self._since_ms
            if row.at_ms - self._since_ms >= 1000 * ILL_S:
                item = self._setup.item.name if self._setup.item else None
                self.give_up(line_for(ill, self._setup, self._health.troubles, False, item))
            return
        came = self._wait.feed(row.at_ms, word)
        if isinstance(came, Unsettled):
            self.give_up(self._unsettled(came))
        elif came is not None:
            self._take(came)

    def _take(self, came: Reading | Watched) -> None:
        step = self.step
        assert step is not None and self._known is not None, "reading a step"
        if isinstance(came, Watched):
            self.taken.append(Taken(step, self._known, came.steady, came))
        else:
            self.taken.append(Taken(step, self._known, came))
        self._wait = self._known = None
        over = len(self.taken) == len(self.job.steps)
        self.phase = Phase.DONE if over else Phase.ASKING

    def _unsettled(self, came: Unsettled) -> str:
        if came.moved is None:
            return "No reading came. Check the plug of this sensor, then take this again."
        return (
            "The reading did not come to rest. Take your hands off, let the water calm down,"
            " then take this again."
        )
