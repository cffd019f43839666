"""Do intervals of zero and span cover the truth in 95 of 100 calibrations? It prints the figure.

    .venv/bin/python tests/benchmarks/calibration_coverage.py --rigs 1000

Each rig has its own noise, scatter of placing and masses that are off by as much as was said of
them; the whole procedure is played, row by row.
"""

import argparse
from collections import Counter
from pathlib import Path
from random import Random

from rig.sensing.calibrating.budget import NORMAL_95
from rig.sensing.procedures.load_job import LoadJob
from rig.sensing.procedures.session import Session
from rig.setup import RigSetup
from rig.simulator.true_cell import TrueCell, play

MASSES_G = (50, 100, 200, 500, 1000)
SETUP = RigSetup.model_validate(
    {
        "rig": {"name": "invented", "layout": "feed-tray"},
        "load": {"zero_count": 84_000, "count_per_g": 425},
    }
)


def one(seed: int) -> tuple[bool, bool, list[str]]:
    """Play one calibration: zero and span covered, and what was to be mended on this sound rig."""
    rng = Random(f"rig {seed}")
    part = rng.choice((1e-6, 2e-4, 1e-3))  # largest error of the masses, as a part of them
    job = LoadJob([f"{g} g +- {g * part:.6f} g" for g in MASSES_G], creep=False)
    # as unsure as a rectangle of that width, but normal: the figure to hold is for normal doubts
    off_g = {g: rng.gauss(0, g * part / 3**0.5) for g in MASSES_G}
    per_g = rng.choice((-1, 1)) * rng.uniform(200, 900)
    cell = TrueCell(
        zero=rng.uniform(-3e5, 3e5),
        per_g=per_g,
        noise=abs(per_g) * rng.uniform(0.02, 0.1),
        place_sd_g=rng.choice((0.0, 0.02, 0.05)),
    )
    session = Session(job, SETUP)
    play(session, cell, seed, lambda _, known: known.value + off_g.get(round(known.value), 0.0))
    outcome = session.outcome()
    load = outcome.sets["load"]
    return (
        abs(load["zero_count"] - cell.zero) <= NORMAL_95 * load["zero_count_sd"] + 0.05,
        abs(load["count_per_g"] - per_g) <= NORMAL_95 * load["count_per_g_sd"],
        [finding.about for finding in outcome.findings if not finding.ok],
    )


def covered(rigs: int, seed: int) -> tuple[int, int]:
    """How many of so many calibrations cover their zero, and their span."""
    all_of_them = [one(1000 * seed + i) for i in range(rigs)]
    return sum(zero for zero, _, _ in all_of_them), sum(span for _, span, _ in all_of_them)


def main() -> None:
    """Print coverage, and how often a sound rig was told to mend something."""
    parser = argparse.ArgumentParser(description=Path(__file__).stem)
    parser.add_argument("--rigs", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    found = [one(1000 * asked.seed + i) for i in range(asked.rigs)]
    false = Counter(about for _, _, named in found for about in named)
    print(f"{asked.rigs} sound rigs; intervals of 95 %:")
    print(f"  zero covered  {100 * sum(zero for zero, _, _ in found) / asked.rigs:.1f} %")
    print(f"  span covered  {100 * sum(span for _, span, _ in found) / asked.rigs:.1f} %")
    print(f"  something named that was not there: {dict(false) or 'never'}")


if __name__ == "__main__":
    main()
