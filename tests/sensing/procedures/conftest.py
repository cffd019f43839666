"""A rig with a known load cell, and one line to play a procedure on it."""

import pytest

from rig.sensing.procedures.jobs import make_job
from rig.sensing.procedures.session import Session
from rig.setup import RigSetup
from rig.simulator.true_cell import TrueCell, play

MASSES = ("M2 50 g", "M2 100 g", "M2 200 g", "M2 500 g", "M2 1 kg")
CELL = TrueCell(place_sd_g=0.03)


@pytest.fixture(scope="session")
def setup():
    return RigSetup.model_validate(
        {
            "rig": {"name": "by the window", "layout": "feed-tray"},
            "load": {"zero_count": 84_213, "count_per_g": 430.0},
            "surface": {"height_mm": 400.0, "unit": "um"},
            "tub": {"area_mm2": 60_000},
            "item": {"name": "washer", "mass_g": 2.5},
        }
    )


@pytest.fixture(scope="session")
def played(setup):
    """`played("load", {...}, cell, seed, true_g)`: the session after all its steps."""

    def run(kind="load", options=None, cell=CELL, seed=1, true_g=None):
        session = Session(make_job(kind, options or {"masses": list(MASSES)}), setup)
        play(session, cell, seed, true_g or (lambda number, known: known.value))
        return session

    return run
