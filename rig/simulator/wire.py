"""The line between board and host: it loses, tears and repeats what the board says."""

from collections import Counter
from random import Random

from rig.simulator.troubles import LinePart


class Wire:
    """Carries whole lines; `done` counts what it did to them."""

    def __init__(self, part: LinePart, rng: Random) -> None:
        self.done: Counter[str] = Counter()
        self._part, self._rng = part, rng
        self._quiet = not (part.lost or part.torn or part.repeated)

    def carry(self, lines: bytes) -> bytes:
        """Return what arrives of some lines."""
        if self._quiet:
            return lines
        return b"".join(self._one(line) for line in lines.splitlines(keepends=True))

    def _one(self, line: bytes) -> bytes:
        draw, part = self._rng.random(), self._part
        if draw < part.lost:
            self.done["lost"] += 1
            return b""
        draw -= part.lost
        if draw < part.torn:
            self.done["torn"] += 1
            return self._torn(line)
        draw -= part.torn
        if draw < part.repeated:
            self.done["repeated"] += 1
            return line * 2
        return line

    def _torn(self, line: bytes) -> bytes:
        """A piece is missing: the end (line end included), the beginning, or some in between.

        Never so little that the rest is a whole sentence still, as without its line end alone.
        """
        cut = self._rng.randint(1, len(line) - 4)
        way = self._rng.choice(("end", "beginning", "between"))
        if way == "end":
            return line[:cut]
        if way == "beginning":
            return line[cut:]
        return line[:1] + line[1 + self._rng.randint(1, len(line) - 6) :]
