"""One running rig: reads its source, keeps every byte, runs the trials, tells the pages.

One thread reads and works; taps come from other threads. A lock makes them take turns, and a
tap enters by the same door as the bytes: as a mark's line, kept and fed to the same stream.
So the engine sees live exactly what a replay of the recording will show it.
"""

import contextlib
import logging
import threading
from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from time import monotonic
from typing import Any

from rig.errors import OutOfPlace, RigError
from rig.lesson.tub_check import TubCheck
from rig.lesson.tub_facts import TubFacts
from rig.physics.flotation import capacity_g
from rig.physics.water import ROOM_C, water_density
from rig.records import Block, RawWriter, Store, TrialRow
from rig.sensing.health import RigHealth
from rig.sensing.readings import with_units
from rig.sensing.sentences import Identity, Mark, encode
from rig.sensing.source import Source
from rig.sensing.stream import Sample, Stream, StreamItem
from rig.service.bench_desk import BenchDesk
from rig.service.clock_watch import ClockWatch, boot_id
from rig.service.correcting import Corrector
from rig.service.foretelling import Foreteller
from rig.service.live import LiveFeed
from rig.service.told import (
    boat_told,
    correcting_told,
    faults_told,
    idle_told,
    now_told,
    result_row_told,
    rig_told,
    source_told,
    trial_told,
    tub_told,
)
from rig.service.workbench import Workbench
from rig.setup import Boat, RigSetup, boat_from_dict
from rig.setup.fitness import warnings_before_class
from rig.trial.engine import TrialEngine
from rig.trial.events import Ended, Phase, TrialEvent

NOW_EVERY_S = 0.2
QUIET_S, TICK_S = 1.0, 0.5  # a board silent for so long: time is told by the host, so often
STUCK_S = 10.0  # so long without coming round: start anew
MOST_ITEMS, MOST_MM = 999, 999  # by hand, at one time
MAX_HELD = 4096  # bytes without a line end: handed on as they are, whatever they may be

log = logging.getLogger(__name__)


class RigService:
    """See the module. `run()` belongs to one thread; everything else may come from any."""

    def __init__(
        self,
        setup: RigSetup,
        boats: Iterable[Boat],
        source: Source,
        store: Store,
        *,
        demo: bool = False,
        address: str = "",
        rig_file: Path | None = None,
    ) -> None:
        self.live = LiveFeed()
        self._setup = setup
        self._boats = {boat.label: boat for boat in boats}
        self._source = source
        self._store = store
        self._run_id = store.begin_run(setup.rig.name, boot_id())
        self._clock = ClockWatch()
        self._unmended = timedelta()  # the clock was set by so much, and no trial knows yet
        self._writer = RawWriter(store, self._run_id)
        self._stream = Stream()
        self._identity: Identity | None = None
        self._health = RigHealth(setup)  # of all rows; the engine's begins with each trial
        self._engine = TrialEngine(setup, self._boats)
        self._corrector = Corrector(store, setup.rig.name)
        self._row: TrialRow | None = None  # the present trial's, or the last one's
        self._results = [] if demo else self._results_today()  # newest first
        self._next: str | None = next(iter(self._boats), None)
        self._resumed: str | None = None
        self._safety_seen: date | None = None
        self._tub: TubCheck | None = None  # while somebody has the tub watched
        self._heard_s = self._ticked_s = self._came_round_s = monotonic()
        self._held = b""
        self._shown: tuple[Phase | None, float] = (None, 0.0)
        self._source_shown: dict[str, Any] = {}
        self._lock = threading.RLock()
        self._stopping = threading.Event()
        self._foreteller = Foreteller(setup.item, self._tell_foretold)
        self._workbench = Workbench(
            setup, rig_file, may_begin=self._must_be_free, changed=self._use
        )
        self.bench = BenchDesk(
            self._workbench, self._lock, lambda: (self._identity, self._stream.last_ms)
        )
        self.live.publish("rig", rig_told(setup, demo, address))
        self.live.publish("trial", {})
        self.live.publish("now", idle_told("Ready for the first boat."))
        self.tell_source()
        self._resume()
        if demo and self._engine.running:
            self.void()  # an earlier demo was cut off; its boat is not in the tub any more
        self._tell_class()

    # --- the working thread ------------------------------------------------------------

    @property
    def alive(self) -> bool:
        """Whether the working thread still comes round; a read waits for a quarter second."""
        return monotonic() - self._came_round_s < STUCK_S

    def run(self) -> None:
        """Read and work until `close()`."""
        for boat in list(self._boats.values()):
            self._foreteller.ask(boat)
        while not self._stopping.is_set():
            self._came_round_s = monotonic()
            chunk = self._source.read()
            with self._lock:
                if self._stopping.is_set():
                    return  # the writer may be closed by now
                if chunk:
                    self.arrived(chunk)
                self.tick()
                with contextlib.suppress(RigError):  # the writer says what ails the disk
                    self._look_at_the_clock()
                self.tell_source()

    def close(self) -> None:
        """Stop, and leave everything on the disk. An open trial stays open for the next start."""
        self._stopping.set()
        self._foreteller.close()
        self._source.close()
        self.live.close()
        with self._lock:
            self._workbench.leave()
            self._writer.close()

    def _look_at_the_clock(self) -> None:
        """Trials that began before somebody set it get their real times.

        Raises RecordsUnusable; the step is kept for the next look.
        """
        self._unmended += self._clock.stepped() or timedelta()
        if self._unmended:
            mended = self._store.clock_was_set(self._run_id, self._unmended)
            log.warning("the clock was set by %s: %d trials mended", self._unmended, mended)
            self._unmended = timedelta()

    def tick(self) -> None:
        """While a trial runs and the board says nothing, let time go on: holds go by hand then.

        Kept like any other mark, so that a replay sees the same.
        """
        now_s = monotonic()
        if now_s - self._heard_s < QUIET_S or now_s - self._ticked_s < TICK_S:
            return
        if self._engine.running and self._stream.count.data:
            self._ticked_s = now_s
            self._mark("tick")

    def arrived(self, chunk: bytes) -> None:
        """Hand on whole lines; a mark must never land inside one."""
        whole, end, rest = (self._held + chunk).rpartition(b"\n")
        if not end and len(rest) > MAX_HELD:
            whole, rest = rest, b""
        self._held = rest
        if whole + end:
            self._heard_s = monotonic()
            self._writer.put(whole + end)
            self._feed(whole + end)

    def _board_ms(self) -> int:
        """The board's clock now, as far as the host can tell while it is silent."""
        quiet_s = monotonic() - self._heard_s
        return self._stream.last_ms + (round(1000 * quiet_s) if quiet_s >= QUIET_S else 0)

    def _feed(self, lines: bytes) -> None:
        self._workbench.heard(lines)
        for item in self._stream.feed(lines):
            if isinstance(item, Identity) and item != self._identity:
                self._identity = item
                self._health = RigHealth(self._setup, item)
                self._tell_class()  # gauges are judged by the units the board names
            if isinstance(item, Sample):
                self._health.feed(item)
            self._noticed(self._engine.feed(item))
            if self._tub is not None:
                self._look_at_tub(self._tub, item)
        self._tell_now()
        self.tell_source()

    def _noticed(self, events: list[TrialEvent]) -> None:
        for event in events:
            if isinstance(event, Ended) and self._row is not None:
                self._keep_result(event)
        if events:
            self._tell_trial()

    def _keep_result(self, ended: Ended) -> None:
        assert self._row is not None
        result = ended.result.as_dict()
        self._corrector.finished(self._row, self._engine, self._stream.last_ms)
        try:
            self._writer.flush()
            self._row = self._store.close_trial(self._row.id, result)
        except RigError as err:
            log.error("%s", err)  # the recording is kept or waits; a restart closes the trial
        row = result_row_told(self._row.number, ended.result.boat, result)
        self._results.insert(0, row)
        self._resumed = None
        self._next = self._after(ended.result.boat, again=True)
        self._tell_class()

    # --- taps ----------------------------------------------------------------------------

    def start(self, label: str) -> None:
        """Begin a trial of a boat. Raises OutOfPlace, RigError."""
        with self._lock:
            if self._engine.running:
                raise OutOfPlace("A trial is running.", "Stop it or void it first.")
            if self._workbench.open:
                raise OutOfPlace(
                    "A calibration or a check is going on.", "Finish it or stop it first."
                )
            boat = self._boats.get(label)
            if boat is None:
                raise RigError(f'There is no boat called "{label}".', "Choose one from the list.")
            if self._stream.count.data == 0:
                raise OutOfPlace(
                    "The rig has not said anything yet.", "Check the board's plug, then start."
                )
            line = encode(Mark(self._stream.last_ms, "start", label))
            self._look_at_the_clock()  # before a trial begins whose time is right already
            self._writer.flush()
            self._row = self._store.begin_trial(
                self._run_id,
                boat=boat.as_dict(),
                setup=self._setup.model_dump(mode="json"),
                identity=encode(self._identity) if self._identity else None,
                start_mark=Block(datetime.now(UTC), line),
            )
            self._next = self._after(label)
            self._engine = TrialEngine(self._setup, self._boats)
            if self._identity:
                self._engine.feed(self._identity)
            self._feed(line)
            self._tell_class()

    def watch_tub(self, facts: TubFacts) -> None:
        """Watch the tub from now on, without a boat; topic `tub` tells. Raises OutOfPlace."""
        with self._lock:
            if self._engine.running:
                raise OutOfPlace("A trial is running.", "Stop it or void it first.")
            self._tub = TubCheck(self._setup, facts)
            if self._identity:
                self._tub.feed([self._identity])
            self.live.publish("tub", tub_told(self._tub))

    def _look_at_tub(self, tub: TubCheck, item: StreamItem) -> None:
        looked = tub.feed([item])
        if looked is not None or tub.ended:
            self.live.publish("tub", tub_told(tub))
        if tub.ended:
            self._tub = None

    def stop(self) -> None:
        """End the trial, the boat afloat. Raises OutOfPlace."""
        self._mark("stop")

    def sunk(self) -> None:
        """The boat went down, says the teacher. Raises OutOfPlace."""
        self._mark("sunk")

    def void(self) -> None:
        """The trial does not count; its readings are kept. Raises OutOfPlace."""
        self._mark("void")

    def count(self, items: int) -> None:
        """So many items more are aboard, below 0 fewer, by hand. Raises OutOfPlace."""
        if not 0 < abs(items) <= MOST_ITEMS:
            raise RigError(f"{items} items cannot be counted.", "Press one of the buttons.")
        with self._lock:
            self._must_count(items)
            self._mark("count", str(items))

    def ruler(self, freeboard_mm: float) -> None:
        """So much wall is above the water, read with a ruler. Raises OutOfPlace, RigError."""
        if not 0 <= freeboard_mm <= MOST_MM:
            raise RigError(
                f"{freeboard_mm:g} mm of wall above the water cannot be.", "Read the ruler again."
            )
        self._mark("ruler", f"{freeboard_mm:.1f}")

    def _must_count(self, items: int) -> None:
        """Refuse a tap that the running trial would have to leave out."""
        trial = self._engine.trial
        if trial is None or not self._engine.running:
            return  # `_mark` says so
        if self._setup.item is None:
            raise OutOfPlace(
                "The rig file has no [item], so taps cannot be counted.", "Write a note instead."
            )
        if not trial.view.counting:
            raise OutOfPlace("The scale works and counts by itself.", "Just go on loading.")
        aboard = trial.view.items or 0
        if aboard + items < 0:
            raise OutOfPlace(f"{-items} cannot be taken out: {aboard} aboard.", "Count once more.")

    def note(self, text: str) -> None:
        """Write something beside the readings. Raises OutOfPlace."""
        if not text.strip():
            raise RigError("The note is empty.", "Type something first.")
        self._mark("note", text.strip())

    def _mark(self, word: str, text: str = "") -> None:
        with self._lock:
            if not self._engine.running:
                raise OutOfPlace("No trial is running.", "Start one first.")
            line = encode(Mark(self._board_ms() % 2**32, word, text))
            self._writer.put(line)
            self._feed(line)

    def trial_over(self) -> bool:
        """Whether no trial is running."""
        with self._lock:
            return not self._engine.running

    def _must_be_free(self) -> None:
        if self._engine.running:
            raise OutOfPlace(
                "A trial is running: the scale is not free.", "Stop or void the trial, then begin."
            )

    def _use(self, setup: RigSetup) -> None:
        """The next trial runs with other values; those that were made keep their own."""
        self._setup = setup
        self._health = RigHealth(setup, self._identity)
        self._tell_class()

    # --- corrections -----------------------------------------------------------------------

    def correcting(self, number: int) -> dict[str, Any]:
        """What can be put right about a finished trial. Raises RigError."""
        return correcting_told(*self._corrector.look(number))

    def correct(self, number: int, text: str) -> dict[str, Any]:
        """Put something right, see `rig.trial.corrections`; return `correcting` as it is now.

        Raises CorrectionUnfit, RigError: nothing is kept or changed then.
        """
        row, result = self._corrector.correct(number, text)
        with self._lock:
            assert row.standing_result is not None, "only finished trials are corrected"
            told = result_row_told(row.number, row.boat_label, row.standing_result)
            self._results = [told if each["number"] == number else each for each in self._results]
            if not self._engine.running:  # a boat that was freed, or has had its turn after all
                waiting = self._next is not None and self._next not in self._tested()
                self._next = self._next if waiting else self._after(self._next, again=True)
            if self._row is not None and self._row.id == row.id:
                self._row = row
            self._tell_trial()
            self._tell_class()
        return correcting_told(row, result)

    # --- the class ------------------------------------------------------------------------

    def next_boat(self) -> str | None:
        """Make the next boat ready; None when all have had their turn. Raises OutOfPlace."""
        with self._lock:
            if self._engine.running:
                raise OutOfPlace("A trial is running.", "Stop it or void it first.")
            self._next = self._after(self._next, again=True)
            text = f"Next: {self._next}." if self._next else "Every boat has had its turn."
            self.live.publish("now", idle_told(text))
            self._tell_trial()
            self._tell_class()
            return self._next

    def add_boat(self, boat: Mapping[str, Any]) -> None:
        """Add a boat, given as a `[[boat]]` table. Raises SetupInvalid, OutOfPlace."""
        made = boat_from_dict(boat)
        with self._lock:
            if made.label in self._boats:
                raise OutOfPlace(
                    f'There is a boat called "{made.label}" already.', "Give it another label."
                )
            self._boats[made.label] = made
            self._next = self._next or made.label
            self._foreteller.ask(made)
            self._tell_class()

    def safety_seen(self) -> None:
        """The teacher has read the safety lines today."""
        with self._lock:
            self._safety_seen = date.today()
            self._tell_class()

    def recordings(self, number: int) -> bytes:
        """The recording of a trial. Raises RigError."""
        with self._lock:
            self._writer.flush()
        return self._store.recording(self._store.trial(number).id)

    def _after(self, label: str | None, again: bool = False) -> str | None:
        """The next boat not yet tested, going round once from the one after `label`.

        `again`: come back to `label` itself if it is the only one left.
        """
        labels = list(self._boats)
        tested = self._tested()
        first = labels.index(label) + 1 if label in labels else 0
        order = labels[first:] + labels[:first]
        waiting = [each for each in order if each not in tested and (again or each != label)]
        return waiting[0] if waiting else None

    def _tested(self) -> set[str]:
        return {row["boat"] for row in self._results if row["outcome"] != "void"}

    def _results_today(self) -> list[dict[str, Any]]:
        return [
            result_row_told(row.number, row.boat_label, row.standing_result)
            for row in self._store.trials()
            if row.rig_name == self._setup.rig.name
            and row.standing_result is not None
            and row.day == date.today()
        ]

    # --- after a power cut -------------------------------------------------------------------

    def _resume(self) -> None:
        """Go on with a trial that was cut off: feed its recording, then what comes."""
        row = self._store.open_trial(self._setup.rig.name)
        if row is None:
            return
        self._row = row
        boat = boat_from_dict(row.boat)
        self._engine = TrialEngine(
            RigSetup.model_validate(row.setup), {**self._boats, boat.label: boat}
        )
        self._resumed = row.boat_label
        self._feed(self._store.recording(row.id))

    # --- telling -------------------------------------------------------------------------------

    def _tell_now(self) -> None:
        trial = self._engine.trial
        if trial is None or self._row is None:
            return
        phase, shown = self._shown
        due = monotonic() - shown >= NOW_EVERY_S
        if phase is not trial.view.phase or (due and trial.view.phase is not Phase.ENDED):
            self._shown = (trial.view.phase, monotonic())
            item = self._setup.item
            told = now_told(trial.view, self._row.number, trial.result, item)
            self.live.publish("now", told)

    def _tell_trial(self) -> None:
        trial = self._engine.trial
        if trial is not None and self._row is not None:
            foretold = self._foreteller.of(trial.label)
            told = trial_told(trial, self._row.number, self._setup.item, self._next, foretold)
            self.live.publish("trial", told)

    def _tell_foretold(self) -> None:
        """A boat has been worked out; called from the foreteller's thread."""
        with self._lock:
            if self._stopping.is_set():
                return
            self.live.publish("foretold", self._foreteller.told())
            self._tell_trial()  # its drawing may lean

    def tell_source(self) -> None:
        """Say what disk, source or sensors are in trouble with, when that has changed."""
        trial = self._engine.trial if self._engine.running else None
        phase = trial.view.phase if trial else None
        faults = faults_told(self._health, self._setup, phase)
        shown = source_told(self._source.status, self._writer.trouble, faults)
        if shown != self._source_shown:
            self._source_shown = shown
            self.live.publish("source", shown)

    def _tell_class(self) -> None:
        judged = with_units(self._setup, self._identity)
        running = self._engine.running
        density = water_density(ROOM_C)
        counted = [row for row in reversed(self._results) if row["outcome"] != "void"]
        held = {row["boat"]: row["held_items"] for row in counted}
        boats = [
            boat_told(
                boat,
                capacity_g(boat.hull, boat.mass_g, density),
                self._setup.item,
                held.get(boat.label),
            )
            for boat in self._boats.values()
        ]
        today = date.today()
        self.live.publish(
            "class",
            {
                "boats": boats,
                "results": self._results,
                "safety_due": self._safety_seen != today,
                "can": ["stop", "sunk", "void", "note"] if running else ["start", "next"],
                "next_boat": self._next,
                "resumed": self._resumed,
                "before_class": warnings_before_class(judged, self._boats.values()),
            },
        )
