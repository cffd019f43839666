"""How often the forecast's 90 % interval holds the truth, how wide it is, how long it takes.

    .venv/bin/python tests/benchmarks/forecast_coverage.py [--boats 1000] [--seed 1] ...

Draws boats of all hull families whose true measures differ from the measured ones as the forecast
assumes, loads each in equal additions and asks before anything is measured, at a quarter, a
half, three quarters and nearly all of the load it really carries (near the end it must be right
more often than nine times in ten, for what is held is known). Nothing here passes or fails; the
figures are for reading.
"""

import argparse
from collections import defaultdict
from dataclasses import replace
from itertools import islice
from math import floor, sqrt
from random import Random
from statistics import median
from time import perf_counter

from invented_boats import InventedBoat, invented_boats

from rig.physics.flotation import float_at
from rig.trial.events import CurvePoint
from rig.trial.forecast import OFFSET_MM_SD, Forecast, Said
from rig.trial.possible_boats import PossibleBoats

STAGES = (0.0, 0.25, 0.5, 0.75, 0.95)  # before anything is measured, and at these parts of the load
BAD_MM = 8.0


class Tally:
    """What happened at one stage, over all boats."""

    def __init__(self) -> None:
        self.inside: dict[str, list[bool]] = defaultdict(list)
        self.items_inside: list[bool] = []
        self.widths: list[float] = []
        self.misfits = 0

    def count(self, boat: InventedBoat, item_g: float, said: Said) -> None:
        self.inside[boat.family].append(said.low_g <= boat.carries_g <= said.high_g)
        items = floor(boat.carries_g / item_g + 1e-9)
        self.items_inside.append(said.low_items <= items <= said.high_items)
        self.widths.append((said.high_g - said.low_g) / boat.carries_g)
        self.misfits += not said.fits

    def __str__(self) -> str:
        hits = [hit for family in self.inside.values() for hit in family]
        share = sum(hits) / len(hits)
        families = ", ".join(f"{k} {sum(v) / len(v):.1%}" for k, v in self.inside.items())
        return (
            f"90 % interval covers {share:.1%} +- {sqrt(share * (1 - share) / len(hits)):.1%}"
            f" ({families}); in items {sum(self.items_inside) / len(hits):.1%};"
            f" median width {median(self.widths):.1%} of the load; misfits {self.misfits}"
        )


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--boats", type=int, default=1000)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--offset", type=float, default=1.0, help="sd of the common offset [mm]")
    ask.add_argument("--assumed", type=float, default=OFFSET_MM_SD, help="what is assumed of it")
    ask.add_argument("--careless", type=float, default=0.02, help="share of boats measured badly")
    ask.add_argument("--gauge", type=float, help="noise of every gauge [mm]; else 0.3 to 1.5")
    ask.add_argument("--bad", type=float, default=0.0, help=f"share of plateaus {BAD_MM} mm off")
    given = ask.parse_args()
    random = Random(given.seed + 1)
    tallies = {stage: Tally() for stage in STAGES}
    draws_s, updates_s = [], []
    for boat in islice(invented_boats(given.seed, given.offset, given.careless), given.boats):
        if given.gauge is not None:
            boat = replace(boat, gauge_mm_sd=given.gauge)
        began_s = perf_counter()
        boats = PossibleBoats(boat.measured, boat.measured_g)
        draws_s.append(perf_counter() - began_s)
        item_g = boat.carries_g / random.uniform(12, 60)
        forecast = Forecast(boats, item_g, offset_mm_sd=given.assumed)
        said, items = forecast.say(0.0), 0
        for stage, tally in tallies.items():
            while stage and items * item_g <= stage * boat.carries_g:
                point = _seen(boat, items * item_g, given.bad, random)
                began_s = perf_counter()
                forecast.add(point)
                said = forecast.say(point.load_g, items)
                updates_s.append(perf_counter() - began_s)
                items += 1
            tally.count(boat, item_g, said)
    print(
        f"{given.boats} boats, seed {given.seed}; offset sd {given.offset} mm, assumed"
        f" {given.assumed}; careless {given.careless:.0%}; bad plateaus {given.bad:.0%};"
        f" gauge noise {given.gauge or '0.3-1.5'} mm"
    )
    for stage, tally in tallies.items():
        print(f"at {stage:4.0%} of the load: {tally}")
    _print_times(median(draws_s), median(updates_s))


def _seen(boat: InventedBoat, load_g: float, bad_share: float, random: Random) -> CurvePoint:
    point = boat.plateau(load_g, random)
    if random.random() < bad_share:
        off_mm = random.choice((-BAD_MM, BAD_MM))
        point = replace(point, freeboard_mm=point.freeboard_mm + off_mm)
    return point


def _print_times(draw_s: float, update_s: float) -> None:
    """One update against drafts of as many hull objects, one by one."""
    loops_s = []
    for boat in islice(invented_boats(1), 9):
        began_s = perf_counter()
        for _ in range(2000):
            float_at(boat.measured, boat.measured_g, 0.3 * boat.carries_g, 0.998)
        loops_s.append(perf_counter() - began_s)
    plain_s = median(loops_s)
    print(
        f"one draw of the boats {1000 * draw_s:.0f} ms; one plateau and its forecast"
        f" {1000 * update_s:.2f} ms = {update_s / plain_s:.3f} of a plain loop over"
        f" 2000 hull objects ({1000 * plain_s:.0f} ms)"
    )


if __name__ == "__main__":
    main()
