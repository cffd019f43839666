"""The kept trials: put in, closed, found again."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from sqlalchemy import Connection, Row, Select, func, insert, null, select, update
from uuid6 import uuid7

from rig import __version__
from rig.errors import OutOfPlace, RigError
from rig.records.database import BUSY_S, Database, cannot_make
from rig.records.migrate import is_current, migrate
from rig.records.rows import Block, TrialRow
from rig.records.schema import correction, run, trial, wire_block
from rig.records.sessions import Sessions

_TABLED = ("held_g", "held_items", "sunk_at_s", "predicted_capacity_g")


class Store:
    """The records of one machine: one file, any number of rigs. May be used from any thread.

    Every method raises RecordsUnusable when the disk will not have it; what was committed before
    stays. A method that has returned has its work on the disk.
    """

    def __init__(self, database: Database) -> None:
        self._database = database
        self.sessions = Sessions(database)

    @classmethod
    def open(cls, path: Path, busy_s: float = BUSY_S) -> Self:
        """Open the file of kept trials, making it and its folder, and bring its tables up to date.

        Args:
            path: the file, see `rig.records.records_file`.
            busy_s: how long to wait for another program that is writing [s].

        Raises:
            RecordsUnusable: the folder or file cannot be written, is no database, is damaged,
                belongs to another program or to a newer tubrig; or the disk is full.
        """
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as err:
            raise cannot_make(path.parent, err) from err
        database = Database(path, busy_s)
        try:
            with database.reading() as connection:
                current = is_current(connection)
            if not current:
                with database.writing() as connection:
                    migrate(connection, str(path))
        except BaseException:
            database.close()
            raise
        return cls(database)

    def begin_run(self, rig_name: str, boot_id: str | None = None) -> str:
        """Note that the program started for a rig; return the run's id.

        Args:
            boot_id: which start of the computer, where that is known.
        """
        run_id = str(uuid7())
        with self._database.writing() as connection:
            connection.execute(
                insert(run).values(
                    id=run_id,
                    rig_name=rig_name,
                    software_version=__version__,
                    started_at_utc=datetime.now(UTC),
                    boot_id=boot_id,
                )
            )
        return run_id

    def clock_was_set(self, run_id: str, step: timedelta) -> int:
        """Mend the times of the rig's trials so far since the computer started; return how many.

        The clock was set by `step` just now. What was kept stays beside. Another rig's trials are
        left to its own program, which notices the same step: mended by both they would be wrong.
        """
        with self._database.writing() as connection:
            own = select(run.c.boot_id, run.c.rig_name).where(run.c.id == run_id)
            boot_id, rig_name = connection.execute(own).one()
            same = run.c.id == run_id if boot_id is None else run.c.boot_id == boot_id
            begun = select(trial.c.id, trial.c.started_at_utc, trial.c.mended_start_utc)
            rows = connection.execute(begun.join(run).where(same, run.c.rig_name == rig_name)).all()
            for trial_id, started, mended in rows:
                really = (mended or started) + step
                connection.execute(
                    update(trial).where(trial.c.id == trial_id).values(mended_start_utc=really)
                )
        return len(rows)

    def add_blocks(self, run_id: str, blocks: Sequence[Block]) -> None:
        """Keep blocks in their order, all or none."""
        if not blocks:
            return
        rows = [
            {"run_id": run_id, "received_at_utc": block.received_at, "data": block.data}
            for block in blocks
        ]
        with self._database.writing() as connection:
            connection.execute(insert(wire_block), rows)

    def begin_trial(
        self,
        run_id: str,
        *,
        boat: Mapping[str, Any],
        setup: Mapping[str, Any],
        identity: bytes | None,
        start_mark: Block,
    ) -> TrialRow:
        """Keep the start mark and the trial that begins with it, both or neither.

        Blocks that arrived earlier must be in already: flush the writer first.

        Args:
            boat: `Boat.as_dict()`.
            setup: `RigSetup.model_dump(mode="json")`.
            identity: the board's identity line, where it was said before the trial began.
        """
        trial_id = str(uuid7())
        with self._database.writing() as connection:
            mark = insert(wire_block).values(
                run_id=run_id, received_at_utc=start_mark.received_at, data=start_mark.data
            )
            block_id = connection.execute(mark.returning(wire_block.c.id)).scalar_one()
            newest = connection.scalar(select(func.max(trial.c.number)))
            connection.execute(
                insert(trial).values(
                    id=trial_id,
                    number=(newest or 0) + 1,
                    run_id=run_id,
                    boat_label=boat["label"],
                    boat=dict(boat),
                    setup=dict(setup),
                    identity=identity,
                    started_at_utc=start_mark.received_at,
                    first_block_id=block_id,
                    closed=False,
                )
            )
            return _trial(connection, trial_id)

    def close_trial(self, trial_id: str, result: Mapping[str, Any]) -> TrialRow:
        """Keep a trial's result and end its recording with the rig's newest block.

        Args:
            result: `TrialResult.as_dict()`; numbers must be finite.

        Raises:
            OutOfPlace: it is closed already; its result stays.
            RigError: there is no such trial.
        """
        with self._database.writing() as connection:
            kept = _trial(connection, trial_id)
            if kept.closed:
                raise OutOfPlace(
                    f"Trial {kept.number} is closed already.", "Start the next one instead."
                )
            connection.execute(
                update(trial)
                .where(trial.c.id == kept.id)
                .values(
                    closed=True,
                    last_block_id=_newest_block(connection, kept),
                    result=dict(result),
                    **_tabled(result),
                )
            )
            return _trial(connection, trial_id)

    def add_correction(
        self, trial_id: str, line: Block, corrected: Mapping[str, Any] | None
    ) -> TrialRow:
        """Keep a correction and what counts with it, both or neither.

        Args:
            line: the `fix` mark.
            corrected: `TrialResult.as_dict()`; None if no correction stands any more.

        Raises:
            OutOfPlace: the trial is still open.
            RigError: there is no such trial.
        """
        with self._database.writing() as connection:
            kept = _trial(connection, trial_id)
            if kept.result is None:
                raise OutOfPlace(f"Trial {kept.number} is still open.", "Stop it first.")
            earlier = select(func.count()).where(correction.c.trial_id == kept.id)
            connection.execute(
                insert(correction).values(
                    id=str(uuid7()),
                    trial_id=kept.id,
                    place=connection.execute(earlier).scalar_one() + 1,
                    made_at_utc=line.received_at,
                    line=line.data,
                )
            )
            connection.execute(
                update(trial)
                .where(trial.c.id == kept.id)
                .values(
                    corrected=null() if corrected is None else dict(corrected),
                    **_tabled(corrected or kept.result),
                )
            )
            return _trial(connection, trial_id)

    def open_trial(self, rig_name: str) -> TrialRow | None:
        """Return the rig's newest trial that was left open, by a power cut for one, or None."""
        newest = _trials().where(run.c.rig_name == rig_name).order_by(trial.c.number.desc())
        with self._database.reading() as connection:
            row = connection.execute(newest.where(~trial.c.closed).limit(1)).one_or_none()
        return None if row is None else _row(row)

    def trials(self, limit: int = 200) -> list[TrialRow]:
        """Return the newest trials of all rigs, newest first."""
        newest = _trials().order_by(trial.c.number.desc()).limit(limit)
        with self._database.reading() as connection:
            return [_row(row) for row in connection.execute(newest)]

    def trial(self, number_or_id: int | str) -> TrialRow:
        """Return one trial by its number (7 or "7") or id. Raises RigError if there is none."""
        with self._database.reading() as connection:
            return _trial(connection, number_or_id)

    def recording(self, trial_id: str) -> bytes:
        """Return a trial's `.rec`: the identity line, then all its rig said, from its start mark.

        It ends where the trial was closed, or with the rig's newest block so far. Blocks of later
        runs of the same rig belong to it: a trial may go on after a restart. Corrections follow.
        Raises RigError if there is no such trial.
        """
        with self._database.reading() as connection:
            kept = _trial(connection, trial_id)
            last = kept.last_block_id or _newest_block(connection, kept)
            said = connection.scalars(
                select(wire_block.c.data)
                .join(run)
                .where(run.c.rig_name == kept.rig_name)
                .where(wire_block.c.id.between(kept.first_block_id, last))
                .order_by(wire_block.c.id)
            )
            fixes = connection.scalars(
                select(correction.c.line)
                .where(correction.c.trial_id == kept.id)
                .order_by(correction.c.place)
            )
            return _whole_line(kept.identity) + b"".join((*said, *fixes))

    def said_lately(self, rig_name: str, minutes: float) -> bytes:
        """Return what a rig has said in the last minutes of what is kept, in order.

        Counted back from the newest block, by the clock the blocks were kept with.
        """
        rows = (
            select(wire_block.c.data, wire_block.c.received_at_utc)
            .join(run)
            .where(run.c.rig_name == rig_name)
            .order_by(wire_block.c.id.desc())
        )
        said: list[bytes] = []
        with self._database.reading() as connection:
            newest = None
            for data, at in connection.execute(rows):
                newest = newest or at
                if newest - at > timedelta(minutes=minutes):
                    break
                said.append(data)
        return b"".join(reversed(said))

    def close(self) -> None:
        """Let go of the file; may be called twice."""
        self._database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        err: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def _trials() -> Select[Any]:
    return select(trial, run.c.rig_name).join(run)


def _row(row: Row[Any]) -> TrialRow:
    return TrialRow(**row._mapping)


def _trial(connection: Connection, number_or_id: int | str) -> TrialRow:
    text = str(number_or_id)
    numbered = text.isdecimal() and len(text) < 10  # a longer one fits no column
    key = trial.c.number == int(text) if numbered else trial.c.id == text
    row = connection.execute(_trials().where(key)).one_or_none()
    if row is None:
        raise RigError(f"There is no trial {number_or_id}.", "Choose one from the list of results.")
    return _row(row)


def _tabled(result: Mapping[str, Any]) -> dict[str, Any]:
    """The figures that have columns of their own."""
    return {"outcome": str(result["outcome"]), **{key: result[key] for key in _TABLED}}


def _newest_block(connection: Connection, kept: TrialRow) -> int:
    """The last block that can be the trial's: a later trial of the same rig ends it."""
    next_begins = (
        select(func.min(trial.c.first_block_id))
        .join(run)
        .where(run.c.rig_name == kept.rig_name, trial.c.number > kept.number)
        .scalar_subquery()
    )
    newest: int = connection.execute(
        select(func.max(wire_block.c.id))
        .join(run)
        .where(run.c.rig_name == kept.rig_name)
        .where(wire_block.c.id < func.coalesce(next_begins, wire_block.c.id + 1))
    ).scalar_one()
    return newest


def _whole_line(identity: bytes | None) -> bytes:
    if not identity or identity.endswith(b"\n"):
        return identity or b""
    return identity + b"\r\n"
