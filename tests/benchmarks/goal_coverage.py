"""How often does the goal's 95 % interval hold the truth, by boats seen and by the class's median?

    .venv/bin/python tests/benchmarks/goal_coverage.py --classes 100 --seed 1

No test: it prints. Beforehand a median of 80 items is thought; 30 % of the boats stop at 100.
"""

import argparse

import numpy as np
from scipy.stats import lognorm

from rig.lesson.earlier_boats import EarlierBoat
from rig.lesson.goal import plan_goal

GOAL = 80


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--classes", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    rng = np.random.default_rng(asked.seed)
    for median in (50, 80, 120):
        for n in (4, 8, 16, 40):
            held = 0
            for _ in range(asked.classes):
                carried = np.floor(median * np.exp(0.5 * rng.normal(size=n)))
                stops = (rng.random(n) < 0.3) & (carried > 100)
                boats = [
                    EarlierBoat(100.0 if stop else x, not stop)
                    for x, stop in zip(carried, stops, strict=True)
                ]
                _, low, high = plan_goal(boats).passing(GOAL)
                held += low <= lognorm(0.5, scale=median).sf(GOAL) <= high
            share = held / asked.classes
            print(f"median {median:3}, {n:2} boats: interval held {share:.0%}", flush=True)


if __name__ == "__main__":
    main()
