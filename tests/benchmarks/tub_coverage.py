"""How often does the tub's 95 % interval hold the truth, and how often is a leak called in vain?

    .venv/bin/python tests/benchmarks/tub_coverage.py --watches 100 --seed 1

No test: it prints. A watch is looked at after 3, 6, ... 192 minutes until something is called.
"""

import argparse
from collections import Counter

import numpy as np

from rig.lesson.tub_facts import TubFacts
from rig.lesson.tub_verdict import TubFinding, judge
from rig.lesson.tub_watch import By, Watched
from rig.physics.evaporation import still_water

AREA_MM2, DEPTH_MM = 120_000.0, 120.0
LOOKS_MIN = (3, 6, 12, 24, 48, 96, 192)
STEP_H = 3 / 60 / 64
GAUGES = {  # noise of a three-second mean [mm], its correlation, the walk in an hour [mm]
    "light gauge, steady": (0.07, 0.0, 0.025),
    "echo gauge, room as expected": (0.2, 0.6, 0.15),
}


def series(rng, fall_mm_h, noise_mm, phi, walk):
    n = round(LOOKS_MIN[-1] / 60 / STEP_H)
    noise = rng.normal(size=n)
    for i in range(1, n):
        noise[i] = phi * noise[i - 1] + np.sqrt(1 - phi**2) * noise[i]
    wander = np.cumsum(rng.normal(size=n)) * np.sqrt(STEP_H) * walk
    at_h = (np.arange(n) + 0.5) * STEP_H
    return at_h, DEPTH_MM - fall_mm_h * at_h + noise_mm * noise + wander


def watched(at_h, value, minutes):
    now = at_h <= minutes / 60
    many = max(1, int(now.sum()) // 64)
    whole = int(now.sum()) // many * many
    t, y = (part[now][:whole].reshape(-1, many).mean(1) for part in (at_h, value))
    thin = slice(None, None, max(1, int(now.sum()) // 1600))
    nothing = np.full(t.size, np.nan)
    return Watched(By.LEVEL, t, y, nothing, at_h[now][thin], value[now][thin], minutes, 1.0)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--watches", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    rng = np.random.default_rng(asked.seed)
    dries = still_water(20.0, 20.0)
    facts = TubFacts(By.LEVEL, AREA_MM2, 20.0, dries)
    middle = (dries.low_mm_h + dries.high_mm_h) / 2
    falls = {"sound": middle, "sound, driest air": dries.high_mm_h, "180 ml/h": middle + 1.5}
    ml = facts.ml_per_mm
    print(f"{asked.watches} watches each; seed {asked.seed}")
    for gauge, (noise_mm, phi, walk) in GAUGES.items():
        for tub, fall in falls.items():
            called, held, looks = Counter(), 0, 0
            for _ in range(asked.watches):
                at_h, value = series(rng, fall, noise_mm, phi, walk)
                first = None
                for minutes in LOOKS_MIN:
                    v = judge(watched(at_h, value, minutes), facts, walk, DEPTH_MM)
                    low = v.leak_low_ml_h + dries.high_mm_h * ml
                    held += low <= fall * ml <= v.leak_high_ml_h + dries.low_mm_h * ml
                    looks += 1
                    if v.finding in (TubFinding.LEAKS, TubFinding.HOLDS):
                        first = first or v.finding.value
                called[first or "not known"] += 1
            shares = ", ".join(f"{n / asked.watches:.0%} {word}" for word, n in called.items())
            print(f"{gauge}; {tub}: interval held {held / looks:.1%}; called: {shares}")


if __name__ == "__main__":
    main()
