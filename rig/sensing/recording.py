"""Recordings (`.rec`): the sentence lines of one trial or many, and nothing else."""

from collections.abc import Iterator
from pathlib import Path
from types import TracebackType
from typing import Self

from rig.errors import RecordsUnusable
from rig.sensing.framing import LineSplitter, Rejected, body_of

CHUNK = 64 * 1024


def read_recording(path: Path) -> Iterator[bytes]:
    """Yield the bytes of a recording in chunks.

    Raises:
        RecordsUnusable: at the first chunk or a later one, if the file cannot be read.
    """
    try:
        with open(path, "rb") as file:
            while chunk := file.read(CHUNK):
                yield chunk
    except OSError as err:
        raise RecordsUnusable(
            f"Cannot read the recording {path}: {err.strerror}.",
            "Check the name and where the file is.",
        ) from err


class RecordingWriter:
    """Writes what it is fed, whole sentences only, each unchanged but for a missing CR LF.

    Every line is with the system before `write` returns: a killed process loses none.

    Raises:
        RecordsUnusable: the file is already there and `overwrite` is not set, or it cannot be
            written.
    """

    def __init__(self, path: Path, *, overwrite: bool = False) -> None:
        self.skipped = 0  # lines fed that were no sentences
        self._path = path
        self._splitter = LineSplitter()
        try:
            # it stays open as long as this object does: no with statement fits
            self._file = open(path, "wb" if overwrite else "xb", buffering=0)  # noqa: SIM115
        except FileExistsError as err:
            raise RecordsUnusable(
                f"The recording {path} is already there.", "Give another name, or delete it first."
            ) from err
        except OSError as err:
            raise self._unwritable(err) from err

    def write(self, chunk: bytes) -> None:
        """Write the sentences that this chunk completes. Raises RecordsUnusable, ValueError."""
        self._write(self._splitter.feed(chunk))

    def close(self) -> None:
        """Write a last line that lacks only its end, and close. May be called twice."""
        if self._file.closed:
            return
        try:
            self._write(self._splitter.rest())
        finally:
            self._file.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _write(self, lines: list[bytes]) -> None:
        whole = [line for line in lines if not isinstance(body_of(line), Rejected)]
        self.skipped += len(lines) - len(whole)
        rest = memoryview(b"".join(line.rstrip(b"\r\n") + b"\r\n" for line in whole))
        try:
            while rest:  # an unbuffered file may take less than all
                rest = rest[self._file.write(rest) :]
        except OSError as err:
            raise self._unwritable(err) from err

    def _unwritable(self, err: OSError) -> RecordsUnusable:
        return RecordsUnusable(
            f"Cannot write the recording {self._path}: {err.strerror}.",
            "Check the folder and the room on the disk.",
        )
