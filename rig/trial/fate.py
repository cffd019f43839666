"""Why a boat went down, from the numbers."""

from dataclasses import dataclass

from rig.trial.events import Outcome

NEAR_CAPACITY = 0.08  # of the capacity: what ruler and bent walls easily make (no source)
SOON_S = 3.0  # going down later than this after an addition is going down at constant load


@dataclass(frozen=True, slots=True)
class LastMoments:
    """What was known when the boat went down. None where the rig could not tell."""

    load_g: float
    capacity_g: float | None
    item_g: float | None
    since_addition_s: float  # from the last addition to the rim going under
    freeboard_before_mm: float | None  # shortly before it went down
    slid_mm: float | None  # freeboard lost at constant load over the last plateau
    slid_sure: bool  # whether that is beyond the gauge's noise
    missing_mm: float | None  # predicted less measured freeboard, beyond what it was at the start


def fate_of(last: LastMoments) -> tuple[Outcome, str]:
    """Return the outcome and one plain sentence with the reason."""
    late = last.since_addition_s > SOON_S
    if late and last.slid_sure and (last.slid_mm or 0.0) > 1.0:
        return Outcome.LEAKED, (
            f"It sank {last.slid_mm:.0f} mm lower while nobody added a thing: water got in."
        )
    room = _room_g(last)
    if room is None:
        return _without_prediction(last, late)
    if room <= 0:
        return Outcome.SWAMPED, "It was full: the water came over the rim."
    if last.missing_mm is not None:
        if last.missing_mm > max(3.0, 0.5 * (last.freeboard_before_mm or 0.0)):
            return Outcome.LEAKED, (
                f"It lay {last.missing_mm:.0f} mm deeper than its load explains: water got in."
            )
        return Outcome.HEELED, (
            f"There was room left ({room:.0f} g), yet it went down at once: it tipped over."
        )
    if late:
        return Outcome.LEAKED, "It went down while nobody added a thing: water got in."
    return Outcome.HEELED, (
        f"There was room left ({room:.0f} g), yet it went down at once: it tipped over."
    )


def _room_g(last: LastMoments) -> float | None:
    """Load that it should still have carried, less what measuring a hull may be out by."""
    if last.capacity_g is None:
        return None
    slack = max(NEAR_CAPACITY * last.capacity_g, 1.5 * (last.item_g or 0.0))
    room = last.capacity_g - last.load_g
    return room if room > slack else 0.0


def _without_prediction(last: LastMoments, late: bool) -> tuple[Outcome, str]:
    before = last.freeboard_before_mm
    if before is not None and before > 5.0 and not late:
        return Outcome.HEELED, (
            f"The rim was still {before:.0f} mm above the water, yet it went down: it tipped over."
        )
    if late:
        return Outcome.LEAKED, "It went down while nobody added a thing: water got in."
    return (
        Outcome.SWAMPED,
        "It was full: the water came over the rim. (No hull measured: not sure.)",
    )
