"""One trial from its start mark to its result."""

from collections.abc import Sequence
from math import sqrt

from rig.errors import CorrectionUnfit, OutOfRange
from rig.physics.water import ROOM_C, water_density
from rig.sensing.health import BOARD, Ailment
from rig.sensing.readings import Reading
from rig.setup import Boat, Layout, RigSetup
from rig.trial.aboard import total_items
from rig.trial.by_hand import HandCount
from rig.trial.corrections import Account, Corrections
from rig.trial.counting import Count, spread_g
from rig.trial.curve import NOW_S, Curve
from rig.trial.despike import Despiker
from rig.trial.ending import SAME_MOMENT_S, Ending
from rig.trial.events import (
    Added,
    Addition,
    Corrected,
    CurvePoint,
    Ended,
    FaultBegan,
    FaultOver,
    Held,
    LiveView,
    LoadSource,
    Outcome,
    Phase,
    Prediction,
    RulerRead,
    Sunk,
    TakenBack,
    Tared,
    TrialEvent,
    TrialResult,
    Warned,
)
from rig.trial.fault_log import FaultLog
from rig.trial.floating import Floating
from rig.trial.forecast import Forecast
from rig.trial.load_track import Plateau, Step
from rig.trial.plausible import Plausible
from rig.trial.possible_boats import PossibleBoats
from rig.trial.prediction import predict
from rig.trial.sinking import SinkingWatch
from rig.trial.two_ways import disagreement

WAIT_S = 6.0  # after the sinking: how long the last load may take to settle
LEAST_WAIT_S = 1.0
HAND_OFF_S = 3.5  # a load that stays so long is no hand on the tray
LEARN_S = 2.0  # shorter plateaus teach the forecast nothing
REST_EVERY_S = 0.3
LOOK_EVERY_S = 0.19  # every other row at ten a second
GAP_S = 1.0  # without rows for so long, and for as long after it: what stood before is old
_NOTHING = Reading(0, None, None, None, None)


class Trial:
    """Feed it readings; it says what happened. `boat` is None for a boat nobody measured."""

    def __init__(self, setup: RigSetup, label: str, boat: Boat | None) -> None:
        self.label = label
        self.boat = boat
        self.prediction: Prediction | None = None
        self.view = LiveView()
        self.result: TrialResult | None = None  # the first one, for good
        self.corrections = Corrections(self)
        self._setup = setup
        self._sign = -1.0 if setup.rig.layout is Layout.FEED_TRAY else 1.0
        self._curve = Curve(setup)
        self._hand = HandCount(self._curve.load, setup.item)
        self._out: set[str] = set()  # channels that are not to be believed now
        self._water: list[float] = []
        self._despiker = Despiker(0.3 * self._curve.item_g if self._curve.item_g else 0.5)
        self._watch: SinkingWatch | None = None
        self._plausible: Plausible | None = None
        self._aboard: list[Addition] = []  # as it was told last
        self._held: set[float] = set()  # plateaus whose hold has been told, by their start
        self._sunk: Sunk | None = None
        self._warnings: list[str] = []
        self._faults = FaultLog()
        self._density = water_density(ROOM_C)
        self._forecast: Forecast | None = None
        self._foretold: set[float] = set()  # plateaus the forecast has learnt from, by their start
        self._now_s = self._row_s = self._sees_from_s = 0.0
        self._rested_s = self._looked_s = self._load_s = -1.0

    # --- what comes in -----------------------------------------------------------------

    def feed(self, at_s: float, reading: Reading) -> list[TrialEvent]:
        """Take in one reading; `at_s` is seconds since the start mark."""
        if self.result is not None:
            return []
        self._now_s = at_s
        if reading is not _NOTHING:
            if at_s - self._row_s > GAP_S:
                self._sees_from_s = at_s + GAP_S
            self._row_s = at_s
        events: list[TrialEvent] = []
        if reading.restarted:
            events += self._warn(
                f"The board restarted {at_s:.0f} s after the start: later times may be too small."
            )
        step = self._take_in(at_s, reading)
        if self._curve.floating is None and self._curve.load.plateaus:
            events += self._tare()
        if self._curve.floating is not None and self._rest_due(at_s):
            self._curve.floating.rest = self._curve.empty_rest(at_s)
            self._rested_s = at_s
        elif self._curve.floating is not None and self._curve.floating.rest.level is None:
            self._curve.hear_late(at_s)
        if step is not None:
            events += self._step(step)
        if unlike := self._hand.compared():
            events += self._warn(unlike)
        if step is None and at_s - self._looked_s < LOOK_EVERY_S:
            return events  # eighty rows a second need not all be thought about
        self._looked_s = at_s
        if self._sunk is None:
            events += self._hold(at_s) + self._look_for_sinking(at_s)
        self._look(at_s)
        if self._sunk is not None and self._settled(self._sunk, at_s):
            events += self._end_sunk(self._sunk)
        return events

    def warn(self, text: str) -> list[TrialEvent]:
        """Keep a warning with the trial."""
        return [] if self.result is not None else self._warn(text)

    def fault(self, event: FaultBegan | FaultOver) -> list[TrialEvent]:
        """A channel can no longer be believed, or can be again."""
        if self.result is not None:
            return []
        self._faults.note(event)
        if isinstance(event, FaultOver) or event.ailment is Ailment.RESTARTED:
            self._out.discard(event.channel)
        else:
            self._out.add(event.channel)
        scale_out = not self._out.isdisjoint(("load", BOARD))
        events: list[TrialEvent] = [event]
        if scale_out and not self._hand.out:
            step = self._weigh(self._despiker.rest())
            events += self._step(step) if step else []
            self._hand.lost()
            self._hand.taken_as_empty(self._now_s)
        elif self._hand.out and not scale_out:
            self._hand.found(event.over_s if isinstance(event, FaultOver) else self._now_s)
        return events

    def tick(self, at_s: float) -> list[TrialEvent]:
        """Time has gone on, and the board says nothing."""
        return self.feed(at_s, _NOTHING)

    def count_by_hand(self, at_s: float, items: int) -> list[TrialEvent]:
        """So many items more went aboard while the scale is out; below 0: were taken out."""
        if self.result is not None or self._sunk is not None:
            return []
        if not self._hand.out:
            return self._warn("Items were tapped while the scale worked: the scale counts.")
        self._hand.taken_as_empty(at_s)
        if items + (total_items(self._curve.aboard(at_s)) or 0) < 0:
            return self._warn("More items were tapped out than were aboard: that tap was left out.")
        before = self._curve.load.plateaus[-1]
        step = self._hand.count(at_s, items, self._curve.load_sd(before))
        item = self._setup.item
        if step is None or item is None:
            return []
        self._now_s = max(self._now_s, at_s)
        if step.after is not before:
            self._foretell(before, at_s)
        self._look(self._now_s)
        aboard, mass_g = self._curve.aboard(self._now_s), abs(items) * item.mass_g
        self._aboard = aboard
        if items < 0:
            return [TakenBack(at_s, mass_g, tuple(aboard))]
        sd_g = sqrt(items) * spread_g(item)
        newest = Addition(at_s, mass_g, items, sd_g, LoadSource.COUNT)
        return [Added(newest, self._curve.load_now(at_s), total_items(aboard))]

    def ruler(self, at_s: float, freeboard_mm: float) -> list[TrialEvent]:
        """Somebody read the freeboard with a ruler."""
        if self.result is not None:
            return []
        self._curve.rulings.read(at_s, freeboard_mm)
        self._look(max(self._now_s, at_s))
        return [RulerRead(at_s, freeboard_mm)]

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
        events = self._warn(warning) if warning else []
        self._finish_reading()
        if self._sunk is None:
            events += self._look_for_sinking(self._now_s, hurried=True)
        self._now_s = at_s
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

    def fix(self, text: str) -> list[TrialEvent]:
        """Put something right; only once the trial is over, since additions are numbered then."""
        if self.result is None:
            return self._warn("A correction came before the test had ended: it was not used.")
        return [Corrected(self.corrections.take(text))]

    # --- what can be asked ---------------------------------------------------------------

    @property
    def warnings(self) -> tuple[str, ...]:
        """What to know about this trial, so far."""
        sunk_at_s = self._sunk.at_s if self._sunk else None
        return (*self._warnings, *self._faults.lines(sunk_at_s))

    @property
    def standing_result(self) -> TrialResult | None:
        """The result as corrected, or as it was first read; None while the trial runs."""
        return self.corrections.result or self.result

    def curve_so_far(self) -> list[CurvePoint]:
        """The plateaus until now, the present one included."""
        return self._curve.points(self._sunk.at_s if self._sunk else self._now_s)

    # --- read again, for corrections ---------------------------------------------------------

    def account(self) -> Account:
        """The first result, and what was aboard at each of its points."""
        if self.result is None:
            raise CorrectionUnfit("This test is still running.", "Stop it, then put it right.")
        return self._account(self.result)

    def account_if(self, sunk_at_s: float | None) -> Account:
        """The same if it had gone down then, or not at all. Raises CorrectionUnfit."""
        if sunk_at_s is None:
            afloat = self._read(Outcome.AFLOAT, "It had not gone down, says the teacher.", None)
            return self._account(afloat)
        if not 0 < sunk_at_s <= self._now_s:
            raise CorrectionUnfit(
                f"{sunk_at_s:.1f} s after the start is not within the test.",
                f"Give more than 0 s, and {self._now_s:.1f} s at the most.",
            )
        outcome, reason, _ = self._ending.fate(Sunk(sunk_at_s, tapped=True))
        said = f"{reason} The teacher set the moment."
        return self._account(self._read(outcome, said, sunk_at_s))

    def count(self, aboard: Sequence[Addition]) -> Count | None:
        """How many items that is by its weight, and how sure."""
        return self._curve.count(aboard)

    def _account(self, result: TrialResult) -> Account:
        return Account(
            result, tuple(tuple(self._curve.aboard(point.at_s)) for point in result.curve)
        )

    # --- what is noticed on the way --------------------------------------------------------

    def _warn(self, text: str) -> list[TrialEvent]:
        if text in self._warnings:
            return []
        self._warnings.append(text)
        return [Warned(text)]

    def _take_in(self, at_s: float, reading: Reading) -> Step | None:
        curve = self._curve
        step = None
        if reading.gross_g is not None:
            step = self._weigh(self._despiker.feed(at_s, self._sign * reading.gross_g))
        if reading.water_c is not None and curve.floating is None:
            self._water.append(reading.water_c)
        level_mm, rim_mm, floating_mm = reading.level_mm, reading.rim_mm, None
        if curve.floating is not None and self._plausible is not None:
            if at_s - self._load_s >= LOOK_EVERY_S:
                self._load_s = at_s
                self._plausible.at(curve.load_now(at_s), curve.gauges)
            level_mm = self._plausible.level_mm(level_mm)
            rim_mm = self._plausible.rim_mm(rim_mm)
            floating_mm = self._plausible.floating_mm
        curve.gauges.feed(at_s, level_mm, rim_mm, floating_mm)
        return step

    def _rest_due(self, at_s: float) -> bool:
        """How the empty boat floats is looked at again now and then, while it is empty."""
        empty = len(self._curve.load.plateaus) == 1
        return empty and (at_s - self._rested_s >= REST_EVERY_S or self._curve.load.moving)

    def _weigh(self, sound: list[tuple[float, float]]) -> Step | None:
        steps = [self._curve.load.feed(at_s, gross_g) for at_s, gross_g in sound]
        return next((step for step in steps if step is not None), None)

    def _finish_reading(self) -> None:
        """Take in what was still being judged: no more readings will come."""
        self._weigh(self._despiker.rest())
        self._curve.gauges.finish()

    def _water_c(self) -> float | None:
        """Temperature of the water before the first item; None where it is not known [deg C]."""
        if not self._water:
            return None
        mean_c = sum(self._water) / len(self._water)
        try:
            water_density(mean_c)
        except OutOfRange as err:
            self._warn(f"{err} Taken as {ROOM_C:g} deg C.")
            return None
        return mean_c

    def _tare(self) -> list[TrialEvent]:
        water_c = self._water_c()
        self._density = water_density(ROOM_C if water_c is None else water_c)
        self._curve.floating = Floating(self._setup, self.boat, self._density)
        at_once = self._setup.rig.layout is Layout.TUB_ON_CELL
        self._watch = SinkingWatch(self._curve.gauges, self._curve.floating, at_once)
        self._plausible = Plausible(self._setup, self._curve.floating)
        if self.boat is not None:
            boats = PossibleBoats(self.boat.hull, self.boat.mass_g, water_c, self.boat.doubts)
            self.prediction = predict(self.boat, boats, self._setup.item)
            item = self._setup.item
            self._forecast = (
                Forecast(boats, item.mass_g, item.mass_sd_g) if item else Forecast(boats)
            )
        return [Tared(self._now_s, self.prediction)]

    def _foretell(self, plateau: Plateau, end_s: float) -> None:
        """Let the forecast learn from a plateau, once."""
        if self._forecast is None or plateau.start_s in self._foretold:
            return
        if end_s - plateau.start_s >= LEARN_S:
            self._foretold.add(plateau.start_s)
            self._forecast.add(self._curve.point(plateau, end_s))

    def _step(self, step: Step) -> list[TrialEvent]:
        if self._sunk is not None and step.at_s > self._sunk.at_s + SAME_MOMENT_S:
            return []
        self._foretell(step.before, step.before.end_s or self._now_s)
        before_g = sum(addition.mass_g for addition in self._aboard)
        self._aboard = aboard = self._curve.aboard(self._now_s)
        moved_g = sum(addition.mass_g for addition in aboard) - before_g
        if not moved_g or abs(moved_g) < (self._curve.item_g or 0.0) / 2:
            return []  # somebody leans on the table, or lets go
        if moved_g < 0:
            return [TakenBack(step.at_s, -moved_g, tuple(aboard))]
        return [Added(aboard[-1], self._curve.load_g(step.after), total_items(aboard))]

    def _hold(self, at_s: float) -> list[TrialEvent]:
        load = self._curve.load
        if len(load.plateaus) < 2 or load.moving or self._watch is None:
            return []
        plateau = load.plateaus[-1]
        if plateau.start_s in self._held or self._watch.suspected(at_s):
            return []
        if at_s - plateau.arrived_s < self._setup.rig.hold_s:
            return []
        if self._curve.hold_so_far_s(plateau, at_s) < self._setup.rig.hold_s:
            return []
        self._held.add(plateau.start_s)
        self._foretell(plateau, at_s)
        return [Held(self._curve.point(plateau, at_s))]

    def _look_for_sinking(self, at_s: float, hurried: bool = False) -> list[TrialEvent]:
        if self._watch is None or self._blind:
            return []
        curve = self._curve
        plateaus = curve.load.plateaus
        added_s = plateaus[-1].arrived_s if len(plateaus) > 1 else None
        found_s = self._watch.look(
            at_s,
            curve.load_now(at_s),
            curve.least_load(at_s),
            lambda: curve.last_rest(at_s),
            added_s,
            hurried,
        )
        if found_s is None:
            return []
        self._sunk = Sunk(found_s, tapped=False)
        return [self._sunk]

    @property
    def _blind(self) -> bool:
        """Whether nothing can tell of a sinking; what stopped with the board proves nothing."""
        gauges = {"surface": self._setup.surface, "rim": self._setup.rim}
        seeing = [name for name, gauge in gauges.items() if gauge and name not in self._out]
        old = BOARD in self._out or self._now_s < self._sees_from_s
        return old or (self._hand.out and not seeing)

    def _settled(self, sunk: Sunk, at_s: float) -> bool:
        """Whether the load at the end is known: at rest, and no hand that is about to go."""
        waited_s = at_s - sunk.at_s
        if waited_s >= WAIT_S:
            return True
        load = self._curve.load
        quiet = not load.moving and at_s - load.plateaus[-1].arrived_s >= HAND_OFF_S
        return quiet and waited_s >= LEAST_WAIT_S

    def _phase(self) -> Phase:
        if self._sunk is not None:
            return Phase.SINKING
        if not self._curve.load.plateaus:
            return Phase.TARING
        return Phase.ADDING if self._curve.load.moving else Phase.HOLDING

    def _look(self, at_s: float) -> None:
        """Bring the live view up to date."""
        view, curve = self.view, self._curve
        plateaus = curve.load.plateaus
        view.at_s, view.phase = at_s, self._phase()
        view.counting = self._hand.out
        view.load_g = curve.load_now(at_s) if plateaus else None
        view.load_g_sd = curve.load_sd(plateaus[-1]) if plateaus else None
        view.additions = self._curve.aboard(at_s)
        view.items = total_items(view.additions) if curve.item_g else None
        view.water_c = self._water[-1] if self._water else None
        found = curve.freeboard_between(at_s - NOW_S, at_s, curve.load_now(at_s))
        if found is None and plateaus:
            found = curve.rulings.between(plateaus[-1].start_s, at_s)
        if self._sunk is not None:
            found = None  # a boat that is down has no freeboard
        view.freeboard_mm = found.freeboard_mm if found else None
        view.freeboard_mm_sd = found.freeboard_mm_sd if found else None
        view.forecast = None
        if self._forecast is not None and view.load_g is not None and self._sunk is None:
            view.forecast = self._forecast.say(view.load_g, view.items)
        view.draft_mm = None
        if found is not None and self.boat is not None:
            view.draft_mm = self.boat.hull.depth_mm - found.freeboard_mm
        view.hold_left_s = None
        if view.phase is Phase.HOLDING and len(plateaus) > 1:
            view.hold_left_s = self._hold_left_s(plateaus[-1], at_s)

    def _hold_left_s(self, plateau: Plateau, at_s: float) -> float:
        """Of the hold, counted from when the load had reached the boat as soon as that matters."""
        hold_s = self._setup.rig.hold_s
        left_s = hold_s - (at_s - plateau.start_s)
        if left_s <= 0 and plateau.start_s not in self._held:
            left_s = hold_s - self._curve.hold_so_far_s(plateau, at_s)
        return max(0.0, left_s)

    # --- the end ---------------------------------------------------------------------------

    def _end_sunk(self, sunk: Sunk) -> list[TrialEvent]:
        outcome, reason, unseen = self._ending.fate(sunk)
        if unseen:
            self._warn("The gauges still saw it afloat when it was tapped as sunk.")
        return self._end(outcome, reason, sunk.at_s)

    def _end(self, outcome: Outcome, reason: str, sunk_at_s: float | None) -> list[TrialEvent]:
        if self._curve.floating is None:
            self._warn("It ended before the empty rig was weighed.")
        afloat_until_s = self._now_s if sunk_at_s is None else sunk_at_s
        if unlike := disagreement(self._curve, afloat_until_s):
            self._warn(unlike)
        self.result = self._read(outcome, reason, sunk_at_s)
        self.view.phase = Phase.ENDED
        self.view.hold_left_s = None
        return [Ended(self.result)]

    def _read(self, outcome: Outcome, reason: str, sunk_at_s: float | None) -> TrialResult:
        warnings = (*self._warnings, *self._faults.lines(sunk_at_s))
        return self._ending.result(outcome, reason, sunk_at_s, self._now_s, warnings)

    @property
    def _ending(self) -> Ending:
        return Ending(self.label, self._curve, self.boat, self.prediction, self._density)
