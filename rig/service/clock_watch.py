"""Has somebody set the clock? A small computer without a battery wakes up in some other year."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import monotonic
from typing import Final

from rig.records import FIRST_YEAR

STEP: Final = timedelta(seconds=60)  # less is a clock that is being steered, not set
BOOT_FILE: Final = Path("/proc/sys/kernel/random/boot_id")


class ClockWatch:
    """Compares the wall clock with one that only ever runs; both handed in.

    Args:
        wall: the time of day, with its zone.
        running: seconds that no setting of the clock changes.
    """

    def __init__(
        self,
        wall: Callable[[], datetime] = lambda: datetime.now(UTC),
        running: Callable[[], float] = monotonic,
    ) -> None:
        self._wall, self._running = wall, running
        self._offset = self._now()

    def stepped(self) -> timedelta | None:
        """Return by how much the clock was set since the last look; None if it was not.

        A clock that shows a year before this program is not believed: its step is kept for later.
        """
        step = self._now() - self._offset
        if abs(step) < STEP:
            self._offset += step  # steered, or the two drift apart
            return None
        if self._wall().year < FIRST_YEAR:
            return None
        self._offset += step
        return step

    def _now(self) -> datetime:
        return self._wall() - timedelta(seconds=self._running())


def boot_id(file: Path = BOOT_FILE) -> str | None:
    """Return what names this start of the computer; None where it does not say."""
    try:
        return file.read_text(encoding="ascii").strip() or None
    except OSError:
        return None
