"""Trials of mixed kinds, drawn by seed: what the trial engine is judged on.

Each trial is one recording of one boat, with everything a classroom adds: see `mixed_rig.py`
for the rig and `mixed_trial.py` for boat and hands. Trial `number` of a seed is the same
whichever others are drawn. Boats, groups and figures are invented.

The truth of a trial, and how it is meant to be judged. All times are seconds since the start
mark as the board's clock counts them: the silence of a board that reset is in nobody's count.

number, layout, gauges: which trial; "rim+surface", "surface", "rim" or "none" (then the
    teacher taps `sunk`, 0.3 to 0.8 s late).
kinds: what disturbed it or befell it, in words.
additions: what was put aboard and stayed, one entry for each time hands moved, the sinking one
    included: `at_s` first item, `last_s` last item. An item put on and taken back is not an
    addition (see `lent`), unless the boat went down under it. Of two additions within a second
    one entry or two is right, as long as the items agree.
dropped: items that left the tray and are not aboard. On the feed tray, or into a tub on the
    cell, no gauge can tell one from an item aboard: a reading that counts it as one is not
    wrong. On the floor beside a tub on the cell, it is not in the numbers at all.
held_g, held_items: the largest load carried through a hold. A hold goes on while hands press,
    lean or nudge, and while something is lent on top.
held_also: [load_g, items] that the recording leaves open: a hold missed or made by 0.4 s, or
    counted across a reset by the board's clock instead of the wall's, or begun anew after a loan.
sunk_at_s: when the rim went under for good, however slowly the boat then sank; with a rim that
    holds water back, when that gave way. None: it did not sink, and a sinking reported is false.
outcome, outcome_also: what befell it, and what the numbers cannot tell from it: an addition
    that tips a boat but would have filled it; a leak that an addition finished without a rim
    gauge watching; a leak of a few millilitres in a boat that was full.
capacity_g, true_capacity_g: of the true boat, to the level rim, and with what its rim holds back.
plateaus: stretches at constant load, each with its load and mean true freeboard.
track: (at_s, load_g, freeboard_mm) every 0.1 s, afloat and after, still water. The freeboard of
    a boat that leaks is not to be judged where no rim gauge can see it.

What an engine may know beforehand, and what its stated uncertainties must therefore hold: each
measure of the hull is read with a standard deviation of 1 mm, the boat weighed with 0.5 g;
heights and span scatter by what the set-up says (`height_mm_sd`, `count_per_g_sd`); the air
differs from the set-up's `air_c` by 1.5 deg C (sd); the cell creeps by up to 0.03 % and drifts
by up to 0.1 % of its rated load per 10 deg C; the tub's table is right.
"""

from collections.abc import Iterator, Mapping
from random import Random
from typing import Any

from rig.setup import Boat, RigSetup
from rig.simulator.diary import Diary, truth_of
from rig.simulator.mixed_rig import draw_conditions, draw_setup
from rig.simulator.mixed_trial import (
    draw_boat,
    draw_fate,
    draw_hands,
    draw_item,
    draw_steps,
    moments,
)
from rig.simulator.scenario import Scenario, TrialPart
from rig.simulator.tape import Tape

MixedTrial = tuple[bytes, RigSetup, Mapping[str, Boat], dict[str, Any]]
_SPARE = 5  # items left on the tray


def mixed_trials(n: int, seed: int = 1) -> Iterator[MixedTrial]:
    """Yield n trials: recording, set-up, boats as measured, truth."""
    for number in range(n):
        yield mixed_trial(number, seed)


def mixed_trial(number: int, seed: int = 1) -> MixedTrial:
    """Return one trial of a seed."""
    scenario, gauges, kinds = mixed_scenario(number, seed)
    diary = Diary()
    tape = Tape(scenario, diary.look)
    tape.play(scenario.trials[0])
    diary.start_s = tape.start_s
    truth = {
        "number": number,
        "layout": scenario.setup.rig.layout.value,
        "gauges": gauges,
        **truth_of(tape.bench, diary),
    }
    late = {d.kind for d in scenario.trials[0].disturb if d.at_s > truth["ends_s"]}
    befell = _befell(truth["outcome"], scenario.trials[0])
    truth["kinds"] = [*(kind for kind in kinds if kind not in late), befell]
    return b"".join(tape.lines), scenario.setup, scenario.boats, truth


def mixed_scenario(number: int, seed: int = 1) -> tuple[Scenario, str, list[str]]:
    """Return one trial as a scenario, its gauge set, and what disturbs it."""
    rng = Random(f"mixed {seed} {number}")
    boat = draw_boat(rng)
    item = draw_item(rng, boat)
    fate_name, fate, goal_g = draw_fate(rng, boat)
    steps = draw_steps(rng, goal_g, item["mass_g"])
    laid_out = sum(items for _, items in steps) + 10 * _SPARE
    setup, gauges, water, cell_g = draw_setup(rng, boat, item, laid_out * item["mass_g"])
    conditions, kinds = draw_conditions(rng, setup, water, cell_g)
    if gauges == "rim" and fate.floats_upside_down:
        # a flag that is gone at once and leaves no echo could as well be a gauge that died
        echo = conditions.rim_echo.model_copy(update={"under": "surface"})
        conditions = conditions.model_copy(update={"rim_echo": echo})
    rig = {"rate_hz": conditions.board.rate_hz}
    until_s = _about_when(steps, item["mass_g"], min(goal_g, fate.heels_at_g or _full_g(boat)))
    steps, events = draw_hands(rng, steps, until_s, gauges, setup.rig.hold_s, rig)
    spare = 0 if fate_name == "afloat" and rng.random() < 0.5 else _SPARE
    drops = sum(event.kind == "drop" for event in events)
    trial = TrialPart(
        **fate.model_dump(),
        boat=boat.label,
        add=tuple(steps),
        landing_s=rng.uniform(0.1, 0.4),
        items=sum(items for _, items in steps) + spare + drops,
        ends="sunk" if gauges == "none" else "stop",
        tap_late_s=rng.uniform(0.3, 0.8),
        disturb=tuple(events),
    )
    if any(event.kind == "reset" for event in events):
        # a clock that wraps after 49 days, or began anew: both in one minute is too unlikely
        board = conditions.board.model_copy(update={"first_ms": 0})
        conditions = conditions.model_copy(update={"board": board})
    kinds += sorted({event.kind for event in events})
    if any(after_s < 1 for after_s, _ in steps):
        kinds.append("double")
    if fate.rim_holds_mm:
        kinds.append("dry rim")
    kinds = [kind for kind in kinds if _is_there(kind, setup)]
    title = f"mixed trial {number} of seed {seed}"
    own_seed = rng.randrange(2**32)
    scenario = Scenario(title, own_seed, 1.0, setup, {boat.label: boat}, conditions, (trial,))
    return scenario, gauges, kinds


def _befell(outcome: str, trial: TrialPart) -> str:
    """What really became of it, whatever was drawn."""
    if outcome == "heeled" and trial.floats_upside_down:
        return "capsized"
    return "swamped slowly" if outcome == "swamped" and trial.air_pocket_s else outcome


def _full_g(boat: Boat) -> float:
    return boat.hull.volume_ml(boat.hull.depth_mm) - boat.mass_g


def _about_when(steps: list[tuple[float, int]], item_g: float, load_g: float) -> float:
    """When the hands will have reached a load."""
    aboard_g = 0.0
    for at_s, (_, items) in zip(moments(steps), steps, strict=True):
        aboard_g += items * item_g
        if aboard_g >= load_g:
            return at_s
    return moments(steps)[-1]


def _is_there(kind: str, setup: RigSetup) -> bool:
    """Whether the rig has the gauge a trouble belongs to."""
    if kind.startswith("surface") or kind == "stuck float":
        return setup.surface is not None
    return setup.rim is not None if kind.startswith("rim") else True
