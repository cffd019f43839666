"""Gauges turn the set-up's calibration round: what is decoded is the truth, within noise."""

from collections.abc import Callable
from math import sqrt
from statistics import fmean, stdev

import pytest

from rig.sensing.readings import Calibration, Reading
from rig.sensing.sentences import Identity
from rig.sensing.stream import Sample, Stream
from rig.setup import Boat, RigSetup
from rig.simulator.bench import Bench
from rig.simulator.conditions import BoardPart, Conditions, Noise
from rig.simulator.hands import Plan
from rig.simulator.world import World

ROWS = 800
NOISE = Noise(load_g=0.05, surface_mm=0.5, rim_mm=0.4, water_c=0.02)

Errors = dict[str, list[float]]


def decoded_errors(setup: RigSetup, conditions: Conditions, boat: Boat) -> Errors:
    """Decode a bench under load row by row; return reading less truth, by channel."""
    bench = Bench(setup, conditions, seed=5)
    bench.place_boat(boat)
    bench.load_with(Plan(then=(4.0, 3)))
    stream, calibration = Stream(), Calibration(setup)
    errors: Errors = {"gross_g": [], "level_mm": [], "rim_mm": [], "water_c": []}
    for _ in range(ROWS):
        for item in stream.feed(bench.row()):
            if isinstance(item, Identity):
                calibration = Calibration(setup, item)
            elif isinstance(item, Sample):
                compare(errors, calibration.reading(item), bench.world)
    assert stream.count.data == ROWS
    assert not stream.count.skipped
    return errors


def compare(errors: Errors, reading: Reading, world: World) -> None:
    errors["gross_g"].append(reading.gross_g - world.gross_g)
    errors["level_mm"].append(reading.level_mm - world.surface_mm)
    errors["rim_mm"].append(reading.rim_mm - world.rim_mm)
    errors["water_c"].append(reading.water_c - world.water_c)


def changed(setup: RigSetup, **sections: dict[str, object]) -> RigSetup:
    data = setup.model_dump()
    for name, keys in sections.items():
        data[name] = {**data[name], **keys}
    return setup.model_validate(data)


RIGS: dict[str, Callable[[RigSetup], RigSetup]] = {
    "micrometres": lambda setup: setup,
    "echo times": lambda setup: changed(
        setup, surface={"unit": "us", "air_c": 26.0}, rim={"unit": "us", "air_c": 17.0}
    ),
    "a cell the other way round": lambda setup: changed(
        setup, load={"zero_count": -3.5, "count_per_g": -700.0}
    ),
    "tub on the cell": lambda setup: changed(setup, rig={"layout": "tub-on-cell"}),
}


@pytest.mark.parametrize("rig", RIGS)
@pytest.mark.parametrize("rate_hz", [10.0, 80.0])
def test_readings_give_the_truth_back_within_noise(setup, boat, rig, rate_hz):
    """Mean within 4 standard errors, sd within 4 of its own: about 1 / sqrt(2 n) of it."""
    conditions = Conditions(noise=NOISE, board=BoardPart(rate_hz=rate_hz))
    errors = decoded_errors(RIGS[rig](setup), conditions, boat)
    expected = {
        "gross_g": NOISE.load_g,
        "level_mm": NOISE.surface_mm,
        "rim_mm": NOISE.rim_mm,
        "water_c": NOISE.water_c,
    }
    for channel, sd in expected.items():
        assert abs(fmean(errors[channel])) < 4 * sd / sqrt(ROWS), channel
        assert stdev(errors[channel]) == pytest.approx(sd, rel=4 / sqrt(2 * ROWS)), channel


def rows(setup: RigSetup, conditions: Conditions, boat: Boat | None) -> Sample:
    bench = Bench(setup, conditions)
    if boat:
        bench.place_boat(boat)
    samples = [item for item in Stream().feed(bench.row()) if isinstance(item, Sample)]
    return samples[-1]


def test_raw_numbers_worked_by_hand(setup, still):
    """No boat: 60 g of tray and 150 items of 2.5 g; water at 120 mm under faces at 400 and 420."""
    sample = rows(setup, still, None)
    assert sample.load_count == 84213 + 430 * 435
    assert sample.surface_raw == 280_000
    assert sample.rim_raw == 300_000  # no flag there: the gauge sees the water
    assert sample.water_mc == 4000


def test_the_rim_gauge_sees_the_flag(setup, still, boat):
    """15 g over 66 000 mm2 lift the water 0.227 mm; 2.5 mm of the box are under it, 27.5 out."""
    sample = rows(setup, still, boat)
    assert sample.rim_raw == pytest.approx((420 - 60 - 27.5 - 120.227) * 1000, abs=2)


def test_an_echo_time_worked_by_hand(setup, still):
    """280 mm there and back at 343.2 m/s (dry air at 20 deg C, the usual school-book figure, from
    memory; damp air is up to 0.4 % faster) take 1632 us."""
    echo = changed(setup, surface={"unit": "us", "air_c": 20.0})
    assert rows(echo, still, None).surface_raw == pytest.approx(1632, rel=0.005)


def test_a_rig_without_gauges_sends_empty_channels(setup, still):
    data = setup.model_dump(exclude={"surface", "rim", "tub"})
    bare = still.model_copy(update={"water": still.water.model_copy(update={"thermometer": False})})
    sample = rows(RigSetup.model_validate(data), bare, None)
    assert (sample.surface_raw, sample.rim_raw, sample.water_mc) == (None, None, None)
    assert sample.load_count is not None


def test_water_at_the_gauge_face_gives_no_echo(setup, still):
    sample = rows(changed(setup, surface={"height_mm": 119.0}), still, None)
    assert sample.surface_raw is None


def test_the_amplifier_saturates_at_24_bits(setup, still):
    sample = rows(changed(setup, load={"count_per_g": 1e6}), still, None)
    assert sample.load_count == 8388607
    sample = rows(changed(setup, load={"count_per_g": -1e6}), still, None)
    assert sample.load_count == -8388608
