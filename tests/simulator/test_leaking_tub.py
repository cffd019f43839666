"""A tub without a boat: it leaks, dries, warms, by the book."""

import pytest

from rig.errors import SetupInvalid
from rig.physics.water import water_density
from rig.sensing.stream import Sample, Stream
from rig.simulator import Bench, read_scenario, simulate
from rig.simulator.conditions import BoardPart, Conditions, Water

SCENARIO = """\
seed = 3
watch_min = 1
[rig]
name = "leaky"
layout = "tub-on-cell"
[load]
zero_count = 0
count_per_g = 430.0
[tub]
area_mm2 = 66000.0
[item]
name = "washer (invented)"
mass_g = 2.5
"""


def left_alone(setup, minutes, **water):
    bench = Bench(setup, Conditions(water=Water(**water), board=BoardPart(rate_hz=1.0)))
    for _ in range(60 * minutes):
        bench.row()
    return bench.world


def test_a_leak_and_dry_air_lower_the_level(setup):
    # 66 ml a millimetre: 660 ml/h for 6 minutes are 1 mm; 24 mm a day are 0.1 mm
    world = left_alone(setup, 6, leak_ml_h=660.0, dries_mm_day=24.0, water_c=20.0)
    assert world.level_mm == pytest.approx(120 - 1.1, abs=1e-6)


def test_water_warms_two_thirds_of_the_way_and_swells(setup):
    world = left_alone(setup, 6, water_c=10.0, room_c=20.0, warms_h=0.1)
    assert world.water_c == pytest.approx(20 - 10 / 2.71828, abs=0.01)
    swells = water_density(10.0) / water_density(world.water_c)
    assert world.level_mm == pytest.approx(120 * swells, abs=1e-9)


def test_warming_changes_no_weight(setup):
    on_cell = setup.model_copy(
        update={"rig": setup.rig.model_copy(update={"layout": "tub-on-cell"})}
    )
    warm = left_alone(on_cell, 2, water_c=10.0, room_c=20.0, warms_h=0.1)
    assert warm.gross_g == pytest.approx(400 + 120 * 66 * water_density(10.0))


def test_a_scenario_may_watch_the_tub_alone(tmp_path):
    path = tmp_path / "tub.toml"
    path.write_text(SCENARIO, encoding="utf-8")
    recording, truth = simulate(read_scenario(path))
    rows = [item for item in Stream().feed(recording) if isinstance(item, Sample)]
    assert truth == {"trials": []}
    assert rows[-1].at_ms == pytest.approx(60_000, abs=200)


def test_a_scenario_in_which_nothing_happens_is_refused(tmp_path):
    path = tmp_path / "tub.toml"
    path.write_text(SCENARIO.replace("watch_min = 1", "watch_min = 0"), encoding="utf-8")
    with pytest.raises(SetupInvalid, match="nothing would happen"):
        read_scenario(path)
