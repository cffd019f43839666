"""A thread that puts what the wire says on the disk, soon, and never holds up the wire."""

import threading
from collections.abc import Callable
from datetime import UTC, datetime
from time import monotonic

from rig.errors import RecordsUnusable, RigError
from rig.records.rows import Block
from rig.records.store import Store

FLUSH_S = 0.15  # leaves 0.1 s for the commit of the quarter of a second we promise
RETRY_S = 1.0
PATIENCE_S = 15.0  # for a disk that does not even answer; longer than Store waits for a writer


def _utc_now() -> datetime:
    return datetime.now(UTC)


class RawWriter:
    """Keeps blocks of one run, in order, in batches of `flush_s`.

    While the disk fails, blocks wait in memory (a class hour is a few megabytes) and are tried
    again every `retry_s`; `trouble` then holds one line for the teacher, None when all is well.
    """

    def __init__(
        self,
        store: Store,
        run_id: str,
        flush_s: float = FLUSH_S,
        *,
        retry_s: float = RETRY_S,
        now: Callable[[], datetime] = _utc_now,
    ) -> None:
        self._store, self._run_id = store, run_id
        self._flush_s, self._retry_s, self._now = flush_s, retry_s, now
        self._changed = threading.Condition()
        self._waiting: list[tuple[float, Block]] = []  # with the moment each is due
        self._put = self._kept = self._wanted = self._failures = 0
        self._retry_at = 0.0
        self._error: RigError | None = None
        self._closing = False
        # A daemon: a disk that never answers must not keep the program from ending.
        self._thread = threading.Thread(target=self._work, name="raw-writer", daemon=True)
        self._thread.start()

    @property
    def trouble(self) -> str | None:
        """Why nothing can be kept just now, and what to do, in one line; None when all is well."""
        with self._changed:
            stalled = bool(self._waiting) and monotonic() > self._waiting[0][0] + PATIENCE_S
            return str(self._unkept()) if self._error or stalled else None

    def put(self, data: bytes) -> None:
        """Take whole lines as they came, or an operator's mark. Never waits for the disk."""
        with self._changed:
            if self._closing:
                raise RuntimeError("put() after close()")
            self._waiting.append((monotonic() + self._flush_s, Block(self._now(), bytes(data))))
            self._put += 1
            self._changed.notify_all()

    def flush(self) -> None:
        """Return when everything put so far is on the disk.

        Raises:
            RecordsUnusable: a try to write it failed; it still waits and is tried again.
        """
        with self._changed:
            wanted = self._wanted = self._put
            failures = self._failures
            self._changed.notify_all()
            self._changed.wait_for(
                lambda: self._kept >= wanted or self._failures > failures, PATIENCE_S
            )
            if self._kept < wanted:
                raise self._unkept()

    def close(self) -> None:
        """Write what waits, in one last try, and end the thread; may be called twice.

        Raises:
            RecordsUnusable: some blocks could not be written and are lost.
        """
        with self._changed:
            if self._closing:
                return
            self._closing = True
            self._changed.notify_all()
        self._thread.join(PATIENCE_S)
        with self._changed:
            if self._waiting:
                raise self._unkept()

    def _work(self) -> None:
        last = False
        while not last:
            batch, last = self._next_batch()
            try:
                self._store.add_blocks(self._run_id, batch)
            except RigError as err:
                self._failed(err)
            except Exception as err:  # a fault of ours: the class goes on, the teacher is told
                self._failed(
                    RecordsUnusable(f"Readings cannot be kept ({err!r}).", "Start tubrig again.")
                )
            else:
                self._succeeded(len(batch))

    def _next_batch(self) -> tuple[list[Block], bool]:
        """Wait until something is due; return it, and whether it is the last there will be."""
        with self._changed:
            self._changed.wait_for(lambda: self._waiting or self._closing)
            if self._waiting:
                due = max(self._waiting[0][0], self._retry_at)
                self._changed.wait_for(
                    lambda: self._wanted > self._kept or self._closing,
                    max(0.0, due - monotonic()),
                )
            return [block for _, block in self._waiting], self._closing

    def _succeeded(self, count: int) -> None:
        with self._changed:
            del self._waiting[:count]
            self._kept += count
            self._retry_at, self._error = 0.0, None
            self._changed.notify_all()

    def _failed(self, err: RigError) -> None:
        with self._changed:
            self._error = err
            self._failures += 1
            self._retry_at = monotonic() + self._retry_s
            self._wanted = self._kept  # those who waited are told; the next flush may hurry again
            self._changed.notify_all()

    def _unkept(self) -> RecordsUnusable:
        why = self._error or RigError(
            "The disk or card does not answer.", "Check that it sits firmly, then start again."
        )
        return RecordsUnusable(f"Readings not kept: {len(self._waiting)}. {why.what}", why.try_this)
