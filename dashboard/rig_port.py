"""What the pages ask of a rig: the service fits this, and so does the tests' stand-in."""

from collections.abc import Mapping
from typing import Any, Protocol

from rig.service.live import LiveFeed


class BenchPort(Protocol):
    """Calibrations, checks and weighings, step by step. Each call returns what to show."""

    def begin(self, kind: str, options: Mapping[str, Any], note: str) -> Mapping[str, Any]:
        """Begin one, in place of one that was left lying; never while a trial runs."""

    def press(self, word: str, typed: str) -> Mapping[str, Any]:
        """`ready`, with what was typed; `redo`; or `stop`."""

    def look(self) -> Mapping[str, Any]:
        """Nothing new, only the newest."""

    def write(self) -> Mapping[str, Any]:
        """Put the result into the rig file, and to use."""

    def leave(self) -> Mapping[str, Any]:
        """Put it away; what was measured is kept."""


class RigPort(Protocol):
    """One rig. Every call may come from any thread and may raise RigError."""

    @property
    def live(self) -> LiveFeed:
        """What the rig says; topics "rig", "source", "trial", "now", "class", "foretold"."""

    @property
    def bench(self) -> BenchPort:
        """The workbench beside the trials."""

    def start(self, label: str) -> None:
        """Begin a trial of a boat: the next thing the rig does is tare."""

    def stop(self) -> None:
        """End the trial with the boat afloat."""

    def sunk(self) -> None:
        """The boat went down, says the teacher."""

    def void(self) -> None:
        """This trial does not count; its readings are kept."""

    def count(self, items: int) -> None:
        """While the scale is out: so many items more are aboard, below 0 fewer."""

    def ruler(self, freeboard_mm: float) -> None:
        """So much wall is above the water now, read with a ruler."""

    def note(self, text: str) -> None:
        """Write something beside the readings."""

    def correcting(self, number: int) -> Mapping[str, Any]:
        """What can be put right about a finished trial: its additions, its end, what was."""

    def correct(self, number: int, text: str) -> Mapping[str, Any]:
        """Put something right, in the words of a `fix` mark; return `correcting` as it is now."""

    def next_boat(self) -> str | None:
        """Make the next boat ready; return its label, None when all have had their turn."""

    def add_boat(self, boat: Mapping[str, Any]) -> None:
        """Add a boat, given as a `[[boat]]` table of the boats file."""

    def safety_seen(self) -> None:
        """The teacher has read the safety lines today."""

    def recordings(self, number: int) -> bytes:
        """The recording of a trial: its sentences as they came."""
