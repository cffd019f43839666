"""What every source of bytes offers: a live port, the pins, a recording, the demo."""

from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True, slots=True)
class SourceStatus:
    """`text` is one line for the teacher: what is wrong while the source waits, and one remedy."""

    ok: bool
    text: str


class Source(Protocol):
    """Bytes as they arrive."""

    status: SourceStatus

    def read(self) -> bytes:
        """Return what arrived, or b"" after at most about 0.25 s of nothing.

        Never raises for a lost port: the source waits and tries again by itself.
        """
        ...

    def close(self) -> None:
        """Let go of the port. May be called twice, also from another thread during `read`."""
        ...
