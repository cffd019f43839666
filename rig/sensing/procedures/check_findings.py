"""What a check of the scale finds: each part against its band, in words. Pure.

Bands in the manner of OIML R 76-1:2006: 3.5.1 and Table 6 (errors), 3.6.1 (repeatability), 3.6.2
(eccentric loading), 3.7.1 (the weight's own error at most a third), 3.9.4 (creep, zero return: half
an interval). Only Table 6 was read at the source; the clauses are from memory, and a minute stands
where the text says half an hour.
"""

from dataclasses import dataclass
from typing import ClassVar

from rig.setup.finding import Finding


@dataclass(frozen=True)
class _Band(Finding):
    """A deviation and its limit."""

    off_g: float
    limit_g: float

    @property
    def ok(self) -> bool:
        """Whether it is within the limit."""
        return abs(self.off_g) <= self.limit_g

    @property
    def _of(self) -> str:
        return f"{'within' if self.ok else 'allowed are'} {self.limit_g:.3g} g"


@dataclass(frozen=True)
class KnownWell(_Band):
    """Whether the mass is known well enough to judge the rig by it."""

    about: ClassVar[str] = "the mass itself"
    mass_g: float

    @property
    def says(self) -> str:
        """How far it may be off."""
        return f"The {self.mass_g:.6g} g may be off by {self.off_g:.2g} g: {self._of}."

    @property
    def do(self) -> str:
        """Another one."""
        return "Use a mass that is better known, such as a weight of class M2, or weigh it first."


@dataclass(frozen=True)
class MassRight(_Band):
    """The reading of the known mass."""

    about: ClassVar[str] = "known mass"
    mass_g: float

    @property
    def says(self) -> str:
        """How far it is off."""
        return f"{self.mass_g:.6g} g read {self.off_g:+.2f} g off: {self._of}."

    @property
    def do(self) -> str:
        """Calibrate."""
        return "Check what the mass says, then calibrate the scale: tubrig calibrate load."


@dataclass(frozen=True)
class Repeats(_Band):
    """The same mass put on again."""

    about: ClassVar[str] = "repeatability"
    times: int

    @property
    def says(self) -> str:
        """Largest less smallest."""
        return f"Put on {self.times} times, it read {self.off_g:.2f} g apart: {self._of}."

    @property
    def do(self) -> str:
        """What moves."""
        return "Tighten the cell's screws, free its cable, and keep wind and steps away."


@dataclass(frozen=True)
class Corner(_Band):
    """The mass at one corner against the middle."""

    about: ClassVar[str] = "corner"
    place: str

    @property
    def says(self) -> str:
        """Where, and how much."""
        return f"At the {self.place} it reads {self.off_g:+.2f} g against the middle: {self._of}."

    @property
    def do(self) -> str:
        """Centre or stiffen."""
        return (
            "Centre tray or tub over the cell, look whether this side touches anything, and load"
            " near the middle until it is mended."
        )


@dataclass(frozen=True)
class CreepsLittle(_Band):
    """The mass left alone."""

    about: ClassVar[str] = "creep"
    watch_s: float

    @property
    def says(self) -> str:
        """How much in what time."""
        return f"In {self.watch_s:.0f} s it crept by {self.off_g:+.2f} g: {self._of}."

    @property
    def do(self) -> str:
        """Warm, no foam."""
        return "Switch on ten minutes before class; see that no glue, foam or plastic gives way."


@dataclass(frozen=True)
class ZeroBack(_Band):
    """The zero at the end against the one at the beginning."""

    about: ClassVar[str] = "zero return"

    @property
    def says(self) -> str:
        """How far away it stayed."""
        return f"The zero came back to {self.off_g:+.2f} g: {self._of}."

    @property
    def do(self) -> str:
        """Wet, touching or cold."""
        return "Dry the tray, look for what touches it, and let the rig warm up; then check again."


@dataclass(frozen=True)
class OneItem(Finding):
    """Whether the rig tells one item from none, at all that was seen."""

    about: ClassVar[str] = "one item"
    item: str
    item_g: float
    worst_g: float
    worst_of: str
    noise_g: float  # two standard deviations of a steady reading

    @property
    def ok(self) -> bool:
        """Whether error and noise together stay below half an item."""
        return self.worst_g + self.noise_g < self.item_g / 2

    @property
    def says(self) -> str:
        """Error and noise beside half an item."""
        return (
            f"A {self.item} is {self.item_g:g} g; the largest deviation is {self.worst_g:.2g} g"
            f" ({self.worst_of}) and a steady reading is good to {self.noise_g:.2g} g:"
            f" {'less' if self.ok else 'not less'} than half a {self.item}."
        )

    @property
    def do(self) -> str:
        """Mend that, or heavier items."""
        if self.noise_g >= self.item_g / 4:
            return "Keep wind, steps and wires still, hold longer, or use heavier items."
        return f"Mend the {self.worst_of} first, or use heavier items."
