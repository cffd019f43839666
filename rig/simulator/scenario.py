"""Scenario files: a rig, its boats, its conditions, and what happens to each boat in turn.

seed = 7
[rig] [load] [surface] [rim] [tub] [item]      as in a rig file; or: setup = "my-rig.toml"
[[boat]]                                       as in a boats file; or: boats = "my-boats.toml"
[water] [motion] [noise] [cell] [board]        see rig/simulator/conditions.py
[amplifier] [room] [surface_echo] [rim_echo] [line] [ruler]   see rig/simulator/troubles.py
[[trial]]                                      see `TrialPart`
watch_min = 30                                 first so long nothing but the tub (leaks: [water])
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from rig.errors import SetupInvalid
from rig.setup import Boat, RigSetup, boat_from_dict, read_boats, read_setup
from rig.setup.tomlfile import bad_key, read_toml, validated
from rig.setup.values import Positive, Sd
from rig.simulator.bench import ITEMS
from rig.simulator.conditions import Conditions, Fate
from rig.simulator.disturbances import Disturbance
from rig.simulator.hands import Plan
from rig.simulator.parts import Part

_READY_MADE = Path(__file__).with_name("scenarios")
_SETUP_KEYS = tuple(RigSetup.model_fields)
_CONDITION_KEYS = tuple(Conditions.model_fields)
Channel = Literal["load", "surface", "rim", "water"]
Count = Annotated[int, Field(ge=1, le=5000)]


class TrialPart(Fate):
    """`[[trial]]`: one boat, what is put aboard, and what befalls it (the keys of `Fate`).

    Args:
        add: [after_s, items] one after the other; the first counts from the start mark.
        then: [every_s, items] until the boat goes down or the tray is empty.
        items: how many are laid out.
        ends: the operator's mark at the end; `sunk` is tapped after the rim went under.
        tap_late_s: how much later `sunk` is tapped.
        disturb: what else happens, see `Disturbance`; [[trial.disturb]] after its [[trial]].
        silent: channel = seconds after the start mark at which its sensor dies.
    """

    boat: str
    add: tuple[tuple[Positive, Count], ...] = ()
    then: tuple[Positive, Count] | None = None
    landing_s: Annotated[float, Field(ge=0, le=0.4)] = 0.3
    items: Count = ITEMS
    ends: Literal["stop", "sunk", "void"] = "stop"
    tap_late_s: Sd = 0.8  # a teacher's hand is so much later than the eye
    disturb: tuple[Disturbance, ...] = ()
    silent: Annotated[dict[Channel, Sd], Field(default_factory=dict)]

    @model_validator(mode="after")
    def _something_to_do(self) -> Self:
        if not self.add and self.then is None:
            raise ValueError("give add, then or both: nothing would be put aboard")
        return self

    @property
    def plan(self) -> Plan:
        """What the hands are told."""
        return Plan(self.add, self.then, self.landing_s, self.disturb)

    @property
    def fate(self) -> Fate:
        """What befalls the boat."""
        return Fate(**{key: getattr(self, key) for key in Fate.model_fields})


class _Head(Part):
    """The keys above the first heading, and the trials."""

    title: str = ""
    seed: int = 0
    pause_s: Positive = 8.0
    watch_min: Annotated[float, Field(ge=0, le=1440)] = 0.0
    trial: Annotated[list[TrialPart], Field(default_factory=list)]

    @model_validator(mode="after")
    def _something_to_see(self) -> Self:
        if not self.trial and not self.watch_min:
            raise ValueError("give a [[trial]], or watch_min: nothing would happen")
        return self


@dataclass(frozen=True)
class Scenario:
    """A checked scenario; the same one always gives the same recording."""

    title: str
    seed: int
    pause_s: float  # between trials, the tub empty
    setup: RigSetup
    boats: Mapping[str, Boat]
    conditions: Conditions
    trials: tuple[TrialPart, ...]
    watch_min: float = 0.0  # nothing but the tub, before the first boat

    def setup_toml(self) -> str:
        """The rig file of this scenario, for `--setup`."""
        sections = self.setup.model_dump(mode="json", exclude_none=True)
        return "\n".join(f"[{name}]\n{_toml(keys)}" for name, keys in sections.items())

    def boats_toml(self) -> str:
        """The boats file of this scenario, for `--boats`."""
        return "\n".join(f"[[boat]]\n{_toml(boat.as_dict())}" for boat in self.boats.values())


def ready_made() -> list[str]:
    """Return the names of the scenarios that come with the project."""
    return sorted(path.stem for path in _READY_MADE.glob("*.toml"))


def read_scenario(name: str | Path) -> Scenario:
    """Read a ready-made scenario by name, or a file. Raises SetupInvalid, naming the key."""
    if str(name) in ready_made():
        return _read(_READY_MADE / f"{name}.toml")
    path = Path(name)
    if not path.suffix and not path.exists():
        raise SetupInvalid(
            f'There is no ready-made scenario "{name}".',
            f"Take one of {', '.join(ready_made())}, or name a .toml file.",
        )
    return _read(path)


def _read(path: Path) -> Scenario:
    data, text = read_toml(path)
    where = path.name
    head_keys = {
        key: value
        for key, value in data.items()
        if key not in (*_SETUP_KEYS, *_CONDITION_KEYS, "boat", "boats", "setup")
    }
    head = validated(_Head, head_keys, where, text)
    setup = _setup(path, data, text)
    boats = _boats(path, data, text)
    conditions = validated(
        Conditions, {key: data[key] for key in _CONDITION_KEYS if key in data}, where, text
    )
    for number, trial in enumerate(head.trial):
        if trial.boat not in boats:
            why = f'there is no boat "{trial.boat}"'
            raise bad_key(where, text, ("trial", number, "boat"), why)
    return Scenario(
        head.title,
        head.seed,
        head.pause_s,
        setup,
        boats,
        conditions,
        tuple(head.trial),
        head.watch_min,
    )


def _setup(path: Path, data: Mapping[str, Any], text: str) -> RigSetup:
    inline = {key: data[key] for key in _SETUP_KEYS if key in data}
    if "setup" in data:
        if inline or not isinstance(data["setup"], str):
            why = "name a rig file here or write its sections in this file, not both"
            raise bad_key(path.name, text, ("setup",), why)
        setup = read_setup(path.parent / data["setup"])
    else:
        setup = validated(RigSetup, inline, path.name, text)
    if setup.item is None:
        raise bad_key(path.name, text, ("item",), "this is missing: what is put aboard")
    return setup


def _boats(path: Path, data: Mapping[str, Any], text: str) -> dict[str, Boat]:
    rows = data.get("boat", [])
    if "boats" in data:
        if rows or not isinstance(data["boats"], str):
            why = "name a boats file here or write [[boat]] in this file, not both"
            raise bad_key(path.name, text, ("boats",), why)
        return read_boats(path.parent / data["boats"])
    if not isinstance(rows, list):
        raise bad_key(path.name, text, ("boat",), "write it as [[boat]]")
    boats: dict[str, Boat] = {}
    for number, row in enumerate(rows):
        boat = boat_from_dict(row, path.name, text, ("boat", number))
        if boat.label in boats:
            why = f'"{boat.label}" is there twice'
            raise bad_key(path.name, text, ("boat", number, "label"), why)
        boats[boat.label] = boat
    return boats


def _toml(keys: Mapping[str, Any]) -> str:
    """Keys of a flat section; a JSON value without null or object is a TOML value as well."""
    rows = (f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in keys.items())
    return "\n".join(rows) + "\n"
