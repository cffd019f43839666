"""What goes into the records and comes out again."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

FIRST_YEAR: Final = 2025  # a clock before this program's time has not been set


@dataclass(frozen=True, slots=True)
class Block:
    """Bytes as the wire said them, whole lines, and when they arrived by this machine's clock.

    An operator's mark written by the host is a block too. The clock of a single-board computer
    may be wrong or jump: blocks are ordered as they were kept, never by `received_at`.
    """

    received_at: datetime  # with a time zone
    data: bytes


@dataclass(frozen=True, slots=True)
class TrialRow:
    """One kept trial. The tables' columns, plus the rig's name.

    `setup` is what `RigSetup.model_validate` takes, `boat` what `boat_from_dict` takes, `result`
    a `TrialResult.as_dict()` as JSON gives it back; it is None while the trial is open. `corrected`
    is the same with the corrections that stand, None if none do. The figures outside of both are
    what counts now.
    """

    id: str
    number: int
    run_id: str
    rig_name: str
    boat_label: str
    boat: Mapping[str, Any]
    setup: Mapping[str, Any]
    identity: bytes | None
    started_at_utc: datetime
    first_block_id: int
    last_block_id: int | None
    closed: bool
    outcome: str | None
    held_g: float | None
    held_items: int | None
    sunk_at_s: float | None
    predicted_capacity_g: float | None
    result: Mapping[str, Any] | None
    corrected: Mapping[str, Any] | None
    mended_start_utc: datetime | None = None

    @property
    def began_at_utc(self) -> datetime | None:
        """When it began; None where the clock was never set."""
        at = self.mended_start_utc or self.started_at_utc
        return at if at.year >= FIRST_YEAR else None

    @property
    def day(self) -> date:
        """The school's day it began on; a wrong one where the clock was never set."""
        return (self.began_at_utc or self.started_at_utc).astimezone().date()

    @property
    def standing_result(self) -> Mapping[str, Any] | None:
        """The result that counts now."""
        return self.corrected or self.result
