"""Between two boats: did all items come back, is the boat out, may the rig zero itself?

The rig knows one state for sure: tub without boat, all items on the tray, everything at rest. What
it read then is compared with what it reads now.
"""

from collections import deque
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import sqrt
from statistics import fmean, median, stdev
from typing import Final

from rig.sensing.readings import Reading
from rig.setup import Item, Layout, RigSetup
from rig.setup.rigfile import TubPart

LOOK_S: Final = 2.0  # so long everything must be still
_LEAST: Final = 6  # readings
_NORMAL_MEDIAN: Final = 0.6745  # median of a unit normal's magnitude
STILL_SD: Final = 4.0  # both halves of the look agree within this many standard errors
STILL_G, STILL_MM = 0.05, 0.1  # and smaller differences are no movement
SURE_SD: Final = 3.0
# A wet item carries a film of water: 1.5 % of a small coin's mass (everyday_items: 0.05 mm).
WET_SHARE: Final = 0.015
# The heaviest hull there is: foil that went down lifts the water by its own bulk only. Aluminium,
# 2.7: OpenStax College Physics 2e, table of densities.
DENSEST_G_ML: Final = 2.7
SPLASH_MM: Final = 3.0  # a level so much lower than before: water has gone overboard


class BoatThere(StrEnum):
    """What the level says of the boat."""

    OUT = "out"
    IN = "in"
    UNSEEN = "unseen"  # no gauge, or one too coarse for this boat in this tub


@dataclass(frozen=True, slots=True)
class Still:
    """Means over a look at rest, with their standard errors; None for a silent channel."""

    gross_g: float | None
    gross_g_sd: float
    level_mm: float | None
    level_mm_sd: float


@dataclass(frozen=True, slots=True)
class ResetState:
    """Where the reset stands.

    Attributes:
        missing_items, missing_g: not back on the tray; None where nothing is weighed.
        may_zero: the state is the known one, so the rig may take it as its zero.
        to_do: what is left to do, in plain lines; empty when the next boat can start.
    """

    missing_items: int | None
    missing_g: float | None
    boat: BoatThere
    at_rest: bool
    may_zero: bool
    to_do: tuple[str, ...]

    @property
    def text(self) -> str:
        """One line for the teacher."""
        return "Ready: the next boat can start." if self.may_zero else " ".join(self.to_do)


class Settling:
    """Feeds on readings; `still()` is what they say once nothing moves any more."""

    def __init__(self, look_s: float = LOOK_S) -> None:
        self._look_ms = round(1000 * look_s)
        self._rows: deque[Reading] = deque()

    def feed(self, reading: Reading) -> None:
        """Take in the next reading. A board that came up anew begins anew."""
        if reading.restarted:
            self._rows.clear()
        self._rows.append(reading)
        while reading.at_ms - self._rows[0].at_ms > self._look_ms:
            self._rows.popleft()

    def still(self) -> Still | None:
        """Return the means if everything that speaks is at rest, else None."""
        if len(self._rows) < _LEAST or self._spans_ms() < 0.8 * self._look_ms:
            return None
        gross = [row.gross_g for row in self._rows if row.gross_g is not None]
        level = [row.level_mm for row in self._rows if row.level_mm is not None]
        if not (_at_rest(gross, STILL_G) and _at_rest(level, STILL_MM)):
            return None
        (gross_g, gross_sd), (level_mm, level_sd) = _mean(gross), _mean(level)
        return Still(gross_g, gross_sd, level_mm, level_sd)

    def _spans_ms(self) -> int:
        return self._rows[-1].at_ms - self._rows[0].at_ms


def judge_reset(
    setup: RigSetup,
    before: Still,
    now: Still | None,
    boat_g: float,
    items_used: int,
    boat_seen_out: bool = False,
) -> ResetState:
    """Return where the reset stands.

    Args:
        before: in the known state before the trial.
        now: None while something moves.
        boat_g: the boat of the trial, empty.
        items_used: that left the tray.
        boat_seen_out: somebody says so; believed where no gauge sees the boat.
    """
    if now is None:
        return ResetState(None, None, BoatThere.UNSEEN, False, False, ("Hands off for a moment.",))
    boat = _boat(setup, before, now, boat_g)
    if boat is BoatThere.UNSEEN and boat_seen_out:
        boat = BoatThere.OUT
    missing_g = _missing_g(setup, before, now, boat, boat_g)
    missing = _missing_items(setup.item, missing_g)
    to_do = []
    if boat is BoatThere.IN:
        to_do.append("Take the boat out of the tub.")
    elif boat is BoatThere.UNSEEN:
        to_do.append("Is the boat out? No gauge can tell: say so.")
    weighed = now.gross_g is not None and before.gross_g is not None
    if missing_g is not None or not weighed:
        to_do += _items_to_do(setup, missing, missing_g, items_used)
    if _splashed(before, now, boat):
        to_do.append("The water stands lower than before: top it up.")
    return ResetState(missing, missing_g, boat, True, not to_do, tuple(to_do))


def _boat(setup: RigSetup, before: Still, now: Still, boat_g: float) -> BoatThere:
    """An empty boat afloat lifts the level by its own mass of water: Archimedes.

    One that went down lifts it by less, and between the two nobody can tell. Water that was
    spilled hides as much of either.
    """
    if now.level_mm is None or before.level_mm is None or setup.tub is None:
        return BoatThere.UNSEEN
    lifts_mm = 1000 * boat_g / _area_mm2(setup.tub, now.level_mm)
    doubt_mm = SURE_SD * sqrt(now.level_mm_sd**2 + before.level_mm_sd**2)
    rise_mm = now.level_mm - before.level_mm
    if rise_mm > max(lifts_mm / 2, doubt_mm):
        return BoatThere.IN
    return BoatThere.OUT if rise_mm + doubt_mm < lifts_mm / DENSEST_G_ML else BoatThere.UNSEEN


def _missing_g(
    setup: RigSetup, before: Still, now: Still, boat: BoatThere, boat_g: float
) -> float | None:
    if now.gross_g is None or before.gross_g is None:
        return None
    if setup.rig.layout is Layout.FEED_TRAY:
        return before.gross_g - now.gross_g
    if boat is BoatThere.UNSEEN:
        return None  # it may be the boat that weighs
    in_tub_g = now.gross_g - before.gross_g
    return in_tub_g - (boat_g if boat is BoatThere.IN else 0.0)


def _missing_items(item: Item | None, missing_g: float | None) -> int | None:
    if item is None or missing_g is None:
        return None
    return round(missing_g / item.mass_g)


def _items_to_do(
    setup: RigSetup, missing: int | None, missing_g: float | None, items_used: int
) -> list[str]:
    item = setup.item
    if missing is None or missing_g is None or item is None:
        return [] if missing_g is not None else ["Count the items: the scale says nothing."]
    if missing > 0:
        items = "1 item" if missing == 1 else f"{missing} items"
        return [f"{items}, {missing_g:.1f} g, still in the tub."]
    wet = items_used * WET_SHARE + 1
    if setup.rig.layout is Layout.FEED_TRAY and -missing > wet:
        return ["More lies on the tray than before: take off what is no item."]
    return []  # wet items weigh a little more; a wet boat takes a little water along


def _splashed(before: Still, now: Still, boat: BoatThere) -> bool:
    if now.level_mm is None or before.level_mm is None or boat is BoatThere.IN:
        return False
    return before.level_mm - now.level_mm > SPLASH_MM


def _area_mm2(tub: TubPart, level_mm: float) -> float:
    pours = tub.table.pours
    return tub.table.area_mm2(min(max(level_mm, pours[0][0]), pours[-1][0]))


def _mean(values: list[float]) -> tuple[float | None, float]:
    if len(values) < 2:
        return None, 0.0
    return fmean(values), stdev(values) / sqrt(len(values))


def _at_rest(values: list[float], least: float) -> bool:
    if len(values) < _LEAST:
        return True  # a silent channel does not move
    half = len(values) // 2
    # noise by steps from one reading to the next: what was just laid down is no noise
    noise = median(abs(b - a) for a, b in pairwise(values)) / (_NORMAL_MEDIAN * sqrt(2))
    slack = max(least, STILL_SD * noise * sqrt(1 / half + 1 / (len(values) - half)))
    return abs(fmean(values[:half]) - fmean(values[half:])) <= slack
