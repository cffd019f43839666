"""The workbench of a running rig, as its pages reach it: never while a trial runs."""

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from typing import Any

from rig.sensing.sentences import Identity
from rig.service.workbench import Workbench


class BenchDesk:
    """Takes the running rig's lock before the workbench's, always in this order.

    Args:
        board: the board's identity and clock as last heard.
    """

    def __init__(
        self,
        bench: Workbench,
        lock: AbstractContextManager[Any],
        board: Callable[[], tuple[Identity | None, int]],
    ) -> None:
        self._bench, self._lock, self._board = bench, lock, board

    def begin(self, kind: str, options: Mapping[str, Any], note: str) -> dict[str, Any]:
        """Begin a calibration or check; return `look`. Raises OutOfPlace, RigError."""
        with self._lock:
            identity, last_ms = self._board()
            self._bench.begin(kind, options, note, identity, last_ms)
            return self._bench.look()

    def press(self, word: str, typed: str) -> dict[str, Any]:
        """`ready`, `redo` or `stop`; return `look`. Raises OutOfPlace, OutOfRange."""
        with self._lock:
            self._bench.press(word, typed)
            return self._bench.look()

    def look(self) -> dict[str, Any]:
        """What there is to show."""
        with self._lock:
            return self._bench.look()

    def write(self) -> dict[str, Any]:
        """Put the result into the rig file and to use; return `look`. Raises RigError."""
        with self._lock:
            self._bench.write()
            return self._bench.look()

    def leave(self) -> dict[str, Any]:
        """Put it away; what was measured is kept. Returns `look`."""
        with self._lock:
            self._bench.leave()
            return self._bench.look()
