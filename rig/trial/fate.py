"""Why a boat went down, from the numbers."""

from dataclasses import dataclass

from rig.trial.events import Outcome

NEAR_CAPACITY = 0.08  # of the capacity: what ruler and bent walls easily make (no source)
NEAR_RIM_MM = 1.5  # so little freeboard left by the last load: the next wave comes over
SOON_S = 3.0  # going down later than this after an addition is going down at constant load
WATER_IN_MM = 3.0  # lower than the load explains by so much: there is water in it

_FULL = "It was full: the water came over the rim."
_LEAK = "It went down while nobody added a thing: water got in."


@dataclass(frozen=True, slots=True)
class LastMoments:
    """What was known when the boat went down. None where the rig could not tell."""

    load_g: float
    capacity_g: float | None
    item_g: float | None
    since_addition_s: float  # from the last addition to the rim going under
    left_mm: float | None  # by the rim gauge: what the last load should have left of the wall
    left_mm_sd: float | None
    slid_mm: float | None  # freeboard lost at constant load over the last plateau
    slid_sure: bool  # whether that is beyond the gauge's noise
    missing_mm: float | None  # predicted less measured freeboard, beyond what it was at the start
    unseen: bool  # only a tap says that it went down, and a gauge saw it well afloat


def fate_of(last: LastMoments) -> tuple[Outcome, str]:
    """Return the outcome and one plain sentence with the reason; "not sure" where it is not."""
    late = last.since_addition_s > SOON_S
    if last.unseen:
        return _by_capacity(last, late)[0], "Not sure why: the gauges still saw it afloat."
    if late and last.slid_sure and (last.slid_mm or 0.0) > 1.0:
        return Outcome.LEAKED, (
            f"It sank {last.slid_mm:.0f} mm lower while nobody added a thing: water got in."
        )
    if last.missing_mm is not None and last.missing_mm > WATER_IN_MM:
        return Outcome.LEAKED, (
            f"It lay {last.missing_mm:.0f} mm deeper than its load explains: water got in."
        )
    if last.left_mm is None or last.left_mm_sd is None:
        return _by_capacity(last, late)
    if last.left_mm <= NEAR_RIM_MM:
        return Outcome.SWAMPED, _FULL
    if last.left_mm <= NEAR_RIM_MM + 2 * last.left_mm_sd:
        return _by_capacity(last, late)  # the gauge alone cannot tell
    return Outcome.HEELED, (
        f"It had {last.left_mm:.0f} mm of wall left, yet it went down: it tipped over."
    )


def _by_capacity(last: LastMoments, late: bool) -> tuple[Outcome, str]:
    """Without a rim gauge: what the boat should have carried by Archimedes' law."""
    if last.capacity_g is None:
        outcome, reason = (Outcome.LEAKED, _LEAK) if late else (Outcome.SWAMPED, _FULL)
        return outcome, f"{reason} Not sure: nobody measured this boat."
    room_g = last.capacity_g - last.load_g
    if room_g <= max(NEAR_CAPACITY * last.capacity_g, 1.5 * (last.item_g or 0.0)):
        return Outcome.SWAMPED, _FULL
    if late:
        return Outcome.LEAKED, _LEAK
    return Outcome.HEELED, (
        f"There was room left ({room_g:.0f} g), yet it went down at once: it tipped over."
    )
