"""What a person is asked to do, and what came of it. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Protocol

from rig.sensing.procedures.known import Known
from rig.sensing.procedures.steady import Reading, Watched
from rig.sensing.sentences import Identity
from rig.setup import RigSetup
from rig.setup.finding import Finding

# A result with one of these is not written into a rig file; slow creep or rubbing is only said.
CONTRADICTIONS: Final = (
    "swapped points",
    "wrong known value",
    "do not fit together",
    "contradictory point",
    "contradictory pour",
    "turns back",
    "dead band",
)


@dataclass(frozen=True)
class Step:
    """One thing to do, then a steady reading.

    Attributes:
        asks: what to do, in one sentence.
        known: the known value that is there then.
        field: what a person may type instead of `known`, as the words before a field; empty
            where there is nothing to type.
        watch_s: leave it alone for so long and see whether the reading creeps; 0 for no watch.
        place: where a load stands, for corners.
    """

    asks: str
    known: Known
    field: str = ""
    watch_s: float = 0.0
    place: str = ""


@dataclass(frozen=True)
class Taken:
    """A step done: the reading, and after a watch how it began and ended."""

    step: Step
    known: Known
    reading: Reading
    watched: Watched | None = None


@dataclass(frozen=True)
class Outcome:
    """What a procedure found.

    Attributes:
        says: the result, one sentence each.
        findings: what was looked at, with what to do.
        sets: sections of the rig file and their new keys.
        rows: one a point, for tables and files.
        figure: data and layout of a plot, plain dictionaries; None for none.
    """

    says: tuple[str, ...]
    findings: tuple[Finding, ...]
    sets: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    rows: tuple[Mapping[str, Any], ...] = ()
    figure: Mapping[str, Any] | None = None

    @property
    def ok(self) -> bool:
        """Whether there is nothing to mend."""
        return all(finding.ok for finding in self.findings)

    @property
    def contradicts(self) -> str:
        """What the points contradict each other in; empty where nothing keeps them from use."""
        against = (f for f in self.findings if not f.ok and f.about in CONTRADICTIONS)
        return ", ".join(dict.fromkeys(f.about for f in against))

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return {
            "ok": self.ok,
            "says": list(self.says),
            "findings": [finding.as_dict() for finding in self.findings],
            "sets": {name: dict(keys) for name, keys in self.sets.items()},
            "rows": [dict(row) for row in self.rows],
            "figure": self.figure,
        }


class Job(Protocol):
    """One kind of procedure: its steps, and what they come to."""

    kind: str
    channel: str  # "load", "surface" or "rim"
    steps: tuple[Step, ...]

    def known_from(self, step: Step, text: str) -> Known:
        """Return what a person typed instead of a step's own value. Raises OutOfRange."""

    def shows(self, raw: float, raw_sd: float, setup: RigSetup, identity: Identity | None) -> str:
        """Return a raw number in words, by the calibration there is so far."""

    def outcome(
        self, taken: Sequence[Taken], setup: RigSetup, identity: Identity | None
    ) -> Outcome:
        """Return what the steps done so far come to. Raises OutOfRange for too few."""
