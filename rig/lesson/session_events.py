"""What happens in a class session, one event each; a session is its events, in order.

Labels are those of groups, never names of children. Each event is kept as a flat JSON object with
its `kind`, so that a session goes on where it was after a restart.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields
from typing import Any, ClassVar

from rig.errors import OutOfRange


@dataclass(frozen=True, slots=True)
class GroupAdded:
    """A group came, at the end of the order."""

    kind: ClassVar[str] = "group"
    label: str


@dataclass(frozen=True, slots=True)
class BoatRegistered:
    """A group's boat, weighed and measured; `boat` is `Boat.as_dict()`. Again: it was mended."""

    kind: ClassVar[str] = "boat"
    label: str
    boat: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Guessed:
    """A group's own guess, before its test."""

    kind: ClassVar[str] = "guess"
    label: str
    items: int


@dataclass(frozen=True, slots=True)
class TurnBegan:
    """The group's boat is in the tub."""

    kind: ClassVar[str] = "turn"
    label: str
    trial: int


@dataclass(frozen=True, slots=True)
class TurnEnded:
    """The trial is over. `counts` is False if it was voided: the turn comes again."""

    kind: ClassVar[str] = "result"
    label: str
    trial: int
    items: int | None
    counts: bool = True
    minutes: float = 0.0  # of the lesson that the turn took, reset included


@dataclass(frozen=True, slots=True)
class WentAway:
    """The group is not there: it is passed over until it is back."""

    kind: ClassVar[str] = "away"
    label: str


@dataclass(frozen=True, slots=True)
class CameBack:
    """It is there again, and keeps its place in the order."""

    kind: ClassVar[str] = "back"
    label: str


@dataclass(frozen=True, slots=True)
class AnotherTry:
    """The teacher lets a group try once more, after the others."""

    kind: ClassVar[str] = "again"
    label: str


@dataclass(frozen=True, slots=True)
class Moved:
    """A group's place in the order is changed: 0 is first."""

    kind: ClassVar[str] = "moved"
    label: str
    place: int


@dataclass(frozen=True, slots=True)
class GoalSet:
    """The goal is another one from now on; `label` is empty."""

    kind: ClassVar[str] = "goal"
    items: int
    label: str = ""


@dataclass(frozen=True, slots=True)
class Closed:
    """The session is over; `label` is empty."""

    kind: ClassVar[str] = "closed"
    label: str = ""


SessionEvent = (
    GroupAdded
    | BoatRegistered
    | Guessed
    | TurnBegan
    | TurnEnded
    | WentAway
    | CameBack
    | AnotherTry
    | Moved
    | GoalSet
    | Closed
)

_KINDS: dict[str, type[Any]] = {
    event.kind: event
    for event in (
        GroupAdded,
        BoatRegistered,
        Guessed,
        TurnBegan,
        TurnEnded,
        WentAway,
        CameBack,
        AnotherTry,
        Moved,
        GoalSet,
        Closed,
    )
}


def event_as_dict(event: SessionEvent) -> dict[str, Any]:
    """Return an event as JSON keeps it."""
    return {"kind": event.kind, **asdict(event)}


def event_from_dict(kept: Mapping[str, Any]) -> SessionEvent:
    """Return the event that was kept. Raises OutOfRange for one of a newer program."""
    made = _KINDS.get(str(kept.get("kind")))
    if made is None:
        raise OutOfRange(
            f'This session has a "{kept.get("kind")}", which is not known here.',
            "Install the newest tubrig on this machine.",
        )
    keys = {each.name for each in fields(made)}
    event: SessionEvent = made(**{key: kept[key] for key in kept if key in keys})
    return event
