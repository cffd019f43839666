"""The measured sinking curve: load and freeboard of each plateau."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt

from rig.setup import Layout, RigSetup
from rig.trial.aboard import Change, additions, changes, total_items
from rig.trial.by_hand import Rulings, with_sources
from rig.trial.counting import Count, Weighed, count
from rig.trial.doubts import CREEP_PART_SD, ZERO_WANDER
from rig.trial.events import Addition, CurvePoint, Freeboard, FreeboardMethod, LoadSource
from rig.trial.floating import EmptyRest, Floating
from rig.trial.gauge_track import GaugeTrack
from rig.trial.leans import Explained, Explainer
from rig.trial.load_track import HAND_S, LoadTrack, Plateau
from rig.trial.sinking import UNDER_MM, LastRest

CALM_S = 1.0  # waves of an addition die down before the freeboard is averaged
NOW_S = 0.5  # what is shown as "now" is the mean of the last half second
NEW_S = 4.0  # a hand takes the tray's weight for less
WAY_S = 5.0  # from tray to boat a hand takes so long at the most (common practice, no source)
OLD_S = 1.5
LATE_S, LATE_ROWS = 4.0, 5  # so long at rest, and so many echoes, make a level to start from
CLEARLY = 5.0  # standard deviations
SLIDE_MM = 0.7
LANDED_S = 1.0  # from the first item half-way to the last at rest
HOLD_SLACK_S = 0.01  # times come in whole milliseconds


@dataclass(frozen=True, slots=True)
class Slide:
    """Freeboard lost at constant load, and the time that took."""

    fall_mm: float
    fall_mm_sd: float
    over_s: float


class Curve:
    """One trial's load and gauges, read together. Times are seconds since the start mark."""

    def __init__(self, setup: RigSetup) -> None:
        self.load = LoadTrack(setup.item.mass_g if setup.item else None)
        self.gauges = GaugeTrack()
        self.rulings = Rulings()
        self.floating: Floating | None = None  # once the empty rig has been weighed
        self.item_g = setup.item.mass_g if setup.item else None
        self._item = setup.item
        self._cell = setup.load
        self._hold_s = setup.rig.hold_s
        self._by_hand = setup.rig.layout is Layout.FEED_TRAY
        presses = -1.0 if self._by_hand else 1.0
        self._explainer = Explainer(setup.item, presses) if setup.item else None
        self._explained: tuple[tuple[float, ...], list[Explained], list[Change]] | None = None

    def count(self, aboard: Sequence[Addition]) -> Count | None:
        """How many items that is, and how sure; None if nobody said what an item weighs.

        Items that were counted by hand are so many.
        """
        if self._item is None:
            return None
        weighed = [a for a in aboard if a.source is LoadSource.SCALE]
        tapped = sum(a.items or 0 for a in aboard if a.source is LoadSource.COUNT)
        of = count([Weighed(a.mass_g, a.mass_g_sd) for a in weighed], self._item)
        return replace(of, items=of.items + tapped, low=of.low + tapped, high=of.high + tapped)

    def aboard(self, until_s: float) -> list[Addition]:
        """What is aboard at a moment, one entry for items put on together."""
        aboard = additions(self._explain()[1], self.item_g, until_s)
        return with_sources(aboard, self.load.plateaus, self._item)

    def load_g(self, plateau: Plateau) -> float:
        """Load aboard on a plateau, less that of the first one and of who leans on it [g]."""
        load_g = plateau.mean_g - self.load.plateaus[0].mean_g
        explained = self._explain()[0]
        for number in range(len(explained) - 1, 0, -1):
            if self.load.plateaus[number] is plateau:
                return load_g - explained[number].lean_g
        return load_g

    def _explain(self) -> tuple[list[Explained], list[Change]]:
        """Items and leans of all plateaus; worked out anew only when one has come or grown."""
        load, item = self.load, self._item
        if not load.plateaus:
            return [], []
        last = load.plateaus[-1]
        lasted_s = load.now_s - last.start_s
        looks = int(lasted_s).bit_length() + (lasted_s > HAND_S + 3)  # no lean lasts for longer
        state = (len(load.plateaus), last.start_s, last.tapped, looks, load.moving)
        if self._explained is None or self._explained[0] != state:
            explained: list[Explained] = []
            if self._explainer is not None:
                explained = self._explainer.explain(load.plateaus, load.noise_g, load.now_s)
            found = changes(load.plateaus, explained, item, load.noise_g)
            self._explained = (state, explained, found)
        return self._explained[1:]

    def load_sd(self, plateau: Plateau) -> float:
        """Its standard uncertainty: noise here and at the tare, and the cell's span [g]."""
        if plateau.counted_sd_g is not None:
            return plateau.counted_sd_g
        tare, noise = self.load.plateaus[0], self.load.noise_g
        if plateau is tare:
            return noise / sqrt(tare.n)
        span_part = self._cell.count_per_g_sd / self._cell.count_per_g
        by_load = self.load_g(plateau) * sqrt(span_part**2 + CREEP_PART_SD**2)
        # the cell's zero wanders with the room; like its noise, by its size
        by_noise = noise**2 * (1 / plateau.n + 1 / tare.n + ZERO_WANDER**2)
        return sqrt(by_noise + by_load**2 + (tare.counted_sd_g or 0.0) ** 2)

    def load_now(self, at_s: float) -> float:
        """Load aboard at the newest reading [g]; 0 before the tare."""
        if not self.load.plateaus:
            return 0.0
        if not self.load.moving:
            return self.load_g(self.load.plateaus[-1])
        recent = self.load.mean_since(at_s - NOW_S)
        return 0.0 if recent is None else recent - self.load.plateaus[0].mean_g

    def least_load(self, at_s: float) -> float:
        """What is aboard for sure: a load that has only just appeared may be a hand [g]."""
        now_g, plateaus = self.load_now(at_s), self.load.plateaus
        recent = [p for p in plateaus if p.end_s is None or at_s - p.end_s < NEW_S]
        return min([now_g, *(self.load_g(plateau) for plateau in recent)])

    def freeboard(
        self, plateau: Plateau, end_s: float, settled_s: float | None = None
    ) -> Freeboard | None:
        """Mean freeboard of a plateau up to a moment, without its waves if it is long enough.

        `settled_s`: where it has been worked out already.
        """
        from_s = self.settled_s(plateau, end_s) if settled_s is None else settled_s
        calm = CALM_S if end_s - from_s >= 2.5 * CALM_S else 0.0
        seen = self.freeboard_between(from_s + calm, end_s, self.load_g(plateau))
        read = self.rulings.between(plateau.start_s, end_s)
        found = [freeboard for freeboard in (seen, read) if freeboard is not None]
        return min(found, key=lambda freeboard: freeboard.freeboard_mm_sd, default=None)

    def settled_s(self, plateau: Plateau, end_s: float) -> float:
        """When the load of a plateau had reached the boat.

        From a feed tray it takes a hand's way: the tray is lighter at once, the boat goes down
        later. Until then the gauge stands where it stood before; it tells when that ended, if
        what follows differs clearly.
        """
        if not self._by_hand or plateau is self.load.plateaus[0] or plateau.tapped:
            return plateau.start_s
        gauges = self.gauges
        channel = gauges.freeboard if gauges.freeboard.values else gauges.level
        old = channel.between(plateau.arrived_s - OLD_S, plateau.arrived_s)
        best_s, best_z = plateau.start_s, CLEARLY
        latest_s = min(WAY_S, (end_s - plateau.start_s) / 2)
        for tenth in range(4, int(latest_s * 10), 2):
            at_s = plateau.start_s + tenth / 10
            before, after = channel.between(plateau.start_s, at_s), channel.between(at_s, end_s)
            if old is None or before is None or after is None:
                continue
            if abs(before.value - old.value) > abs(before.value - after.value):
                continue  # it had moved already: this is a leak's slide, or a wave
            z = abs(before.value - after.value) / max(sqrt(before.sd**2 + after.sd**2), 1e-9)
            if z > best_z:
                best_s, best_z = at_s, z
        return best_s

    def freeboard_between(self, from_s: float, to_s: float, load_g: float) -> Freeboard | None:
        """Mean freeboard over any stretch at one load."""
        if self.floating is None:
            return None
        return self.floating.freeboard(self.gauges, from_s, to_s, load_g)

    def hear_late(self, at_s: float) -> None:
        """Where the level was not heard with the empty boat, take it from a plateau at rest."""
        if self.floating is None or self.load.moving:
            return
        plateau = self.load.plateaus[-1]
        if at_s - plateau.start_s < LATE_S:
            return
        level = self.gauges.level.between(at_s - LATE_S / 2, at_s)
        if level is not None and level.n >= LATE_ROWS:
            self.floating.level_heard_late(level, self.load_g(plateau))

    def empty_rest(self, at_s: float) -> EmptyRest:
        """The gauges' means over the first plateau so far."""
        tare = self.load.plateaus[0]
        end_s = at_s if tare.end_s is None else tare.end_s
        return EmptyRest(
            self.gauges.level.between(tare.start_s, end_s),
            self.gauges.rim.between(tare.start_s, end_s),
        )

    def point(self, plateau: Plateau, end_s: float, until_s: float | None = None) -> CurvePoint:
        """One plateau, up to a moment; `until_s`: up to when the boat was afloat, if later."""
        settled_s = self.settled_s(plateau, end_s)
        found = self.freeboard(plateau, end_s, settled_s)
        lasted_s = self._left_s(plateau, end_s, until_s or end_s) - self._borne_from_s(
            plateau, settled_s
        )
        empty = plateau is self.load.plateaus[0]
        return CurvePoint(
            at_s=plateau.start_s,
            load_g=self.load_g(plateau),
            load_g_sd=self.load_sd(plateau),
            items=total_items(self.aboard(plateau.start_s)),
            freeboard_mm=found.freeboard_mm if found else None,
            freeboard_mm_sd=found.freeboard_mm_sd if found else None,
            method=found.method if found else None,
            lasted_s=lasted_s,
            held=empty or lasted_s >= self._hold_s - HOLD_SLACK_S,
            load_source=LoadSource.SCALE if plateau.counted_sd_g is None else LoadSource.COUNT,
        )

    def hold_so_far_s(self, plateau: Plateau, at_s: float) -> float:
        """How long the boat has borne a plateau that lasts."""
        return at_s - self._borne_from_s(plateau, self.settled_s(plateau, at_s))

    def _borne_from_s(self, plateau: Plateau, settled_s: float) -> float:
        """When a hold began: hands on the tray may keep the load from rest, not from the boat."""
        landed_s = plateau.arrived_s + LANDED_S
        rested_late = settled_s == plateau.start_s and plateau is not self.load.plateaus[0]
        return min(settled_s, landed_s) if rested_late else settled_s

    def _left_s(self, plateau: Plateau, end_s: float, until_s: float) -> float:
        """When the load really left: a hand may have disturbed it long before."""
        later = (p.arrived_s for p in self.load.plateaus if p.start_s > plateau.start_s)
        return max(end_s, min(next(later, end_s), until_s)) if end_s == plateau.end_s else end_s

    def points(self, until_s: float) -> list[CurvePoint]:
        """All plateaus up to a moment; later ones only if they lasted long enough to be calm."""
        points = []
        for plateau in self.load.plateaus:
            end_s = _end_of(plateau, until_s)
            lasted_s = end_s - plateau.start_s
            empty = plateau is self.load.plateaus[0]
            if lasted_s >= CALM_S or (empty and lasted_s >= 0):
                points.append(self.point(plateau, end_s, until_s))
        return points

    def without_last_straw(self, points: list[CurvePoint], sunk_s: float) -> list[CurvePoint]:
        """The points, less the last one if its load was still on its way when the boat sank.

        From a feed tray the weights reach the boat later than they leave the tray; the addition
        that sent it down was not carried, however long the hand took.
        """
        if not points:
            return points
        last = self.load.plateaus[-1]
        # then the last straw is the movement after it
        moved_on = last.end_s is not None and last.end_s <= sunk_s + NOW_S
        on_its_way = self._by_hand and sunk_s - last.arrived_s <= WAY_S + CALM_S and not moved_on
        if not on_its_way or points[-1].at_s < last.start_s:
            return points
        if len(points) == 1 or self.settled_s(last, sunk_s) > last.start_s:
            return points
        if points[-1].freeboard_mm is not None:
            return points[:-1]  # its freeboard is that of the load before
        return [*points[:-1], replace(points[-1], held=False)]

    def afloat_before(self, sunk_s: float) -> list[Plateau]:
        """Plateaus that had begun, and calmed down, before the boat went down."""
        return [p for p in self.load.plateaus if p.start_s < sunk_s - CALM_S]

    def last_rest(self, at_s: float) -> LastRest:
        """How the boat last lay at rest before what is happening now.

        A plateau that has only just begun, and the newest seconds of a longer one, must not
        colour what they are compared with.
        """
        for plateau in reversed(self.load.plateaus):
            end_s = at_s - NEW_S if plateau.end_s is None else min(plateau.end_s, at_s - NEW_S)
            if end_s - plateau.start_s >= CALM_S:
                found = self.freeboard(plateau, end_s)
                if found is not None and found.freeboard_mm < -UNDER_MM - 4 * found.freeboard_mm_sd:
                    continue  # it was down already
                if found is not None and not self._as_the_rim_lies(found):
                    found = None
                level = self.gauges.level.between(plateau.start_s, end_s)
                return LastRest(
                    self.load_g(plateau),
                    found.freeboard_mm if found else None,
                    level.value if level else None,
                    self._slides_mm_s(end_s),
                )
        return LastRest(0.0, None, None, 0.0)

    def _as_the_rim_lies(self, found: Freeboard) -> bool:
        """Displacement knows nothing of water inside: what the rim gauge saw is no match for it."""
        return found.method is not FreeboardMethod.DISPLACEMENT or not self.gauges.rim.values

    def _slides_mm_s(self, until_s: float) -> float:
        """How fast the boat sank lower at constant load, on the worst of the last plateaus."""
        last = self.load.plateaus[-3:]
        return max(self._slide_mm_s(plateau, _end_of(plateau, until_s)) for plateau in last)

    def _slide_mm_s(self, plateau: Plateau, end_s: float) -> float:
        """How fast the freeboard fell over a plateau by the rim gauge; 0 if that is not clear."""
        slide = self.slide(plateau, end_s)
        if slide is None or slide.over_s < 2 * NOW_S:
            return 0.0
        clear = slide.fall_mm > SLIDE_MM and slide.fall_mm > 4 * slide.fall_mm_sd
        return slide.fall_mm / slide.over_s if clear else 0.0

    def slides(self, plateau: Plateau, end_s: float) -> bool:
        """Whether the freeboard clearly fell over a plateau, by the rim gauge."""
        return self._slide_mm_s(plateau, end_s) > 0

    def slide(self, plateau: Plateau, end_s: float) -> Slide | None:
        """Freeboard lost over a plateau up to a moment, from its first to its last third.

        Only a rim gauge can tell: water that leaks in does not move the level.
        """
        from_s = plateau.start_s + CALM_S
        third_s = (end_s - from_s) / 3
        if third_s <= 0:
            return None
        early = self.gauges.freeboard.between(from_s, from_s + third_s)
        late = self.gauges.freeboard.between(end_s - third_s, end_s)
        if early is None or late is None:
            return None
        sd = sqrt(early.sd**2 + late.sd**2)
        return Slide(early.value - late.value, sd, 2 * third_s)


def best_held(points: Sequence[CurvePoint]) -> CurvePoint | None:
    """Return the plateau of the largest load that was carried through its hold."""
    return max((point for point in points if point.held), key=lambda p: p.load_g, default=None)


def _end_of(plateau: Plateau, until_s: float) -> float:
    return until_s if plateau.end_s is None else min(plateau.end_s, until_s)
