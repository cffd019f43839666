"""Plateaus and steps in the load, found as the readings come in.

The track is either on a plateau, or moving from one to the next. It leaves a plateau when
the mean of the newest few readings differs from the plateau by more than noise allows; it
comes to rest when the readings of the last `SETTLE_S` agree with each other. Several
window lengths are looked at, so that a large step is seen within three readings and a
small one as soon as noise permits.

Hands make plateaus too: a hand on the tray presses it down, or takes its weight, for a while.
A load that comes back to where it was within `DIP_S`, or a lean within `HAND_S`, was never a
load: the plateau between is forgotten, and the one before goes on.
"""

from bisect import bisect_left
from dataclasses import dataclass, field
from itertools import pairwise
from math import sqrt

from rig.trial.noise import DifferenceNoise

SETTLE_S = 0.6  # steady for so long is at rest; items landing closer together count as one addition
LOOK_BACK_S = 2.0  # the longest window in which a small step is looked for
RECENT_S = 8.0  # a step is measured against so much of the plateau: the zero may wander
HAND_S = 15.0  # a child leans on the table for so long at the most (common practice, no source)
STOOD_S = 0.18  # three readings at ten a second
DIP_S = 4.5  # load that comes or goes for so short a time is a hand on the tray
PRESS_G = 20.0  # the least that a hand presses with (common practice, no source)
_LEAN_ITEMS = 2.6  # a lean moves the load by no more (common practice, no source)
_WHOLE = 0.12  # items: so near a whole number is a whole number
MOST_ROWS = 12_000  # kept: at eighty a second, half of them are 75 s and no hand takes so long
_WINDOWS = (3, 5, 8, 13, 21, 34, 55, 89, 144)  # readings
_SURE = 6.0  # standard deviations: one false alarm in years of readings
_SAME_ITEM = 0.5  # a level within half an item of the last one is the same level
_NOTICE_ITEM = 0.4
_REST_ITEM = 0.15


@dataclass
class Plateau:
    """A stretch of steady load. `spans` are its row ranges, disturbed rows left out."""

    start_s: float
    arrived_s: float  # when the load was half-way here from the plateau before
    spans: list[tuple[int, int]] = field(default_factory=list)
    end_s: float | None = None  # when the load moved on; None while it lasts
    n: int = 0
    total_g: float = 0.0
    noise: DifferenceNoise = field(default_factory=DifferenceNoise)  # of its own readings
    counted_sd_g: float | None = None  # of its load, where that was counted and not weighed
    tapped: int = 0  # items counted at its beginning; below 0: taken out

    @property
    def mean_g(self) -> float:
        """Mean of its readings, on the cell's own zero."""
        return self.total_g / self.n


@dataclass(frozen=True, slots=True)
class Step:
    """The load came to rest on another plateau; `at_s` is when it was half-way there."""

    at_s: float
    before: Plateau
    after: Plateau

    @property
    def mass_g(self) -> float:
        """What went aboard (negative: came off)."""
        return self.after.mean_g - self.before.mean_g


class LoadTrack:
    """Follows one trial's load. `item_g`: mass of one item, where it is known."""

    def __init__(self, item_g: float | None) -> None:
        self.plateaus: list[Plateau] = []
        self._item_g = item_g
        self._noise = DifferenceNoise()
        self._at_s: list[float] = []
        self._g: list[float] = []
        self._sums = [0.0]
        self._resting = False
        self._span_start = 0  # first row of the present span, or of the present movement

    @property
    def steps(self) -> list[Step]:
        """From each plateau to the next, oldest first."""
        return [Step(after.arrived_s, before, after) for before, after in pairwise(self.plateaus)]

    @property
    def now_s(self) -> float:
        """When the newest reading was."""
        return self._at_s[-1] if self._at_s else 0.0

    @property
    def moving(self) -> bool:
        """Whether the load is on its way to another plateau."""
        return not self._resting

    @property
    def noise_g(self) -> float:
        """Standard deviation of one reading, never less than a hundredth of an item [g]."""
        floor = self._item_g / 100 if self._item_g else 0.02
        return max(self._noise.sd or 0.0, floor)

    def mean_since(self, at_s: float) -> float | None:
        """Mean of the readings from a moment on; None if there are none."""
        first = bisect_left(self._at_s, at_s)
        return self._mean(first, len(self._g)) if first < len(self._g) else None

    def feed(self, at_s: float, aboard_g: float) -> Step | None:
        """Take in a reading; return the step that it completed, if it did.

        Args:
            at_s: time since the start mark, rising.
            aboard_g: load aboard on any zero: more aboard is more.
        """
        if len(self._g) >= MOST_ROWS:
            self._forget(len(self._g) // 2)
        self._at_s.append(at_s)
        self._g.append(aboard_g)
        self._sums.append(self._sums[-1] + aboard_g)
        self._noise.feed(aboard_g)
        if self._noise.sd is None:
            return None
        if not self._resting:
            return self._come_to_rest()
        plateau = self.plateaus[-1]
        moved = self._moved_at(plateau)
        self._grow(plateau, len(self._g) if moved is None else moved)
        plateau.noise.feed(aboard_g)
        if moved is not None:
            plateau.end_s = self._at_s[moved]
            self._resting, self._span_start = False, moved
        return None

    def _forget(self, rows: int) -> None:
        """Let the oldest rows go: what they say of the plateaus is in the plateaus' own sums."""
        del self._at_s[:rows], self._g[:rows], self._sums[:rows]
        self._span_start = max(0, self._span_start - rows)
        for plateau in self.plateaus:
            plateau.spans = [(max(0, a - rows), max(0, b - rows)) for a, b in plateau.spans[-1:]]

    # --- while the scale is out ----------------------------------------------------------------

    def lost(self) -> None:
        """No more readings for now: the load stays what it was at rest last."""
        if self.plateaus and not self._resting:
            self._resting = True
            self._go_on(self.plateaus[-1], len(self._g))

    def found(self, at_s: float) -> None:
        """Readings come again: whatever the scale bears now, it must come to rest first."""
        if self._resting:
            self.plateaus[-1].end_s = at_s
            self._resting, self._span_start = False, len(self._g)

    def counted(self, at_s: float, more_g: float, items: int, sd_g: float) -> Plateau:
        """Begin a plateau that was counted, on top of the last one, or on nothing at all."""
        if self.plateaus:
            self.plateaus[-1].end_s = at_s
        g = (self.plateaus[-1].mean_g if self.plateaus else 0.0) + more_g
        row, self._resting = len(self._g), True
        plateau = Plateau(at_s, at_s, [(row, row)], n=1, total_g=g, counted_sd_g=sd_g, tapped=items)
        self.plateaus.append(plateau)
        return plateau

    def _weighed(self, first: int, mean: float) -> bool:
        """The scale is back after counting, and at rest: whether it bears what was counted.

        Then its own mean stands for the plateau. Where nothing was ever weighed, it gives the
        zero from which was counted.
        """
        last = self.plateaus[-1]
        if all(plateau.counted_sd_g is not None for plateau in self.plateaus):
            off_g = mean - last.mean_g
            for plateau in self.plateaus:
                plateau.total_g += off_g
            self.plateaus[0].counted_sd_g = last.counted_sd_g  # it is in every load from now on
        same = self._same(last, first, mean)
        if same:
            last.n, last.total_g, last.counted_sd_g = 0, 0.0, None
        return same

    def _mean(self, first: int, last: int) -> float:
        return (self._sums[last] - self._sums[first]) / (last - first)

    def _grow(self, plateau: Plateau, last: int) -> None:
        """Let the plateau's last span end before row `last`."""
        first, old = plateau.spans[-1]
        plateau.total_g += self._sums[last] - self._sums[old]
        plateau.n += last - old
        plateau.spans[-1] = (first, last)

    def _item_part(self, part: float) -> float:
        return part * self._item_g if self._item_g else 0.0

    def _moved_at(self, plateau: Plateau) -> int | None:
        """The row at which the load left the plateau, if the newest rows show that it has."""
        first, old = plateau.spans[-1]
        rows, now_s = len(self._g), self._at_s[-1] + 0.01
        longest = rows - bisect_left(self._at_s, now_s - LOOK_BACK_S)
        recent = rows - bisect_left(self._at_s, now_s - RECENT_S)
        noise_g, least = _SURE * self.noise_g, self._item_part(_NOTICE_ITEM)
        sums = self._sums
        for k in _WINDOWS:
            split = rows - k
            if k > max(longest, 3) or split <= first:
                return None
            # the plateau as it stood shortly before the window
            since = max(first, split - recent)
            if split - since >= 3:
                n = split - since
                before = (sums[split] - sums[since]) / n
            else:
                n = plateau.n + split - old
                if n < 3:
                    return None
                before = (plateau.total_g + self._sums[split] - self._sums[old]) / n
            gap = abs((sums[rows] - sums[split]) / k - before)
            if gap > least and gap > noise_g * sqrt(1 / k + 1 / n):
                return self._best_split(max(first + 1, rows - 3 * k))
        return None

    def _best_split(self, first: int) -> int:
        """The row where cutting the newest rows in two explains most of their spread."""
        rows = len(self._g)

        def between(cut: int) -> float:
            n1, n2 = cut - first + 1, rows - cut
            gap = self._mean(first - 1, cut) - self._mean(cut, rows)
            return n1 * n2 * gap * gap

        return max(range(first, rows), key=between)

    def _come_to_rest(self) -> Step | None:
        rows = len(self._g)
        first = min(bisect_left(self._at_s, self._at_s[-1] - SETTLE_S), rows - 5)
        if first < self._span_start:
            return None
        mean, noise, n = self._mean(first, rows), self.noise_g, rows - first
        spread = sqrt(sum((g - mean) ** 2 for g in self._g[first:]) / (n - 1))
        middle = first + n // 2
        trend = abs(self._mean(middle, rows) - self._mean(first, middle))
        at_rest = self._item_part(_REST_ITEM)
        if spread > max(1.8 * noise, at_rest) or trend > max(6 * noise / sqrt(n), at_rest):
            return None
        settled = self._mean(middle, rows)
        first = middle
        while first > self._span_start and abs(self._g[first - 1] - settled) <= 3.5 * noise:
            first -= 1
        return self._rest(first, self._mean(first, rows))

    def _rest(self, first: int, mean: float) -> Step | None:
        """Begin a plateau at row `first`, or go on with one of the last if the load is the same."""
        moved = self._span_start
        self._resting, self._span_start = True, first
        if not self.plateaus:
            self._begin(first, self._at_s[first])
            return None
        last = self.plateaus[-1]
        confirmed = last.counted_sd_g is not None and self._weighed(first, mean)
        if confirmed or self._same(last, first, mean):
            self._go_on(last, first)
            return None
        arrived_s = self._half_way(last.mean_g, mean, moved, first)
        returned = self._returned_to(first, mean)
        if returned is not None:
            del self.plateaus[returned + 1 :]
            self._go_on(self.plateaus[-1], first)
            return Step(arrived_s, last, self.plateaus[-1])
        arrived_s = self._without_hands(first, mean, arrived_s)
        last = self.plateaus[-1]
        self._begin(first, arrived_s)
        return Step(arrived_s, last, self.plateaus[-1])

    def _begin(self, first: int, arrived_s: float) -> None:
        plateau = Plateau(self._at_s[first], arrived_s, [(first, first)])
        self._grow(plateau, len(self._g))
        self.plateaus.append(plateau)

    def _go_on(self, plateau: Plateau, first: int) -> None:
        plateau.end_s = None
        plateau.spans.append((first, first))
        self._grow(plateau, len(self._g))

    def _same(self, plateau: Plateau, first: int, mean: float) -> bool:
        """Whether rows from `first` on stand on this plateau's level."""
        noise = self.noise_g * sqrt(1 / (len(self._g) - first) + 1 / plateau.n)
        return abs(mean - plateau.mean_g) < max(self._item_part(_SAME_ITEM), _SURE * noise)

    def _returned_to(self, first: int, mean: float) -> int | None:
        """The earlier plateau to which the load has come back soon enough, if it has."""
        for number in range(len(self.plateaus) - 2, -1, -1):
            plateau = self.plateaus[number]
            gone_s = self._at_s[first] - (plateau.end_s or self._at_s[first])
            between = self.plateaus[number + 1 :]
            if gone_s > HAND_S or not (gone_s <= DIP_S or self._is_lean(plateau, between)):
                return None
            if self._same(plateau, first, mean):
                return number
        return None

    def _is_lean(self, plateau: Plateau, between: list[Plateau]) -> bool:
        """Whether what came and went was too little, and no whole items: a body on the table.

        Items that stayed for longer than a hand stays were really aboard.
        """
        if not self._item_g:
            return False
        items = [(other.mean_g - plateau.mean_g) / self._item_g for other in between]
        return all(abs(n) < _LEAN_ITEMS and abs(n - round(n)) > _WHOLE for n in items)

    def _without_hands(self, first: int, mean: float, arrived_s: float) -> float:
        """Forget short plateaus that are not on the way up to here; return when the load came.

        A hand on the tray lends or takes weight while items go aboard as well.
        """
        now_s = self._at_s[first]
        recent = [
            number
            for number, plateau in enumerate(self.plateaus)
            if now_s - (plateau.end_s or now_s) <= DIP_S
        ]
        firm = self.plateaus[recent[0]] if recent else self.plateaus[-1]
        if mean <= firm.mean_g or len(recent) < 2:
            return arrived_s
        slack = self._item_part(_SAME_ITEM)
        kept = self.plateaus[: recent[1]]
        for plateau in self.plateaus[recent[1] :]:
            on_the_way = firm.mean_g - slack <= plateau.mean_g <= mean + slack
            if (
                on_the_way
                or self._few_items(firm.mean_g - plateau.mean_g)
                or self._hand_now(firm.mean_g, plateau.mean_g, mean)
            ):
                kept.append(plateau)
            elif plateau is self.plateaus[-1]:  # what stayed had come with that hand, or after it
                left = bisect_left(self._at_s, kept[-1].end_s or now_s)
                arrived_s = self._half_way(kept[-1].mean_g, mean, left, first)
        self.plateaus = kept
        return arrived_s

    def _hand_now(self, firm_g: float, before_g: float, now_g: float) -> bool:
        """Whether it is now that a hand lifts: the load before was whole items, this is not."""
        return (
            before_g - now_g >= PRESS_G
            and self._whole(before_g - firm_g)
            and not self._whole(now_g - firm_g)
        )

    def _whole(self, off_g: float) -> bool:
        items = off_g / self._item_g if self._item_g else 0.5
        return abs(items - round(items)) <= _WHOLE

    def _few_items(self, off_g: float) -> bool:
        """Whether so much less is a few whole items, taken out: a hand presses harder."""
        return self._item_part(1 - _WHOLE) <= off_g < PRESS_G and self._whole(off_g)

    def _half_way(self, low: float, high: float, moved: int, rest: int) -> float:
        """When the load crossed the middle between two plateaus, for the first time since it
        last stood on the lower one: a hand may have passed both in between.
        """
        middle, gap = (low + high) / 2, high - low
        since, standing = moved, 0
        for row in range(moved, rest + 1):
            part = (self._g[row] - low) / gap if gap else 0.0
            standing = standing + 1 if -0.25 < part < 0.5 else 0
            if standing >= 3 and self._at_s[row] - self._at_s[row - standing + 1] >= STOOD_S:
                since = row
        for row in range(since, rest + 1):
            if (self._g[row] >= middle) == (high >= low):
                return self._at_s[row]
        return self._at_s[rest]
