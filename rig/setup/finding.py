"""A finding: one thing looked at, its numbers, what they mean, and one thing to do."""

from abc import ABC, abstractmethod
from dataclasses import asdict, dataclass
from typing import Any, ClassVar


@dataclass(frozen=True)
class Finding(ABC):
    """One thing looked at; the numbers are the fields of each kind."""

    about: ClassVar[str]

    @property
    @abstractmethod
    def ok(self) -> bool:
        """Whether there is nothing to mend."""

    @property
    @abstractmethod
    def says(self) -> str:
        """What was found, in one sentence with its numbers and units."""

    @property
    @abstractmethod
    def do(self) -> str:
        """One sentence on what to do where it is not ok."""

    def as_dict(self) -> dict[str, Any]:
        """The finding for JSON: its numbers, and its words."""
        words = {"says": self.says, "do": "" if self.ok else self.do}
        return {"about": self.about, "ok": self.ok, **asdict(self), **words}
