"""One trial from its start mark to its result."""

from dataclasses import replace
from math import sqrt

from rig.errors import OutOfRange
from rig.physics.flotation import draft_for_volume, float_at
from rig.physics.water import ROOM_C, water_density
from rig.sensing.readings import Reading
from rig.setup import Boat, Layout, RigSetup
from rig.trial.events import (
    Added,
    Addition,
    CurvePoint,
    Ended,
    Freeboard,
    Held,
    LiveView,
    Outcome,
    Phase,
    Prediction,
    Sunk,
    TakenBack,
    Tared,
    TrialEvent,
    TrialResult,
    Warned,
)
from rig.trial.fate import LastMoments, fate_of
from rig.trial.floating import EmptyRest, Floating
from rig.trial.gauge_track import GaugeTrack
from rig.trial.load_track import LoadTrack, Plateau, Step
from rig.trial.prediction import predict
from rig.trial.sinking import SinkingWatch

CALM_S = 1.0  # waves of an addition die down before the freeboard is averaged
WAIT_S = 3.0  # after the sinking: how long the last load may take to settle
NOW_S = 0.5  # what the Board shows is the mean of the last half second
SAME_MOMENT_S = 0.5  # an addition this long after the rim went under still counts as aboard


class Trial:
    """Feed it readings; it says what happened. `boat` is None for a boat nobody measured."""

    def __init__(self, setup: RigSetup, label: str, boat: Boat | None) -> None:
        self.label = label
        self.boat = boat
        self.prediction: Prediction | None = None
        self.view = LiveView()
        self.result: TrialResult | None = None
        self._setup = setup
        self._item_g = setup.item.mass_g if setup.item else None
        self._load = LoadTrack(self._item_g)
        self._gauges = GaugeTrack()
        self._steps: list[Step] = []
        self._water: list[float] = []
        self._floating: Floating | None = None
        self._watch: SinkingWatch | None = None
        self._held_plateaus: set[int] = set()
        self._sunk: Sunk | None = None
        self._warnings: list[str] = []
        self._now_s = 0.0

    # --- what comes in -----------------------------------------------------------------

    def feed(self, at_s: float, reading: Reading) -> list[TrialEvent]:
        """Take in one reading; `at_s` is seconds since the start mark."""
        if self.result is not None:
            return []
        self._now_s = at_s
        events: list[TrialEvent] = []
        if reading.restarted:
            events += self._warn(
                "The board restarted in mid-trial: times after that are too short."
            )
        if reading.water_c is not None and self._floating is None:
            self._water.append(reading.water_c)
        step = None
        if reading.gross_g is not None:
            sign = -1.0 if self._setup.rig.layout is Layout.FEED_TRAY else 1.0
            step = self._load.feed(at_s, sign * reading.gross_g)
        floating_mm = self._floating.level_mm(self._load_now(at_s)) if self._floating else None
        self._gauges.feed(at_s, reading.level_mm, reading.rim_mm, floating_mm)
        if self._floating is None and self._load.plateaus:
            events += self._tare()
        if self._floating is not None and len(self._load.plateaus) == 1:
            self._floating.rest = self._empty_rest(self._load.plateaus[0])
        if step is not None:
            events += self._step(step)
        if self._sunk is None:
            events += self._hold(at_s) + self._look_for_sinking(at_s)
        self._look(at_s)
        if self._sunk is not None and self._settled(at_s):
            events += self._end_sunk(self._sunk)
        return events

    def warn(self, text: str) -> list[TrialEvent]:
        """Keep a warning with the trial."""
        return [] if self.result is not None else self._warn(text)

    def sunk_by_hand(self, at_s: float) -> list[TrialEvent]:
        """The teacher tapped "sunk"; where a gauge has seen it already, the gauge leads."""
        if self.result is not None or self._sunk is not None:
            return []
        self._sunk = Sunk(at_s, tapped=True)
        return [self._sunk]

    def stop(self, at_s: float, warning: str | None = None) -> list[TrialEvent]:
        """End it as it is: afloat, or sunk if it went down just before."""
        if self.result is not None:
            return []
        self._now_s = at_s
        events = self._warn(warning) if warning else []
        if self._sunk is not None:
            return events + self._end_sunk(self._sunk)
        return events + self._end(Outcome.AFLOAT, "It was still afloat when the test ended.", None)

    def void(self, at_s: float) -> list[TrialEvent]:
        """End it as one that does not count."""
        if self.result is not None:
            return []
        self._now_s = at_s
        sunk_at_s = self._sunk.at_s if self._sunk else None
        return self._end(Outcome.VOID, "This test does not count.", sunk_at_s)

    # --- what is noticed on the way ------------------------------------------------------

    def _warn(self, text: str) -> list[TrialEvent]:
        if text in self._warnings:
            return []
        self._warnings.append(text)
        return [Warned(text)]

    def _density(self) -> tuple[float, list[TrialEvent]]:
        if not self._water:
            return water_density(ROOM_C), []
        mean_c = sum(self._water) / len(self._water)
        try:
            return water_density(mean_c), []
        except OutOfRange as err:
            return water_density(ROOM_C), self._warn(f"{err} Taken as {ROOM_C:g} deg C.")

    def _tare(self) -> list[TrialEvent]:
        density, events = self._density()
        self._floating = Floating(self._setup, self.boat, density)
        self._watch = SinkingWatch(self._gauges, self._floating)
        if self.boat is not None:
            self.prediction = predict(self.boat, density, self._setup.item)
        return [*events, Tared(self._now_s, self.prediction)]

    def _empty_rest(self, tare: Plateau) -> EmptyRest:
        end_s = self._now_s if tare.end_s is None else tare.end_s
        return EmptyRest(
            self._gauges.level.between(tare.start_s, end_s),
            self._gauges.rim.between(tare.start_s, end_s),
        )

    def _step(self, step: Step) -> list[TrialEvent]:
        if self._sunk is not None and step.at_s > self._sunk.at_s + SAME_MOMENT_S:
            return []
        self._steps.append(step)
        additions = self._additions(self._now_s)
        if step.mass_g < 0:
            return [TakenBack(step.at_s, -step.mass_g, tuple(additions))]
        newest = Addition(step.at_s, step.mass_g, self._items(step.mass_g))
        return [Added(newest, self._load_g(step.after), _total_items(additions))]

    def _hold(self, at_s: float) -> list[TrialEvent]:
        if self._load.moving or self._watch is None or self._watch.suspected(at_s):
            return []
        number = len(self._load.plateaus) - 1
        plateau = self._load.plateaus[number]
        if number == 0 or number in self._held_plateaus:
            return []
        if at_s - plateau.start_s < self._setup.rig.hold_s:
            return []
        self._held_plateaus.add(number)
        return [Held(self._point(plateau, at_s))]

    def _look_for_sinking(self, at_s: float) -> list[TrialEvent]:
        if self._watch is None:
            return []
        added_s = self._steps[-1].at_s if self._steps else None
        found_s = self._watch.look(
            at_s, self._load_now(at_s), self._last_freeboard_mm(at_s), added_s
        )
        if found_s is None:
            return []
        self._sunk = Sunk(found_s, tapped=False)
        return [self._sunk]

    def _settled(self, at_s: float) -> bool:
        assert self._sunk is not None
        waited = at_s - self._sunk.at_s
        return waited >= WAIT_S or (waited >= 1.0 and not self._load.moving)

    def _last_freeboard_mm(self, at_s: float) -> float | None:
        """Measured freeboard of the newest plateau that was long enough to be calm."""
        for plateau in reversed(self._load.plateaus):
            end = plateau.end_s if plateau.end_s is not None else at_s - 1.5
            if end - plateau.start_s >= CALM_S:
                found = self._freeboard(plateau, end)
                return found.freeboard_mm if found else None
        return None

    # --- numbers -------------------------------------------------------------------------

    def _items(self, mass_g: float) -> int | None:
        return None if self._item_g is None else round(mass_g / self._item_g)

    def _load_g(self, plateau: Plateau) -> float:
        return plateau.mean_g - self._load.plateaus[0].mean_g

    def _load_sd(self, plateau: Plateau) -> float:
        tare, noise = self._load.plateaus[0], self._load.noise_g
        cell = self._setup.load
        scale = self._load_g(plateau) * cell.count_per_g_sd / cell.count_per_g
        if plateau is tare:
            return noise / sqrt(tare.n)
        return sqrt(noise**2 * (1 / plateau.n + 1 / tare.n) + scale**2)

    def _load_now(self, at_s: float) -> float:
        if not self._load.plateaus:
            return 0.0
        if not self._load.moving:
            return self._load_g(self._load.plateaus[-1])
        recent = self._load.mean_since(at_s - NOW_S)
        return 0.0 if recent is None else recent - self._load.plateaus[0].mean_g

    def _additions(self, until_s: float) -> list[Addition]:
        """What is aboard, one entry for items put on together, oldest first."""
        aboard: list[Addition] = []
        for step in self._steps:
            if step.at_s > until_s:
                break
            if step.mass_g >= 0:
                aboard.append(Addition(step.at_s, step.mass_g, self._items(step.mass_g)))
                continue
            off_g = -step.mass_g
            while aboard and off_g > 0:
                last = aboard.pop()
                left_g = last.mass_g - off_g
                off_g -= last.mass_g
                if left_g > (self._item_g or 2 * left_g) / 2:
                    items = self._items(left_g)
                    aboard.append(replace(last, mass_g=left_g, items=items))
        return aboard

    def _freeboard(self, plateau: Plateau, end_s: float) -> Freeboard | None:
        if self._floating is None:
            return None
        calm = CALM_S if end_s - plateau.start_s >= 2.5 * CALM_S else 0.0
        return self._floating.freeboard(self._gauges, plateau.start_s + calm, end_s)

    def _point(self, plateau: Plateau, end_s: float) -> CurvePoint:
        found = self._freeboard(plateau, end_s)
        lasted = end_s - plateau.start_s
        first = plateau is self._load.plateaus[0]
        return CurvePoint(
            at_s=plateau.start_s,
            load_g=0.0 if first else self._load_g(plateau),
            load_g_sd=self._load_sd(plateau),
            items=_total_items(self._additions(plateau.start_s)),
            freeboard_mm=found.freeboard_mm if found else None,
            freeboard_mm_sd=found.freeboard_mm_sd if found else None,
            method=found.method if found else None,
            lasted_s=lasted,
            held=first or lasted >= self._setup.rig.hold_s - 0.01,
        )

    def _curve(self, until_s: float) -> list[CurvePoint]:
        """All plateaus afloat that lasted at least as long as it takes to settle."""
        points = []
        for plateau in self._load.plateaus:
            end = until_s if plateau.end_s is None else min(plateau.end_s, until_s)
            if end - plateau.start_s >= CALM_S or plateau is self._load.plateaus[0]:
                points.append(self._point(plateau, end))
        return points

    def _look(self, at_s: float) -> None:
        """Bring the live view up to date."""
        view = self.view
        view.at_s, view.phase = at_s, self._phase()
        load = self._load_now(at_s) if self._load.plateaus else None
        view.load_g = load
        view.load_g_sd = self._load_sd(self._load.plateaus[-1]) if self._load.plateaus else None
        view.additions = self._additions(at_s)
        view.items = _total_items(view.additions) if self._item_g else None
        view.water_c = self._water[-1] if self._water else None
        found = None
        if self._floating is not None and load is not None:
            found = self._floating.freeboard(self._gauges, at_s - NOW_S, at_s)
        view.freeboard_mm = found.freeboard_mm if found else None
        view.freeboard_mm_sd = found.freeboard_mm_sd if found else None
        view.draft_mm = None
        if found and self.boat:
            view.draft_mm = self.boat.hull.depth_mm - found.freeboard_mm
        view.hold_left_s = None
        if view.phase is Phase.HOLDING and len(self._load.plateaus) > 1:
            gone = at_s - self._load.plateaus[-1].start_s
            view.hold_left_s = max(0.0, self._setup.rig.hold_s - gone)

    @property
    def warnings(self) -> tuple[str, ...]:
        """What to know about this trial, so far."""
        return tuple(self._warnings)

    def curve_so_far(self) -> list[CurvePoint]:
        """The plateaus until now, the present one included."""
        return self._curve(self._sunk.at_s if self._sunk else self._now_s)

    def _phase(self) -> Phase:
        if self.result is not None:
            return Phase.ENDED
        if self._sunk is not None:
            return Phase.SINKING
        if not self._load.plateaus:
            return Phase.TARING
        return Phase.ADDING if self._load.moving else Phase.HOLDING

    # --- the end ---------------------------------------------------------------------------

    def _end_sunk(self, sunk: Sunk) -> list[TrialEvent]:
        additions = self._additions(sunk.at_s + SAME_MOMENT_S)
        load_g = sum(addition.mass_g for addition in additions)
        before = [p for p in self._load.plateaus if p.start_s < sunk.at_s - CALM_S]
        freeboard = self._freeboard_just_before(before, sunk.at_s)
        slid = self._slide(before, sunk.at_s)
        outcome, reason = fate_of(
            LastMoments(
                load_g=load_g,
                capacity_g=self.prediction.capacity_g if self.prediction else None,
                item_g=self._item_g,
                since_addition_s=sunk.at_s - (additions[-1].at_s if additions else 0.0),
                freeboard_before_mm=freeboard.freeboard_mm if freeboard else None,
                slid_mm=slid[0] if slid else None,
                slid_sure=bool(slid and slid[0] > 5 * slid[1]),
                missing_mm=self._missing_mm(before, freeboard),
            )
        )
        return self._end(outcome, reason, sunk.at_s)

    def _freeboard_just_before(self, before: list[Plateau], sunk_s: float) -> Freeboard | None:
        if not before or self._floating is None:
            return None
        last = before[-1]
        end = min(last.end_s or sunk_s, sunk_s) - NOW_S
        return self._floating.freeboard(self._gauges, end - 1.0, end)

    def _slide(self, before: list[Plateau], sunk_s: float) -> tuple[float, float] | None:
        """Freeboard lost over the last plateau afloat, and its standard uncertainty [mm]."""
        if not before or not self._gauges.freeboard.values:
            return None
        last = before[-1]
        start, end = last.start_s + CALM_S, min(last.end_s or sunk_s, sunk_s) - NOW_S
        third = (end - start) / 3
        early = self._gauges.freeboard.between(start, start + third)
        late = self._gauges.freeboard.between(end - third, end)
        if third <= 0 or early is None or late is None:
            return None
        return early.value - late.value, sqrt(early.sd**2 + late.sd**2)

    def _missing_mm(self, before: list[Plateau], last: Freeboard | None) -> float | None:
        """How much lower it lay than its load explains, beyond how it lay empty; rim gauge only."""
        if not before or last is None or self.boat is None or not self._gauges.freeboard.values:
            return None
        empty = self._freeboard(before[0], before[0].end_s or self._now_s)
        density, _ = self._density()
        hull = self.boat.hull
        try:
            predicted = float_at(hull, self.boat.mass_g, self._load_g(before[-1]), density)
            predicted_empty = hull.depth_mm - draft_for_volume(hull, self.boat.mass_g / density)
        except OutOfRange:
            return None
        offset = predicted_empty - empty.freeboard_mm if empty else 0.0
        return predicted.freeboard_mm - last.freeboard_mm - offset

    def _end(self, outcome: Outcome, reason: str, sunk_at_s: float | None) -> list[TrialEvent]:
        until = self._now_s if sunk_at_s is None else sunk_at_s
        if self._floating is None:
            self._warn("It ended before the empty rig was weighed.")
        curve = self._curve(until)
        held = max((p for p in curve if p.held), key=lambda p: p.load_g, default=None)
        additions = self._additions(until + (0.0 if sunk_at_s is None else SAME_MOMENT_S))
        self.result = TrialResult(
            boat=self.label,
            outcome=outcome,
            reason=reason,
            held_g=held.load_g if held else 0.0,
            held_g_sd=held.load_g_sd if held else 0.0,
            held_items=held.items if held else (0 if self._item_g else None),
            sunk_at_s=sunk_at_s,
            predicted_capacity_g=self.prediction.capacity_g if self.prediction else None,
            predicted_capacity_items=self.prediction.capacity_items if self.prediction else None,
            additions=tuple(additions),
            curve=tuple(curve),
            warnings=tuple(self._warnings),
        )
        self.view.phase = Phase.ENDED
        self.view.hold_left_s = None
        return [Ended(self.result)]


def _total_items(additions: list[Addition]) -> int | None:
    if any(addition.items is None for addition in additions):
        return None
    return sum(addition.items or 0 for addition in additions)
