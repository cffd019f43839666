"""A class session: whose turn it is, what each group guessed, and what its boat carried.

Pure: an event goes in, a new session comes out, and what makes no sense is refused and changes
nothing. The same events give the same session, also after a restart in the middle.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, replace
from enum import StrEnum
from typing import Any, Final

from rig.errors import OutOfPlace, OutOfRange
from rig.lesson.session_events import (
    AnotherTry,
    BoatRegistered,
    CameBack,
    Closed,
    GoalSet,
    GroupAdded,
    Guessed,
    Moved,
    SessionEvent,
    TurnBegan,
    TurnEnded,
    WentAway,
)

MOST_GROUPS: Final = 60
MOST_ITEMS: Final = 99_999
LABEL_LENGTH: Final = 30
YEAR_BEGINS_IN: Final = 8  # August: the first schools are back then (common practice, no source)


class Turn(StrEnum):
    """Where a group stands."""

    WAITING = "waiting"
    IN_THE_TUB = "in the tub"
    DONE = "done"
    AWAY = "away"


@dataclass(frozen=True, slots=True)
class Rules:
    """What was agreed with the class. `fine`: items at a time near the end."""

    hold_s: float = 5.0
    fine: int = 1
    guess_first: bool = True
    tries: int = 2

    def __post_init__(self) -> None:
        if not (self.hold_s > 0 and self.fine >= 1 and 1 <= self.tries <= 9):
            raise OutOfRange("These rules cannot be.", "Give a hold above 0 s and 1 to 9 tries.")


@dataclass(frozen=True, slots=True)
class Result:
    """What a turn gave; `items` is None where no item was known."""

    trial: int
    items: int | None


@dataclass(frozen=True, slots=True)
class Group:
    """One group and its boat. `tries_left`: turns it still has coming."""

    label: str
    boat: Mapping[str, Any] | None = None
    guess_items: int | None = None
    turn: Turn = Turn.WAITING
    tries_left: int = 1
    results: tuple[Result, ...] = ()

    @property
    def best_items(self) -> int | None:
        """The most its boat carried."""
        carried = [result.items for result in self.results if result.items is not None]
        return max(carried, default=None)


@dataclass(frozen=True)
class ClassSession:
    """One block of one class. `groups` in the order of their turns; `date` as 2026-11-25."""

    class_label: str
    block: str
    date: str
    goal_items: int
    item: str
    item_g: float
    rules: Rules = field(default_factory=Rules)
    groups: tuple[Group, ...] = ()
    spent_min: tuple[float, ...] = ()  # by the turns so far
    closed: bool = False

    def __post_init__(self) -> None:
        school_year(self.date)
        for words in (self.class_label, self.block, self.item):
            if not 1 <= len(words.strip()) <= LABEL_LENGTH:
                raise OutOfRange(
                    f'"{words}" is no label.', f"Give 1 to {LABEL_LENGTH} letters, no child's name."
                )
        if not (0 <= self.goal_items <= MOST_ITEMS and self.item_g > 0):
            raise OutOfRange("A goal needs items that weigh something.", "Plan the goal first.")

    @property
    def school_year(self) -> str:
        """As 2026/27."""
        return school_year(self.date)

    @property
    def testing(self) -> Group | None:
        """Whose boat is in the tub."""
        return next((g for g in self.groups if g.turn is Turn.IN_THE_TUB), None)

    @property
    def next_group(self) -> Group | None:
        """Whose turn comes next: first tries in their order, then second ones."""
        waiting = [g for g in self.groups if g.turn is Turn.WAITING]
        return min(waiting, key=lambda g: len(g.results), default=None)

    @property
    def boats_left(self) -> int:
        """Turns still to come, the one in the tub included; groups that are away not."""
        coming = (Turn.WAITING, Turn.IN_THE_TUB)
        return sum(g.turn in coming for g in self.groups)

    def group(self, label: str) -> Group:
        """Return a group. Raises OutOfPlace if there is none."""
        for group in self.groups:
            if group.label == label:
                return group
        raise OutOfPlace(f'There is no group "{label}".', "Choose one from the list, or add it.")

    def reached(self) -> tuple[int, int]:
        """Return how many groups reached the goal, and of how many that were tested."""
        best = [g.best_items for g in self.groups if g.best_items is not None]
        return sum(items >= self.goal_items for items in best), len(best)

    def plan(self) -> dict[str, Any]:
        """Goal, item and rules, as the records keep them; `from_plan` reads them back."""
        return {
            "goal_items": self.goal_items,
            "item": self.item,
            "item_g": self.item_g,
            "rules": asdict(self.rules),
        }

    @classmethod
    def from_plan(
        cls, class_label: str, block: str, date: str, plan: Mapping[str, Any]
    ) -> "ClassSession":
        """Return a session as it was begun, before its events. Raises OutOfRange."""
        rules = Rules(**plan["rules"])
        return cls(
            class_label, block, date, plan["goal_items"], plan["item"], plan["item_g"], rules
        )

    def after(self, event: SessionEvent) -> "ClassSession":
        """Return the session with one more event. Raises OutOfPlace, OutOfRange."""
        if self.closed:
            raise OutOfPlace("This session is closed.", "Begin a new one.")
        match event:
            case GroupAdded():
                return self._added(event.label)
            case GoalSet():
                return replace(self, goal_items=event.items)
            case Closed():
                if self.testing:
                    raise OutOfPlace("A boat is in the tub.", "Stop its test first.")
                return replace(self, closed=True)
            case Moved():
                return self._moved(event)
            case TurnEnded():
                done = self._with(_ended(self.group(event.label), event))
                return replace(done, spent_min=(*self.spent_min, event.minutes))
            case TurnBegan():
                return self._with(self._began(event))
            case _:
                return self._with(_changed(self.group(event.label), event, self.rules))

    def _with(self, changed: Group) -> "ClassSession":
        groups = (changed if g.label == changed.label else g for g in self.groups)
        return replace(self, groups=tuple(groups))

    def _added(self, label: str) -> "ClassSession":
        if any(group.label == label for group in self.groups):
            raise OutOfPlace(f'There is a group "{label}" already.', "Give it another label.")
        if not 1 <= len(label.strip()) <= LABEL_LENGTH or len(self.groups) >= MOST_GROUPS:
            raise OutOfRange(f'"{label}" cannot be added.', "Give a short label, no child's name.")
        return replace(self, groups=(*self.groups, Group(label)))

    def _moved(self, event: Moved) -> "ClassSession":
        group = self.group(event.label)
        others = [g for g in self.groups if g is not group]
        place = min(max(event.place, 0), len(others))
        return replace(self, groups=(*others[:place], group, *others[place:]))

    def _began(self, event: TurnBegan) -> Group:
        group, other = self.group(event.label), self.testing
        if other is not None:
            raise OutOfPlace(f"{other.label} is in the tub.", "Stop its test first.")
        if group.turn is Turn.DONE:
            raise OutOfPlace(f"{group.label} had its turn.", "Give it another try first.")
        if group.turn is Turn.AWAY:
            raise OutOfPlace(f"{group.label} is away.", "Say that it is back first.")
        if group.boat is None:
            raise OutOfPlace(f"{group.label} has no boat yet.", "Weigh and measure it first.")
        if self.rules.guess_first and group.guess_items is None:
            raise OutOfPlace(f"{group.label} has not guessed yet.", "Ask for its guess first.")
        return replace(group, turn=Turn.IN_THE_TUB)


def replayed(session: ClassSession, events: Iterable[SessionEvent]) -> ClassSession:
    """Return a session after all its events. Raises as `ClassSession.after`."""
    for event in events:
        session = session.after(event)
    return session


def school_year(date: str) -> str:
    """Return "2026/27" for a date written 2026-11-25. Raises OutOfRange."""
    match = re.fullmatch(r"(\d{4})-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])", date)
    if match is None:
        raise OutOfRange(f'"{date}" is no date.', "Write it as 2026-11-25.")
    first = int(match[1]) if int(match[2]) >= YEAR_BEGINS_IN else int(match[1]) - 1
    return f"{first}/{(first + 1) % 100:02d}"


def turn_order(session: ClassSession) -> list[tuple[str, str]]:
    """Return (label, words) for the Board: the boat in the tub, those that wait, those done."""
    coming = [g for g in session.groups if g.turn is Turn.WAITING]
    coming.sort(key=lambda group: len(group.results))
    rows = [(g.label, "in the tub now") for g in session.groups if g.turn is Turn.IN_THE_TUB]
    for place, group in enumerate(coming):
        again = " (one more try)" if group.results else ""
        rows.append((group.label, ("next" if place == 0 else "waits") + again))
    rows += [(g.label, "not here") for g in session.groups if g.turn is Turn.AWAY]
    for group in session.groups:
        if group.turn is Turn.DONE:
            items = group.best_items
            rows.append((group.label, "done" if items is None else f"held {items}"))
    return rows


def _ended(group: Group, event: TurnEnded) -> Group:
    if group.turn is not Turn.IN_THE_TUB:
        raise OutOfPlace(f"{group.label} is not in the tub.", "Start its test first.")
    if not event.counts:
        return replace(group, turn=Turn.WAITING)
    left = group.tries_left - 1
    return replace(
        group,
        turn=Turn.WAITING if left > 0 else Turn.DONE,
        tries_left=left,
        results=(*group.results, Result(event.trial, event.items)),
    )


def _changed(
    group: Group, event: BoatRegistered | Guessed | WentAway | CameBack | AnotherTry, rules: Rules
) -> Group:
    if group.turn is Turn.IN_THE_TUB:
        raise OutOfPlace(f"{group.label} is in the tub.", "Stop its test first.")
    match event:
        case BoatRegistered():
            return replace(group, boat=dict(event.boat))
        case Guessed():
            if group.results:
                raise OutOfPlace(
                    f"{group.label} has seen its boat tested.", "A guess comes before the test."
                )
            if not 0 <= event.items <= MOST_ITEMS:
                raise OutOfRange(f"{event.items} items cannot be.", "Ask for a whole number.")
            return replace(group, guess_items=event.items)
        case WentAway():
            if group.turn is Turn.DONE:
                raise OutOfPlace(f"{group.label} had its turn.", "It need not be marked.")
            return replace(group, turn=Turn.AWAY)
        case CameBack():
            if group.turn is not Turn.AWAY:
                raise OutOfPlace(f"{group.label} is here.", "Nothing needs to be done.")
            return replace(group, turn=Turn.WAITING)
        case AnotherTry():
            if len(group.results) + group.tries_left >= rules.tries and group.turn is Turn.DONE:
                raise OutOfPlace(
                    f"{group.label} has had {rules.tries} tries, as agreed.", "Change the rules."
                )
            if group.turn is not Turn.DONE:
                raise OutOfPlace(f"{group.label} still has its turn.", "Start its test.")
            return replace(group, turn=Turn.WAITING, tries_left=group.tries_left + 1)
