"""A tub watched by numbers alone: no rig, no simulator. All figures are our own invention."""

import numpy as np
import pytest

from rig.lesson.tub_facts import TubFacts
from rig.lesson.tub_watch import By, Watched
from rig.physics.evaporation import Evaporation


@pytest.fixture
def facts():
    """A tub of 120 000 mm2 (120 ml a millimetre) that dries 0.05 to 0.15 mm/h."""
    return TubFacts(By.LEVEL, 120_000.0, 20.0, Evaporation(0.05, 0.15))


@pytest.fixture
def seen():
    """`seen(minutes, fall_mm_h=..., noise_mm=..., ...)`: a watch of 64 spans."""

    def made(minutes, fall_mm_h=0.1, noise_mm=0.05, walk=0.0, seed=1, water_c=None, **changed):
        rng = np.random.default_rng(seed)
        at_h = (np.arange(64) + 0.5) / 64 * minutes / 60
        wander = np.cumsum(rng.normal(size=64)) * walk * np.sqrt(minutes / 60 / 64)
        value = 120 - fall_mm_h * at_h + noise_mm * rng.normal(size=64) + wander
        many_h = (np.arange(800) + 0.5) / 800 * minutes / 60
        many = 120 - fall_mm_h * many_h + 10 * noise_mm * rng.normal(size=800)
        warm = (
            np.full(64, np.nan)
            if water_c is None
            else water_c(at_h)
            if callable(water_c)
            else water_c
        )
        shown = {
            "by": By.LEVEL,
            "at_h": at_h,
            "value": value,
            "water_c": warm,
            "sample_h": many_h,
            "sample": many,
            "minutes": float(minutes),
            "heard": 1.0,
        }
        return Watched(**(shown | changed))

    return made
