"""Corrections of finished trials: read again from what was kept, put right, kept beside it."""

import threading
from datetime import UTC, datetime

from rig.errors import OutOfPlace, RigError
from rig.records import Block, Store, TrialRow
from rig.sensing.sentences import Mark, encode
from rig.sensing.stream import OperatorMark, Stream
from rig.setup import RigSetup, boat_from_dict
from rig.trial.engine import TrialEngine
from rig.trial.events import TrialResult
from rig.trial.trial import Trial

AT_HAND = 3  # finished trials kept in memory: a teacher corrects the newest, tap after tap


class Corrector:
    """Corrects any finished trial of one rig. May be used from any thread.

    Reading a long trial again takes seconds, so no lock of the running rig is held meanwhile.
    """

    def __init__(self, store: Store, rig_name: str) -> None:
        self._store = store
        self._rig_name = rig_name
        self._at_hand: dict[str, tuple[TrialEngine, int]] = {}  # by trial id, oldest first
        self._turn = threading.Lock()  # one correction at a time
        self._lock = threading.Lock()  # never held long: the rig's own thread comes by

    def finished(self, row: TrialRow, engine: TrialEngine, last_ms: int) -> None:
        """Have a trial at hand whose result is about to be kept.

        The engine is not copied: a correction changes what it shows as well.

        Args:
            last_ms: the board's clock at the trial's last row.
        """
        self._keep(row.id, engine, last_ms)

    def row(self, number: int) -> TrialRow:
        """Return a finished trial of this rig. Raises RigError."""
        row = self._store.trial(number)
        if row.rig_name != self._rig_name:
            raise RigError(
                f'Trial {number} was made on the rig "{row.rig_name}".', "Correct it there."
            )
        if row.result is None:
            raise OutOfPlace(f"Trial {number} is still open.", "Stop it first.")
        return row

    def look(self, number: int) -> tuple[TrialRow, TrialResult]:
        """Return a finished trial and its result as this program reads it, which is what k means.

        An older program may have kept another first result. Raises RigError.
        """
        with self._turn:
            row = self.row(number)
            engine, _ = self._at_hand_now(row)
            return row, _standing(engine)

    def correct(self, number: int, text: str) -> tuple[TrialRow, TrialResult]:
        """Keep one more correction of a trial; return both as they are now.

        Args:
            text: of the `fix` mark.

        Raises:
            CorrectionUnfit: it cannot be applied; nothing is kept or changed.
            RigError: no such finished trial here, or it cannot be kept.
        """
        with self._turn:
            row = self.row(number)
            engine, last_ms = self._at_hand_now(row)
            result = _trial(engine).corrections.would_give(text)
            line = Block(datetime.now(UTC), encode(Mark(last_ms, "fix", text)))
            corrected = result.as_dict() if result.corrections else None
            row = self._store.add_correction(row.id, line, corrected)
            engine.feed(OperatorMark(0, "fix", text))  # its time means nothing
            return row, result

    def _keep(self, trial_id: str, engine: TrialEngine, last_ms: int) -> None:
        with self._lock:
            self._at_hand.pop(trial_id, None)
            self._at_hand[trial_id] = engine, last_ms
            while len(self._at_hand) > AT_HAND:
                del self._at_hand[next(iter(self._at_hand))]

    def _at_hand_now(self, row: TrialRow) -> tuple[TrialEngine, int]:
        with self._lock:
            found = self._at_hand.get(row.id)
        engine, last_ms = found or self._read_again(row)
        self._keep(row.id, engine, last_ms)
        return engine, last_ms

    def _read_again(self, row: TrialRow) -> tuple[TrialEngine, int]:
        boat = boat_from_dict(row.boat)
        engine = TrialEngine(RigSetup.model_validate(row.setup), {boat.label: boat})
        stream = Stream()
        for item in [*stream.feed(self._store.recording(row.id)), *stream.finish()]:
            engine.feed(item)
        engine.finish()
        return engine, stream.last_ms


def _trial(engine: TrialEngine) -> Trial:
    assert engine.trial is not None, "a finished trial's recording has a start mark"
    return engine.trial


def _standing(engine: TrialEngine) -> TrialResult:
    result = _trial(engine).standing_result
    assert result is not None, "a finished trial has a result"
    return result
