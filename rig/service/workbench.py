"""The workbench: one calibration or check at a time, kept with its raw words.

Command line and Desk use the same one. What a person presses becomes a note's line between the
rows, in a recording beside the rig file, so that the recording gives the same result again.
"""

import json
import threading
from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from rig import __version__
from rig.errors import OutOfPlace, OutOfRange, RecordsUnusable, RigError
from rig.sensing.procedures.jobs import make_job
from rig.sensing.procedures.session import READY, REDO, STOP, TAG, Phase, Session
from rig.sensing.procedures.steps import Outcome
from rig.sensing.recording import RecordingWriter, read_recording
from rig.sensing.sentences import Identity, Mark, encode
from rig.sensing.stream import OperatorMark, Stream
from rig.setup import RigSetup
from rig.setup.rigwrite import lines_for, with_sets, write_sets

FOLDER: Final = "calibrations"
BEGIN: Final = "begin"
MOST_NOTE, MOST_TYPED = 200, 200


def _nothing_against() -> None:
    return None


class Workbench:
    """May be used from any thread.

    Args:
        setup: the rig as it is now.
        rig_file: the file that results are written into; None for a demo.
        may_begin: raises OutOfPlace where something else is going on.
        changed: is told the new set-up once a result is in use.
        now: the time for names of files.
    """

    def __init__(
        self,
        setup: RigSetup,
        rig_file: Path | None,
        *,
        may_begin: Callable[[], None] = _nothing_against,
        changed: Callable[[RigSetup], None] | None = None,
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> None:
        self._setup, self._rig_file = setup, rig_file
        self._may_begin, self._changed, self._now = may_begin, changed, now
        self._identity: Identity | None = None
        self._lock = threading.RLock()
        self._session: Session | None = None
        self._stream = Stream()
        self._held = b""
        self._writer: RecordingWriter | None = None
        self._about: dict[str, Any] = {}
        self._result_file: Path | None = None
        self._outcome: Outcome | None = None
        self._outcome_trouble = ""
        self._in_use = ""

    @property
    def open(self) -> bool:
        """Whether something is going on that a trial would disturb."""
        with self._lock:
            return self._session is not None and self._session.phase is not Phase.DONE

    @property
    def rows(self) -> int:
        """Rows heard since the beginning."""
        with self._lock:
            return self._stream.count.data

    def begin(
        self,
        kind: str,
        options: Mapping[str, Any],
        note: str = "",
        identity: Identity | None = None,
        last_ms: int = 0,
    ) -> None:
        """Begin a procedure, in place of one that was left lying.

        Args:
            options: see `make_job`.
            note: the operator's own words, kept with the result.
            identity, last_ms: the board's, as far as it has been heard.

        Raises:
            OutOfPlace: a trial is running.
            RigError: the options make no procedure, or its folder cannot be written.
        """
        with self._lock:
            self._may_begin()
            job = make_job(kind, options)
            told = {"kind": kind, "options": dict(options), "note": note.strip()[:MOST_NOTE]}
            begin = f"{TAG} {BEGIN} {json.dumps(told, ensure_ascii=False)}"
            try:
                line = encode(Mark(last_ms % 2**32, "note", begin))
            except ValueError as err:
                raise OutOfRange("The note is too long to be kept.", "Make it shorter.") from err
            self.leave()
            at = self._now()
            self._about = {**told, "begun_at_utc": at.isoformat(), "rig": self._setup.rig.name}
            self._writer = self._recording(kind, at)
            self._stream, self._held = Stream(), b""
            self._stream.last_ms = last_ms
            self._identity = identity
            self._session = Session(job, self._setup, identity)
            self._outcome, self._outcome_trouble, self._in_use = None, "", ""
            if identity and self._writer:
                self._writer.write(encode(identity))
            self._feed(line)

    def heard(self, chunk: bytes) -> None:
        """Take in what the board said; bytes in any pieces. Never raises for a full disk."""
        with self._lock:
            session = self._session
            if session is None or session.phase is Phase.DONE:
                return
            whole, end, self._held = (self._held + chunk).rpartition(b"\n")
            try:
                self._feed(whole + end)
            except RecordsUnusable as err:
                session.trouble = str(err)
                with suppress(RecordsUnusable):
                    self._close_writer()

    def press(self, word: str, typed: str = "") -> None:
        """`ready` (with what was typed instead of the step's value), `redo` or `stop`.

        Raises:
            OutOfPlace: it does not fit what is going on.
            OutOfRange: what was typed is no known value.
        """
        with self._lock:
            session = self._must_have()
            if word not in (READY, REDO, STOP):
                raise OutOfPlace(f'"{word}" is no button here.', "Use ready, redo or stop.")
            typed = " ".join(typed.split())[:MOST_TYPED]
            session.check(word, typed)
            self._outcome = None
            self._note(word, typed)
            self._finish_if_done()

    def give_up(self, why: str) -> None:
        """No row came for too long: ask again."""
        with self._lock:
            if self._session is not None:
                self._session.give_up(why)

    def look(self) -> dict[str, Any]:
        """Return all there is to show; `kind` is empty where nothing was begun."""
        with self._lock:
            if self._session is None:
                return {"kind": "", "phase": "", "can": []}
            outcome = self.outcome() if self._session.phase is Phase.DONE else None
            told = outcome.as_dict() if outcome else None
            return {
                **self._session.view(),
                "note": self._about["note"],
                "can": self._can(outcome),
                "outcome": told,
                "outcome_trouble": self._outcome_trouble,
                "lines": lines_for(outcome.sets) if outcome and outcome.sets else "",
                "kept": str(self._result_file) if self._result_file else "",
                "in_use": self._in_use,
            }

    def outcome(self) -> Outcome | None:
        """Return what the readings so far come to; None, and the reason beside, for too few."""
        with self._lock:
            session = self._must_have()
            if self._outcome is None:
                try:
                    self._outcome, self._outcome_trouble = session.outcome(), ""
                except RigError as err:
                    self._outcome_trouble = str(err)
            return self._outcome

    def write(self) -> str:
        """Put the result into the rig file, keep the old one, use it from the next trial on.

        Returns what was done, in a sentence.

        Raises:
            OutOfPlace: there is nothing to write, or its points contradict each other.
            RigError: the file cannot be written.
        """
        with self._lock:
            session = self._must_have()
            self._may_begin()
            outcome = self.outcome() if session.phase is Phase.DONE else None
            if outcome is None or not outcome.sets:
                raise OutOfPlace("There is no result to write.", "Finish the steps first.")
            if outcome.contradicts:
                raise OutOfPlace(
                    f"This result is not written: {outcome.contradicts}.",
                    "Take what was named again, then write.",
                )
            if self._rig_file is None:
                self._setup = with_sets(self._setup, outcome.sets)
                self._in_use = "In use until the rig stops: a demo has no rig file."
            else:
                self._setup, copy = write_sets(self._rig_file, outcome.sets, self._now())
                self._in_use = (
                    f"Written into {self._rig_file.name} and in use from the next trial on."
                    f" The old file is kept as {copy.name}."
                )
            self._keep(outcome)
            if self._changed is not None:
                self._changed(self._setup)
            return self._in_use

    def leave(self) -> None:
        """Put the bench away; what was measured is kept. May be called twice."""
        with self._lock:
            if self._session is not None and self._session.phase is not Phase.DONE:
                self.press(STOP)
            self._close_writer()
            self._session = None

    def _close_writer(self) -> None:
        writer, self._writer = self._writer, None
        if writer is not None:
            writer.close()

    def _can(self, outcome: Outcome | None) -> list[str]:
        session = self._must_have()
        can = [word for word in (READY, REDO, STOP) if self._may(session, word)]
        if outcome is not None and outcome.sets and not outcome.contradicts and not self._in_use:
            can.append("write")
        return can

    @staticmethod
    def _may(session: Session, word: str) -> bool:
        try:
            session.check(word)
        except OutOfPlace:
            return False
        return True

    def _must_have(self) -> Session:
        if self._session is None:
            raise OutOfPlace("Nothing has been begun.", "Begin a calibration or a check first.")
        return self._session

    def _note(self, word: str, text: str = "") -> None:
        """Our own line: kept, and fed like all others."""
        words = f"{TAG} {word} {text}".strip()
        self._feed(encode(Mark(self._stream.last_ms % 2**32, "note", words)))

    def _feed(self, lines: bytes) -> None:
        session = self._must_have()
        if self._writer is not None:
            self._writer.write(lines)
        for item in self._stream.feed(lines):
            session.feed(item)
        self._finish_if_done()

    def _finish_if_done(self) -> None:
        session = self._session
        if session is None or session.phase is not Phase.DONE or self._outcome is not None:
            return
        self._keep(self.outcome())

    # --- what is kept ---------------------------------------------------------------------

    def _recording(self, kind: str, at: datetime) -> RecordingWriter | None:
        """The recording's writer, its name by the time; a number more where that is taken."""
        if self._rig_file is None:
            self._result_file = None
            return None
        folder = self._rig_file.parent / FOLDER
        try:
            folder.mkdir(exist_ok=True)
        except OSError as err:
            raise RecordsUnusable(
                f"Cannot make the folder {folder}: {err.strerror}.", "Check who owns its parent."
            ) from err
        stem = f"{at:%Y-%m-%dT%H-%M-%SZ}-{kind}"
        more = 0
        while (folder / f"{stem}.rec").exists():
            more += 1
            stem = f"{at:%Y-%m-%dT%H-%M-%SZ}-{kind}-{more}"
        self._result_file = folder / f"{stem}.json"
        return RecordingWriter(folder / f"{stem}.rec")

    def _keep(self, outcome: Outcome | None) -> None:
        """Write the result beside its recording; written again when it is put to use."""
        if self._result_file is None:
            return
        session = self._must_have()
        kept = {
            **self._about,
            "ended_at_utc": self._now().isoformat(),
            "software_version": __version__,
            "recording": f"{self._result_file.stem}.rec",
            "withdrawn": session.withdrawn,
            "setup": self._setup.model_dump(mode="json"),
            "result": outcome.as_dict() if outcome else None,
            "no_result": self._outcome_trouble,
            "in_use": self._in_use,
        }
        try:
            self._result_file.write_text(
                json.dumps(kept, indent=2, ensure_ascii=False, allow_nan=False), encoding="utf-8"
            )
        except OSError as err:
            raise RecordsUnusable(
                f"Cannot write {self._result_file}: {err.strerror}.",
                "Free some space; the recording beside it has every reading.",
            ) from err


def again(recording: Path, setup: RigSetup) -> tuple[Session, Mapping[str, Any]]:
    """Return the session that a kept recording gives, and what it was begun with.

    Raises:
        RecordsUnusable: it cannot be read, or is no recording of a calibration or check.
        RigError: its beginning makes no procedure.
    """
    stream, session, about = Stream(), None, {}
    identity: Identity | None = None
    for chunk in read_recording(recording):
        for item in stream.feed(chunk):
            if isinstance(item, Identity):
                identity = item
            if session is not None:
                session.feed(item)
            elif isinstance(item, OperatorMark) and item.text.startswith(f"{TAG} {BEGIN} "):
                about = _begun(item.text, recording)
                session = Session(make_job(about["kind"], about["options"]), setup, identity)
    if session is None:
        raise RecordsUnusable(
            f"{recording} is no recording of a calibration or check.",
            f'Choose a .rec file in the folder "{FOLDER}" beside the rig file.',
        )
    return session, about


def _begun(text: str, recording: Path) -> dict[str, Any]:
    try:
        about = json.loads(text.removeprefix(f"{TAG} {BEGIN} "))
        return {"kind": str(about["kind"]), "options": dict(about["options"]), **about}
    except (ValueError, TypeError, KeyError) as err:
        raise RecordsUnusable(
            f"The beginning of {recording} is damaged.", "Choose another recording."
        ) from err
