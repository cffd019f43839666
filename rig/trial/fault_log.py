"""What was in trouble during a trial, from when to when, in words for its record."""

from dataclasses import dataclass

from rig.sensing.health import BOARD, Ailment
from rig.sensing.remedies import NAMES
from rig.trial.events import FaultBegan, FaultOver

_LISTED = 3  # more than so many spells are summed up
_LOST_WITH_BOAT_S = 5.0  # a flag that goes with the boat goes so shortly before, at the most
_SAYS = {
    Ailment.SILENT: "was silent",
    Ailment.NO_ECHO: "heard no echo",
    Ailment.SATURATED: "was at the end of its range",
    Ailment.FROZEN: "stood still",
}


@dataclass(frozen=True, slots=True)
class _Spell:
    channel: str
    ailment: Ailment
    from_s: float
    to_s: float | None


class FaultLog:
    """Keeps the spells of one trial. Times are seconds since the start mark."""

    def __init__(self) -> None:
        self._spells: list[_Spell] = []

    def note(self, event: FaultBegan | FaultOver) -> None:
        """Take in a fault that began or is over."""
        if isinstance(event, FaultOver):
            self._spells = [s for s in self._spells if not _open(s, event.channel)]
            spell = _Spell(event.channel, event.ailment, event.since_s, event.over_s)
        else:
            spell = _Spell(event.channel, event.ailment, event.since_s, None)
        if event.ailment is not Ailment.RESTARTED:
            self._spells.append(spell)

    def lines(self, sunk_at_s: float | None = None) -> list[str]:
        """Return one line for each channel and kind of trouble.

        The flag goes out of sight when a boat goes down: that is no trouble of the gauge.
        """
        kinds: dict[tuple[str, Ailment], list[_Spell]] = {}
        for spell in self._spells:
            with_boat = sunk_at_s is not None and spell.from_s >= sunk_at_s - _LOST_WITH_BOAT_S
            if not (with_boat and spell.channel == "rim" and spell.ailment is not Ailment.FROZEN):
                kinds.setdefault((spell.channel, spell.ailment), []).append(spell)
        return [_line(spells) for spells in kinds.values()]


def _open(spell: _Spell, channel: str) -> bool:
    return spell.channel == channel and spell.to_s is None


def _line(spells: list[_Spell]) -> str:
    first = spells[0]
    name = "board" if first.channel == BOARD else NAMES[first.channel]
    said = f"The {name} {_SAYS[first.ailment]}"
    if len(spells) > _LISTED:
        times = f"{len(spells)} times between {_at(first.from_s)} and {_at(spells[-1].to_s)}"
        return f"{said} {times}."
    when = [f"{_at(spell.from_s)} to {_at(spell.to_s)}" for spell in spells]
    return f"{said} from {' and from '.join(when)}."


def _at(at_s: float | None) -> str:
    return "the end" if at_s is None else f"{max(0.0, at_s):.0f} s"
