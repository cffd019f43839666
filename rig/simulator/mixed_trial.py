"""Draws a boat, its fate, what is put aboard, and the hands that get in the way."""

from itertools import pairwise
from math import sqrt
from random import Random
from typing import Any

from rig.physics.flotation import capacity_g
from rig.physics.hulls import Box, Dish, Hull, Tray
from rig.setup import Boat
from rig.simulator.conditions import Fate
from rig.simulator.disturbances import Disturbance

FATES = {"swamp": 0.5, "heel": 0.14, "capsize": 0.06, "leak": 0.12, "air": 0.08, "afloat": 0.1}
HAND_EVENTS = {0: 0.2, 1: 0.35, 2: 0.3, 3: 0.15}
HAND_KINDS = {
    "press": 0.32,
    "loan": 0.14,
    "beam": 0.18,
    "nudge": 0.13,
    "lean": 0.06,
    "double": 0.14,
    "drop": 0.03,
}
_FIRST_S = 5.0  # the empty rig is weighed first
_CLEAR_S = 0.8  # a loan keeps so far from additions

Step = tuple[float, int]


def draw_boat(rng: Random) -> Boat:
    """A boat of 60 to 400 g of capacity, as measured; any hull family."""
    while True:
        hull = _hull(rng)
        bottom_cm2 = 10 * hull.volume_ml(hull.depth_mm) / hull.depth_mm  # on the average
        walls_cm2 = 4 * sqrt(bottom_cm2) * hull.depth_mm / 10
        # foil laid double to stout card, and some grams for flag and mast
        mass_g = round(4 + (bottom_cm2 + walls_cm2) * rng.uniform(0.03, 0.1), 1)
        if 60 <= capacity_g(hull, mass_g, 0.998) <= 400:
            return Boat(rng.choice(("Otters", "Newts", "Voles", "Snails")), hull, mass_g)


def draw_item(rng: Random, boat: Boat) -> dict[str, Any]:
    """Items of 2 to 9 g, with a spread; 15 to 90 of them fill the boat."""
    holds_g = capacity_g(boat.hull, boat.mass_g, 0.998)
    mass_g = rng.uniform(max(2.0, holds_g / 90), min(9.0, holds_g / 15))
    return {
        "name": "piece",
        "mass_g": round(mass_g, 2),
        "mass_sd_g": round(mass_g * rng.uniform(0.003, 0.02), 3),
    }


def draw_fate(rng: Random, boat: Boat) -> tuple[str, Fate, float]:
    """Return the fate's name, the fate, and the load the hands are to reach [g]."""
    holds_g = capacity_g(boat.hull, boat.mass_g, 0.998)
    name = rng.choices(list(FATES), list(FATES.values()))[0]
    rim_mm = rng.uniform(0.5, 3.9) if rng.random() < 0.5 else 0.0
    keys: dict[str, Any] = {"rim_holds_mm": rim_mm}
    goal_g = 1.6 * holds_g + 60  # well past whatever the true boat and a dry rim carry
    if name in ("heel", "capsize"):
        # well short of the capacity, so that it can be told from a boat that was full
        keys["heels_at_g"] = holds_g * rng.uniform(0.35, 0.75)
        keys["floats_upside_down"] = name == "capsize"
    elif name == "leak":
        goal_g = holds_g * rng.uniform(0.3, 0.7)
        keys["leak_ml_s"] = (holds_g - goal_g) / rng.uniform(12, 45)
        keys["leak_after_s"] = rng.uniform(5, 40)
    elif name == "air":
        keys["air_pocket_s"] = rng.uniform(5, 20)
    elif name == "afloat":
        goal_g = holds_g * rng.uniform(0.4, 0.7)
    return name, Fate(**keys), goal_g


def draw_steps(rng: Random, goal_g: float, item_g: float) -> list[Step]:
    """Additions of 1 to 10 items every 4 to 12 s, until a load is reached."""
    steps: list[Step] = []
    whole = goal_g / item_g
    few = min(10, max(1, round(whole / 25)))  # no trial of more than about 25 additions ...
    most = max(few, min(rng.choice((3, 6, 10)), round(whole / 5)))  # ... nor fewer than 5
    load_g = 0.0
    while load_g < goal_g or not steps:
        items = rng.randint(few, most)
        steps.append((_FIRST_S if not steps else round(rng.uniform(4, 12), 2), items))
        load_g += items * item_g
    return steps


def draw_hands(
    rng: Random, steps: list[Step], until_s: float, gauges: str, hold_s: float, rig: dict[str, Any]
) -> tuple[list[Step], list[Disturbance]]:
    """Return the additions, some of them now in pairs, and what else hands do.

    `until_s`: about when the boat will go, or the last addition; events come before that.
    """
    events: list[Disturbance] = []
    for _ in range(rng.choices(list(HAND_EVENTS), list(HAND_EVENTS.values()))[0]):
        kind = rng.choices(list(HAND_KINDS), list(HAND_KINDS.values()))[0]
        if kind == "double":
            steps = _paired(rng, steps)
        elif kind == "loan":
            events += _loan(rng, steps, until_s, hold_s)
        elif event := _event(rng, kind, until_s, gauges, rig):
            events.append(event)
    if rng.random() < 0.04:
        at_s = rng.uniform(_FIRST_S, max(until_s, _FIRST_S + 1))
        events.append(Disturbance(kind="reset", at_s=at_s, for_s=rng.uniform(1, 2)))
    if rng.random() < 0.05:
        at_s = rng.uniform(_FIRST_S, max(until_s, _FIRST_S + 1))
        rate_hz = 10.0 if rig["rate_hz"] == 80 else 80.0
        events.append(Disturbance(kind="rate", at_s=at_s, rate_hz=rate_hz))
    return steps, events


def moments(steps: list[Step]) -> list[float]:
    """When each addition begins, from the start mark."""
    times: list[float] = []
    for after_s, _ in steps:
        times.append((times[-1] if times else 0.0) + after_s)
    return times


def _hull(rng: Random) -> Hull:
    depth = rng.uniform(18, 40)
    length = rng.uniform(70, 150)
    beam = length * rng.uniform(0.45, 0.9)
    match rng.choice(("box", "tray", "dish")):
        case "box":
            return Box(round(length), round(beam), round(depth))
        case "tray":
            flare = rng.uniform(0.65, 0.95)
            return Tray(
                round(length), round(beam), round(length * flare), round(beam * flare), round(depth)
            )
        case _:
            across = sqrt(length * beam)
            return Dish(round(across), round(across * rng.uniform(0.6, 0.95)), round(depth))


def _paired(rng: Random, steps: list[Step]) -> list[Step]:
    """Somebody else puts a few on within the second after one of the additions."""
    which = rng.randrange(len(steps))
    later = steps[which + 1] if which + 1 < len(steps) else None
    gap_s = round(rng.uniform(0.5, 0.95), 2)
    paired = [*steps[: which + 1], (gap_s, rng.randint(1, 4))]
    if later:
        paired.append((max(4.0, later[0] - gap_s), later[1]))
    return [*paired, *steps[which + 2 :]]


def _loan(rng: Random, steps: list[Step], until_s: float, hold_s: float) -> list[Disturbance]:
    """In a gap between two additions, and shorter than a hold; none if there is no room."""
    for_s = rng.uniform(1, min(4.0, hold_s - 0.7))
    gaps = [
        (a + 0.3 + _CLEAR_S, b - _CLEAR_S - for_s)
        for a, b in pairwise(moments(steps))
        if b < until_s and b - a > for_s + 0.3 + 2 * _CLEAR_S
    ]
    if not gaps:
        return []
    return [Disturbance(kind="loan", at_s=rng.uniform(*rng.choice(gaps)), for_s=for_s)]


def _event(
    rng: Random, kind: str, until_s: float, gauges: str, rig: dict[str, Any]
) -> Disturbance | None:
    keys: dict[str, Any] = {"kind": kind, "at_s": rng.uniform(3.0, max(until_s, 6.0))}
    if kind == "press":
        keys["by_g"] = rng.choice((-1, 1, 1)) * rng.uniform(20, 300)
        keys["for_s"] = rng.uniform(0.3, 3)
    elif kind == "lean":
        keys.update(by_g=rng.uniform(1, 6), shake_g=rng.uniform(0.2, 1.0), for_s=10.0)
    elif kind == "nudge":
        keys.update(by_mm=rng.uniform(2, 8), by_g=rng.uniform(10, 100))
    elif kind == "beam":
        seen = [channel for channel in ("surface", "rim") if channel in gauges]
        if not seen:
            return None
        keys.update(channel=rng.choice(seen), for_s=rng.uniform(0.2, 2))
        keys["up_mm"] = rng.uniform(80, 170)
    elif kind == "drop":
        keys["into"] = rng.choice(("water", "floor"))
    return Disturbance(**keys)
