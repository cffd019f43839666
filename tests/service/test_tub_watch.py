"""The running rig watches its tub between trials."""

import pytest

from rig.errors import OutOfPlace
from rig.lesson.tub_facts import TubFacts
from rig.lesson.tub_watch import By
from rig.physics.evaporation import still_water
from rig.simulator import Bench
from rig.simulator.conditions import BoardPart, Conditions, Water

FACTS = TubFacts(By.LEVEL, 66_000.0, 20.0, still_water(20, 20))


def tub_alone(setup, minutes):
    water = Water(leak_ml_h=3000.0)
    bench = Bench(setup, Conditions(water=water, board=BoardPart(rate_hz=2.0)), 1)
    return b"".join(bench.row() for _ in range(120 * minutes))


def test_a_leak_is_told_to_the_pages_while_no_trial_runs(desk):
    desk.service.watch_tub(FACTS)
    assert desk.newest("tub")["finding"] is None
    desk.hear(tub_alone(desk.scenario.setup, 7), chunk=4000)
    told = desk.newest("tub")
    assert told["finding"] == "leaks"
    assert told["watching"]
    assert told["lines"][0].startswith("The tub leaks")
    desk.service.start("Kingfisher")
    assert desk.newest("tub")["watching"] is False
    with pytest.raises(OutOfPlace):
        desk.service.watch_tub(FACTS)
