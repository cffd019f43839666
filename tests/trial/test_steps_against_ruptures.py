"""Steps of the load against a reference change-point library, on the same simulated signals.

`ruptures` (Truong, Oudre and Vayatis, Signal Processing 167 (2020) 107299) sees the whole signal
at once and finds the exact least-squares segmentation; LoadTrack sees one reading after the other.
Two of its searches: with the true number of steps told (dynamic programming), and with none told,
each step costing 2 sd^2 ln n (PELT; the Bayesian information criterion of Schwarz, Ann. Stat. 6
(1978) 461, two parameters a step).

The signals: HX711 noise by its data sheet on a 5 kg and a 20 kg cell, creep of 0.03 % a minute,
a zero that drifts 0.1 % of the rated load per 10 deg C in a room that wanders, 1 to 20 items of
2.5 g every 2 to 6 s, from a tray and in a tub on the cell.
"""

from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import log, sqrt
from random import Random

import numpy as np
import pytest
import ruptures

from rig.physics.hulls import Box
from rig.physics.hx711 import counts_per_gram, noise_counts
from rig.sensing.readings import Calibration
from rig.sensing.stream import Sample, Stream
from rig.setup import Boat, RigSetup
from rig.simulator.bench import Bench
from rig.simulator.conditions import BoardPart, Conditions, Noise
from rig.simulator.hands import Landed, Plan
from rig.simulator.troubles import AmplifierPart, RoomPart
from rig.trial.load_track import LoadTrack

ITEM_G = 2.5
BARGE = Boat("barge", Box(400, 250, 60), 200)  # carries all that hands bring: nothing sinks
CELLS = [("feed-tray", 5000.0), ("tub-on-cell", 20_000.0)]
HANDFULS = (1, 1, 2, 3, 5, 9, 20)  # items
NOTHING_G = ITEM_G / 2


@dataclass(frozen=True)
class Signal:
    """Loads as they were read, and what was really put aboard, on one clock."""

    at_s: np.ndarray
    aboard_g: np.ndarray
    noise_g: float
    true: list[Landed]

    def track(self) -> LoadTrack:
        track = LoadTrack(ITEM_G)
        for at_s, aboard_g in zip(self.at_s.tolist(), self.aboard_g.tolist(), strict=True):
            track.feed(at_s, aboard_g)
        return track

    def reference(self, steps: int | None) -> list[int]:
        """First rows of the segments after the first, by ruptures; its own number for None."""
        rate_hz = (len(self.at_s) - 1) / (self.at_s[-1] - self.at_s[0])
        search = ruptures.KernelCPD(kernel="linear", min_size=round(rate_hz))
        search.fit(self.aboard_g - self.aboard_g.mean())
        if steps is not None:
            return search.predict(n_bkps=steps)[:-1]
        penalty = 2 * self.noise_g**2 * log(len(self.aboard_g))
        return search.predict(pen=penalty)[:-1]

    def sizes(self, cuts: list[int]) -> np.ndarray:
        means = [part.mean() for part in np.split(self.aboard_g, cuts)]
        return np.diff(means)

    def scatter_g(self, cuts: list[int]) -> np.ndarray:
        """Standard deviation of each size by white noise."""
        n = [len(part) for part in np.split(self.aboard_g, cuts)]
        return np.array([self.noise_g * sqrt(1 / a + 1 / b) for a, b in pairwise(n)])


@cache
def simulated(seed: int, rate_hz: float, layout: str, cell_g: float, landing_s: float) -> Signal:
    random, per_g = Random(f"steps {seed}"), counts_per_gram(cell_g, 1.0)
    sections = {
        "rig": {"name": "test", "layout": layout},
        "load": {"zero_count": -8000, "count_per_g": random.choice((-1, 1)) * per_g},
        "tub": {"area_mm2": 120_000},
        "item": {"name": "piece", "mass_g": ITEM_G, "mass_sd_g": 0.02},
    }
    setup = RigSetup.model_validate(sections)
    conditions = Conditions(
        noise=Noise(load_g=0),  # the amplifier has its own
        board=BoardPart(rate_hz=rate_hz),
        amplifier=AmplifierPart(capacity_g=cell_g, creep_share=0.0003, drift_g_per_c=1e-4 * cell_g),
        room=RoomPart(walk_c=0.1),
    )
    bench = Bench(setup, conditions, seed)
    bench.place_boat(BARGE, None, 400)
    steps = [(random.uniform(5, 7), random.choice(HANDFULS))]
    steps += [(random.uniform(2, 6), random.choice(HANDFULS)) for _ in range(random.randint(5, 9))]
    bench.load_with(Plan(tuple(steps), landing_s=landing_s))
    stream, calibration = Stream(), Calibration(setup)
    sign = -1.0 if layout == "feed-tray" else 1.0
    rows = []
    while bench.idle_s < 4:
        for item in stream.feed(bench.row()):
            if isinstance(item, Sample):
                rows.append((item.at_ms / 1000, sign * calibration.reading(item).gross_g))
    at_s, aboard_g = np.array(rows).T
    true = bench.hands.additions
    assert len(true) == len(steps)
    # the stream's clock begins with the first row, one period after the bench's
    return Signal(at_s + (bench.now_s - at_s[-1]), aboard_g, noise_counts(rate_hz) / per_g, true)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("rate_hz", [10.0, 80.0])
@pytest.mark.parametrize(("layout", "cell_g"), CELLS)
def test_items_set_down_at_once(layout, cell_g, rate_hz, seed):
    signal = simulated(seed, rate_hz, layout, cell_g, 0.0)
    track, row_s = signal.track(), 1 / rate_hz
    steps = track.steps
    true_s = [landed.at_s for landed in signal.true]
    true_g = np.array([landed.mass_g for landed in signal.true])
    assert len(steps) == len(signal.true)

    cuts = signal.reference(len(signal.true))
    # to the reading, here and there one beside it
    assert [s.at_s for s in steps] == pytest.approx(signal.at_s[cuts].tolist(), abs=1.01 * row_s)
    assert [s.at_s for s in steps] == pytest.approx(true_s, abs=2.01 * row_s)
    # no reading of the new load is left in the plateau before
    ends = [plateau.end_s for plateau in track.plateaus[:-1]]
    assert ends == pytest.approx(signal.at_s[cuts].tolist(), abs=0.01 * row_s)

    sizes, scatter = np.array([s.mass_g for s in steps]), signal.scatter_g(cuts)
    assert np.all(np.abs(sizes - signal.sizes(cuts)) < scatter)  # the same readings, or nearly
    drift_g = 1e-4 * cell_g * 0.1 * sqrt(4 / 60)  # in the mean time between two plateaus
    creep_g = 0.0003 * np.cumsum(true_g)
    assert np.all(np.abs(sizes - true_g) < 4 * np.hypot(scatter, drift_g) + creep_g)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("rate_hz", [10.0, 80.0])
@pytest.mark.parametrize(("layout", "cell_g"), CELLS)
def test_with_no_number_told_both_see_the_same(layout, cell_g, rate_hz, seed):
    """PELT also cuts where the zero has drifted: by less than half an item, which is no step."""
    signal = simulated(seed, rate_hz, layout, cell_g, 0.0)
    cuts = signal.reference(None)
    clear = [
        at_s
        for at_s, size_g in zip(signal.at_s[cuts].tolist(), signal.sizes(cuts), strict=True)
        if abs(size_g) > NOTHING_G
    ]
    steps = [step.at_s for step in signal.track().steps]
    assert len(steps) == len(clear) == len(signal.true)
    assert steps == pytest.approx(clear, abs=1.01 / rate_hz)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("rate_hz", [10.0, 80.0])
@pytest.mark.parametrize(("layout", "cell_g"), CELLS)
def test_items_that_land_one_after_the_other(layout, cell_g, rate_hz, seed):
    """Over 0.3 s: a step is then half-way, for both; what is in the air blurs the means."""
    signal = simulated(seed, rate_hz, layout, cell_g, 0.3)
    steps = signal.track().steps
    assert len(steps) == len(signal.true)
    cuts = signal.reference(len(signal.true))
    assert [s.at_s for s in steps] == pytest.approx(signal.at_s[cuts].tolist(), abs=0.31)
    for step, landed in zip(steps, signal.true, strict=True):
        assert landed.at_s - 0.01 <= step.at_s <= landed.last_s + 1.01 / rate_hz
    masses = [step.mass_g for step in steps]
    # a reading with a part of the items down belongs to neither plateau, or to one of both:
    # up to half a step over the 15 or more readings of a plateau of 2 s at the rate of 10
    most_g = [max(0.2 * ITEM_G, landed.mass_g / 2 / 15) for landed in signal.true]
    for mass_g, landed, off_g in zip(masses, signal.true, most_g, strict=True):
        assert abs(mass_g - landed.mass_g) < off_g
    assert [round(mass_g / ITEM_G) for mass_g in masses] == [x.items for x in signal.true]
