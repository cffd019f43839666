"""Going on by hand while the scale is out: items counted by taps, freeboard by a ruler."""

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt

from rig.physics.uncertainty import RULER_MM_SD
from rig.setup import Item
from rig.trial.counting import spread_g
from rig.trial.events import Addition, Freeboard, FreeboardMethod, LoadSource
from rig.trial.load_track import LoadTrack, Plateau, Step

TAPS_S = 1.5  # taps closer together are one addition (common practice, no source)
_UNLIKE = 0.5  # items: the scale and the taps differ


class HandCount:
    """Puts taps into the track of the load, and compares when the scale comes back.

    `out`: the scale is not to be believed, so taps count.
    """

    def __init__(self, load: LoadTrack, item: Item | None) -> None:
        self.out = False
        self._load, self._item = load, item
        self._left_g: float | None = None  # what was aboard by count when the scale came back

    def lost(self) -> None:
        """The scale has gone: the load goes on from where it was at rest last."""
        self.out, self._left_g = True, None
        self._load.lost()

    def found(self, at_s: float) -> None:
        """The scale has come back; it must come to rest before it is asked."""
        self.out = False
        if self._load.plateaus:
            self._left_g = self._load.plateaus[-1].mean_g - self._load.plateaus[0].mean_g
        self._load.found(at_s)

    def taken_as_empty(self, at_s: float) -> None:
        """Nothing was weighed yet: what is aboard now is nothing, and counting begins."""
        if self.out and not self._load.plateaus:
            self._load.counted(at_s, 0.0, 0, 0.0)

    def count(self, at_s: float, items: int, load_sd_g: float) -> Step | None:
        """Items that somebody counted, more or fewer; None if nothing is changed by it.

        Args:
            load_sd_g: standard uncertainty of the load before.
        """
        if self._item is None or not items or not self._load.plateaus:
            return None
        before = self._load.plateaus[-1]
        mass_g, sd_g = items * self._item.mass_g, sqrt(abs(items)) * spread_g(self._item)
        if before.tapped and at_s - before.start_s < TAPS_S:
            self._tap_again(before, at_s, items, mass_g, sd_g)
            return Step(at_s, before, before)
        after = self._load.counted(at_s, mass_g, items, sqrt(load_sd_g**2 + sd_g**2))
        return Step(at_s, before, after)

    def _tap_again(
        self, plateau: Plateau, at_s: float, items: int, mass_g: float, sd_g: float
    ) -> None:
        """Its hold begins anew; taps that take each other back leave the load before."""
        plateau.start_s, plateau.tapped = at_s, plateau.tapped + items
        plateau.total_g += mass_g
        plateau.counted_sd_g = sqrt((plateau.counted_sd_g or 0.0) ** 2 + sd_g**2)
        if plateau.tapped == 0:
            self._load.plateaus.pop()
            self._load.plateaus[-1].end_s = None

    def compared(self) -> str | None:
        """Once after the scale's return, at rest: how it differs from what was counted."""
        if self._left_g is None or self.out or self._load.moving or self._item is None:
            return None
        now_g = self._load.plateaus[-1].mean_g - self._load.plateaus[0].mean_g
        off_g, self._left_g = now_g - self._left_g, None
        if abs(off_g) <= _UNLIKE * self._item.mass_g:
            return None
        more = "more" if off_g > 0 else "less"
        return (
            f"The scale came back and bears {abs(off_g):.1f} g {more} than was counted"
            f" ({abs(off_g) / self._item.mass_g:.1f} items): from there on the scale counts."
        )


def with_sources(
    aboard: Sequence[Addition], plateaus: Sequence[Plateau], item: Item | None
) -> list[Addition]:
    """Mark the additions that were counted by hand."""
    taps = {plateau.arrived_s for plateau in plateaus if plateau.tapped}
    if item is None or not taps:
        return list(aboard)
    return [_counted(addition, item) if addition.at_s in taps else addition for addition in aboard]


def _counted(addition: Addition, item: Item) -> Addition:
    sd_g = sqrt(addition.items or 0) * spread_g(item)
    return replace(addition, mass_g_sd=sd_g, source=LoadSource.COUNT)


class Rulings:
    """Freeboards read with a ruler, and when."""

    def __init__(self) -> None:
        self._read: list[tuple[float, float]] = []

    def read(self, at_s: float, freeboard_mm: float) -> None:
        """Somebody has read one."""
        self._read.append((at_s, freeboard_mm))

    def between(self, from_s: float, to_s: float) -> Freeboard | None:
        """Mean of the readings of a stretch; None if there were none."""
        read = [mm for at_s, mm in self._read if from_s <= at_s <= to_s]
        if not read:
            return None
        sd = RULER_MM_SD / sqrt(len(read))
        return Freeboard(sum(read) / len(read), sd, FreeboardMethod.RULER)
