"""How many times faster than real time a recording goes through `tubrig replay`. Not a test.

    .venv/bin/python tests/benchmarks/replay_speed.py [--minutes 10] [--repeat 3] [--profile]

Simulates one long trial with rim and surface gauge, ten items or so every few seconds until the
boat goes down, at 10 and at 80 rows a second; writes it to a file; then goes the road of the
command: the file in chunks, `Stream`, `TrialEngine`. One process, one core. The best of some runs
counts: anything else that runs on the machine only ever makes it slower.

The project set itself 200 times real time at 80 rows a second as the least, 1000 as the aim.
"""

import argparse
import cProfile
import pstats
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time

from rig.cli.replay import replayed
from rig.physics.hulls import Box
from rig.sensing.recording import read_recording
from rig.sensing.stream import Stream
from rig.setup import Boat, RigSetup
from rig.simulator.conditions import BoardPart, Conditions
from rig.simulator.scenario import Scenario, TrialPart
from rig.simulator.tape import simulate
from rig.simulator.troubles import AmplifierPart
from rig.trial.events import TrialResult

ITEM_G, EVERY_S = 2.5, 8.0
BARGE = Boat("barge", Box(400, 250, 60), 200)  # our own invention
CARRIES_G = 400 * 250 * 60 / 1000 - 200
LAID_OUT = 3000  # items, more than it carries
RATES_HZ = (10.0, 80.0)


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--minutes", type=float, default=10.0, help="length of the trial, about")
    ask.add_argument("--repeat", type=int, default=3)
    ask.add_argument("--profile", action="store_true", help="where the time goes, by function")
    given = ask.parse_args()
    scenarios = {rate_hz: one_long_trial(rate_hz, given.minutes) for rate_hz in RATES_HZ}
    with TemporaryDirectory() as folder:
        for rate_hz, scenario in scenarios.items():
            path = Path(folder) / f"{rate_hz:g}.rec"
            path.write_bytes(simulate(scenario)[0])
            report(path, scenario, rate_hz, given.repeat)
            if given.profile:
                profile(lambda path=path, scenario=scenario: run(path, scenario))


def one_long_trial(rate_hz: float, minutes: float) -> Scenario:
    """Return a trial whose last addition, after so many minutes, sends the boat down."""
    steps = max(2, round(60 * minutes / EVERY_S))
    items = max(1, round(CARRIES_G / ITEM_G / steps))
    sections = {
        "rig": {"name": "benchmark", "layout": "feed-tray"},
        "load": {"zero_count": -8000, "count_per_g": 107.3741824},
        "surface": {"height_mm": 330.0, "unit": "us"},
        "rim": {"height_mm": 420.0, "flag_mm": 60.0, "unit": "us"},
        "tub": {"area_mm2": 200_000},
        "item": {"name": "piece", "mass_g": ITEM_G, "mass_sd_g": 0.02},
    }
    conditions = Conditions(
        board=BoardPart(rate_hz=rate_hz), amplifier=AmplifierPart(capacity_g=20_000)
    )
    trial = TrialPart(boat=BARGE.label, then=(EVERY_S, items), items=LAID_OUT, silent={})
    setup, boats = RigSetup.model_validate(sections), {BARGE.label: BARGE}
    return Scenario("benchmark", 1, 1.0, setup, boats, conditions, (trial,))


def run(path: Path, scenario: Scenario) -> list[TrialResult]:
    """What `tubrig replay` does with a recording."""
    return replayed(read_recording(path), scenario.setup, scenario.boats)[0]


def sentences_only(path: Path) -> None:
    stream = Stream()
    for chunk in read_recording(path):
        stream.feed(chunk)


def report(path: Path, scenario: Scenario, rate_hz: float, repeat: int) -> None:
    (result,) = run(path, scenario)  # also the first, slower, run
    rows = path.read_bytes().count(b"$PTRGD")
    lasts_s = rows / rate_hz
    took_s = best_of(repeat, lambda: run(path, scenario))
    reading_s = best_of(repeat, lambda: sentences_only(path))
    print(
        f"{rate_hz:g} rows a second, {lasts_s / 60:.1f} min, {rows} rows,"
        f" {len(result.additions)} additions, {result.outcome.value}:"
        f" {lasts_s / took_s:.0f} times real time ({1e6 * took_s / rows:.0f} us a row;"
        f" sentences alone {lasts_s / reading_s:.0f} times, {1e6 * reading_s / rows:.1f} us)"
    )


def best_of(repeat: int, work: Callable[[], object]) -> float:
    """The least processor time of some runs [s]."""
    taken_s = []
    for _ in range(repeat):
        began_s = process_time()
        work()
        taken_s.append(process_time() - began_s)
    return min(taken_s)


def profile(work: Callable[[], object]) -> None:
    with cProfile.Profile() as profiler:
        work()
    pstats.Stats(profiler).strip_dirs().sort_stats("tottime").print_stats(25)


if __name__ == "__main__":
    main()
