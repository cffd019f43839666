"""The data sheet's arithmetic, and that simulator, check and readings all use the same.

Source: Avia Semiconductor, HX711 data sheet; worked figures in
tests/sensing/reference/hx711.toml: full scale +-0.5 AVDD / gain, bridge fed from AVDD.
"""

import tomllib
from pathlib import Path
from random import Random

import pytest

from rig.errors import OutOfRange
from rig.physics.hx711 import CODE_HIGH, CODE_LOW, counts_per_gram, noise_counts, signed_code
from rig.sensing.readings import SATURATED, Calibration
from rig.sensing.sentences import Data, decode
from rig.sensing.stream import Sample
from rig.setup import RigSetup
from rig.setup.findings import ItemFinding
from rig.setup.fitness import Readings, findings
from rig.simulator.amplifier import WRONG, input_noise_g
from rig.simulator.bench import Bench
from rig.simulator.conditions import Conditions, Noise
from rig.simulator.troubles import AmplifierPart

HX711 = tomllib.loads(
    (Path(__file__).parents[1] / "sensing" / "reference" / "hx711.toml").read_text()
)
CELLS = HX711["load_cell"]


def a_rig(count_per_g, zero_count=0.0):
    return RigSetup.model_validate(
        {
            "rig": {"name": "test", "layout": "feed-tray"},
            "load": {"zero_count": zero_count, "count_per_g": count_per_g},
            "item": {"name": "piece", "mass_g": 2.5},
        }
    )


@pytest.mark.parametrize("cell", CELLS, ids=lambda c: f"{c['capacity_g']} g")
def test_counts_per_gram_of_1_5_and_20_kg_cells(cell):
    rated_g, mv_v = cell["capacity_g"], cell["sensitivity_mV_per_V"]
    assert counts_per_gram(rated_g, mv_v) == pytest.approx(cell["counts_per_gram"], rel=1e-9)
    at_64 = counts_per_gram(rated_g, mv_v, gain=64)
    assert at_64 == pytest.approx(cell["counts_per_gram_gain64"], rel=1e-9)
    assert counts_per_gram(rated_g, mv_v, gain=32) == pytest.approx(at_64 / 2)


def test_the_chain_by_hand_in_volts():
    """A 5 kg cell of 2 mV/V at 5 V gives 10 mV; full scale at gain 128 is 19.53125 mV."""
    volts_at_rated, full_scale_v = 2e-3 * 5.0, 0.5 * 5.0 / 128
    code = volts_at_rated / full_scale_v * 2**23
    assert 5000 * counts_per_gram(5000, 2.0) == pytest.approx(code, rel=1e-12)
    # the data sheet's rounded +-20 mV is 2.4 % off and not what is used
    assert code / (volts_at_rated / 20e-3 * 2**23) == pytest.approx(1.024)


def test_noise_in_counts():
    """50 and 90 nV; one count is 2.3283064 nV at 5 V and gain 128 (full scale / 2^23)."""
    assert noise_counts(10) == pytest.approx(50 / 2.3283064, rel=1e-6)
    assert noise_counts(80) == pytest.approx(90 / 2.3283064, rel=1e-6)
    assert noise_counts(10, supply_v=2.6) == pytest.approx(noise_counts(10) * 5 / 2.6)


@pytest.mark.parametrize(
    ("word", "code"),
    [
        (0x000000, 0),
        (0x000001, 1),
        (0x7FFFFE, 8_388_606),
        (0x7FFFFF, 8_388_607),
        (0x800000, -8_388_608),
        (0x800001, -8_388_607),
        (0xFFFFFF, -1),
    ],
)
def test_twos_complement(word, code):
    assert signed_code(word) == code
    assert signed_code(word) == int.from_bytes(word.to_bytes(3, "big"), "big", signed=True)


def test_the_saturation_codes_of_the_data_sheet():
    assert int(HX711["saturation_high_hex"], 16) == 0x7FFFFF
    assert signed_code(int(HX711["saturation_high_hex"], 16)) == CODE_HIGH == HX711["code_max"]
    assert signed_code(int(HX711["saturation_low_hex"], 16)) == CODE_LOW == HX711["code_min"]
    assert set(SATURATED) == {CODE_LOW, CODE_HIGH}


@pytest.mark.parametrize("bad", [-1, 2**24, 2**32])
def test_what_is_no_24_bit_word(bad):
    with pytest.raises(OutOfRange):
        signed_code(bad)


@pytest.mark.parametrize("code", [CODE_LOW, CODE_HIGH])
def test_the_wire_carries_just_these_codes(code):
    assert decode(b"PTRGD,1,2,%d,,," % code) == Data(1, 2, code, None, None, None)
    beyond = code + (1 if code > 0 else -1)
    assert not isinstance(decode(b"PTRGD,1,2,%d,,," % beyond), Data)


@pytest.mark.parametrize(
    "bad",
    [(0, 1.0), (-5, 1.0), (1000, 0.0), (1000, -1.0), (float("nan"), 1.0), (1000, 1.0, 100)],
)
def test_cells_and_gains_that_cannot_be(bad):
    with pytest.raises(OutOfRange) as raised:
        counts_per_gram(*bad)
    assert raised.value.try_this


@pytest.mark.parametrize("supply_v", [2.5, 5.6, float("nan")])
def test_supplies_the_chip_does_not_bear(supply_v):
    with pytest.raises(OutOfRange):
        noise_counts(10, supply_v)


# --- the rest of the rig uses the same ---------------------------------------------------------


@pytest.mark.parametrize("cell", CELLS, ids=lambda c: f"{c['capacity_g']} g")
@pytest.mark.parametrize("rate_hz", [10.0, 80.0])
def test_check_simulator_and_readings_agree_on_a_cell(cell, rate_hz):
    rated_g, mv_v = cell["capacity_g"], cell["sensitivity_mV_per_V"]
    per_g = counts_per_gram(rated_g, mv_v)
    noise_nv = {10.0: 50, 80.0: 90}[rate_hz]
    noise_g = noise_nv * 1e-9 / (mv_v * 1e-3 * 5.0) * rated_g  # rms, through the bridge at 5 V
    setup = a_rig(per_g, zero_count=-8000)
    (item,) = (
        f for f in findings(setup, (), Readings(rate_hz=rate_hz)) if isinstance(f, ItemFinding)
    )
    assert item.noise_g == pytest.approx(noise_g)
    part = AmplifierPart(capacity_g=rated_g, mv_per_v=mv_v)
    assert input_noise_g(part, rate_hz) == pytest.approx(noise_g)
    mass_g = rated_g / 3
    count = round(-8000 + per_g * mass_g)
    reading = Calibration(setup).reading(Sample(0, count, None, None, None))
    assert reading.gross_g == pytest.approx(mass_g, abs=1 / per_g)


@pytest.mark.parametrize(("per_g", "code"), [(1e6, CODE_HIGH), (-1e6, CODE_LOW)])
def test_a_simulated_overload_saturates_as_the_chip_does(per_g, code):
    conditions = Conditions(noise=Noise(load_g=0))
    row = Bench(a_rig(per_g), conditions).row().split(b"$")[-1]
    load = decode(row.partition(b"*")[0]).load
    assert load == code
    assert Calibration(a_rig(per_g)).reading(Sample(0, load, None, None, None)).gross_g is None


def test_simulated_wrong_words_stay_24_bit_words():
    random = Random(2)
    for _ in range(2000):
        code = random.randint(CODE_LOW, CODE_HIGH)
        for spoil in WRONG.values():
            assert CODE_LOW <= spoil(code, random) <= CODE_HIGH
