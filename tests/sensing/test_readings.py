"""Raw numbers to units, against the amplifier's data sheet and published speeds of sound."""

import tomllib
from pathlib import Path

import pytest

from rig.sensing.readings import Calibration
from rig.sensing.sentences import Identity
from rig.sensing.stream import Sample
from rig.setup import RigSetup

HERE = Path(__file__).parent / "reference"
HX711 = tomllib.loads((HERE / "hx711.toml").read_text())
SOUND = tomllib.loads((HERE / "speed_of_sound.toml").read_text())
ECHO = Identity("b", "1", 80.0, (("surface", "us"), ("rim", "us")))


def setup(count_per_g=1000.0, zero_count=0.0, air_c=20.0, **gauges):
    surface = {"height_mm": 400.0, "air_c": air_c, **gauges}
    return RigSetup.model_validate(
        {
            "rig": {"name": "test", "layout": "feed-tray"},
            "load": {"zero_count": zero_count, "count_per_g": count_per_g},
            "surface": surface,
            "rim": {**surface, "flag_mm": 20.0},
        }
    )


def sample(load=None, surface=None, rim=None, water=None, restarted=False):
    return Sample(1234, load, surface, rim, water, restarted)


@pytest.mark.parametrize("end", ["low", "high"])
def test_the_saturation_codes_of_the_data_sheet_give_no_mass(end):
    code = int(HX711[f"saturation_{end}_hex"], 16)
    signed = code - (1 << HX711["bits"]) if code >> (HX711["bits"] - 1) else code
    assert signed == HX711["code_min" if end == "low" else "code_max"]
    inward = signed + (1 if end == "low" else -1)
    calibration = Calibration(setup())
    assert calibration.reading(sample(load=signed)).gross_g is None
    assert calibration.reading(sample(load=inward)).gross_g == pytest.approx(inward / 1000)


@pytest.mark.parametrize("cell", HX711["load_cell"], ids=lambda c: f"{c['capacity_g']} g")
@pytest.mark.parametrize(
    ("gain", "key"), [(128, "counts_per_gram"), (64, "counts_per_gram_gain64")]
)
@pytest.mark.parametrize("sign", [1, -1])
def test_a_cell_by_the_data_sheet_formula(cell, gain, key, sign):
    mass_g, zero = cell["capacity_g"] / 4, -8000
    # counts = S mV/V * 1e-3 * 2 * gain * 2^23 * mass / capacity (source: reference/hx711.toml)
    counts = cell["sensitivity_mV_per_V"] * 1e-3 * 2 * gain * 2**23 * mass_g / cell["capacity_g"]
    calibration = Calibration(setup(sign * cell[key], zero))
    got = calibration.reading(sample(load=zero + sign * round(counts))).gross_g
    assert got == pytest.approx(mass_g, abs=0.5 / cell[key] + 1e-9)  # half a count


def test_readings_of_zero_and_minus_one_are_masses_like_any_other():
    calibration = Calibration(setup(count_per_g=100.0))
    assert calibration.reading(sample(load=0)).gross_g == 0
    assert calibration.reading(sample(load=-1)).gross_g == pytest.approx(-0.01)


@pytest.mark.parametrize(("air_c", "speed_m_s"), SOUND["cramer_rh50_m_s"].items())
def test_echo_distance_by_the_published_speed(air_c, speed_m_s):
    echo_us = 2 * 250.0 / speed_m_s * 1000  # 250 mm there and back
    got = Calibration(setup(air_c=float(air_c)), ECHO).reading(sample(surface=round(echo_us)))
    # 0.10 m/s of 340 is 0.08 mm in 250; half a microsecond is another 0.09
    assert got.level_mm == pytest.approx(400 - 250, abs=0.17)


@pytest.mark.parametrize(("air_c", "dry_m_s"), SOUND["dry_m_s"].items())
def test_echo_distance_by_an_independent_equation_of_state(air_c, dry_m_s):
    got = Calibration(setup(air_c=float(air_c)), ECHO).reading(sample(surface=1500))
    # the room is not dry: half humidity adds up to 0.34 % at 30 deg C (Cramer), never takes away
    assert 1500 * dry_m_s / 2000 <= 400 - got.level_mm <= 1.0036 * 1500 * dry_m_s / 2000


def test_echo_distance_by_the_textbook():
    got = Calibration(setup(air_c=30.0), ECHO).reading(sample(surface=1000))
    assert 400 - got.level_mm == pytest.approx(SOUND["openstax"]["speed_30c_m_s"] / 2, rel=0.006)


def test_the_usual_340_m_s_would_be_wrong_by_the_published_amount():
    module = SOUND["module"]
    echo_us = 2000 * module["reads_mm"] / module["taken_m_s"]
    got = Calibration(setup(), ECHO).reading(sample(surface=round(echo_us)))
    assert 400 - got.level_mm == pytest.approx(module["true_mm"], abs=0.15)


def test_the_board_names_its_units_and_the_set_up_only_stands_in():
    micrometres, echo = 150_000, 872
    in_um = Identity("b", "1", 80.0, (("surface", "um"),))
    by_setup = Calibration(setup(unit="us"))
    assert by_setup.reading(sample(surface=echo)).level_mm == pytest.approx(250, abs=0.2)
    by_board = Calibration(setup(unit="us"), in_um)
    assert by_board.reading(sample(surface=micrometres)).level_mm == pytest.approx(250)
    # the identity may come later than the first rows
    by_setup.identity = in_um
    assert by_setup.reading(sample(surface=micrometres)).level_mm == pytest.approx(250)
    assert Calibration(setup()).reading(sample(surface=micrometres)).level_mm == pytest.approx(250)


def test_the_rim_is_the_flag_less_its_height():
    got = Calibration(setup()).reading(sample(surface=300_000, rim=250_000))
    assert (got.level_mm, got.rim_mm) == (pytest.approx(100), pytest.approx(400 - 250 - 20))


def test_water_is_in_thousandths_of_a_degree():
    assert Calibration(setup()).reading(sample(water=20_125)).water_c == pytest.approx(20.125)


def test_what_a_channel_did_not_say_is_none_and_never_nought():
    got = Calibration(setup()).reading(sample())
    assert (got.gross_g, got.level_mm, got.rim_mm, got.water_c) == (None, None, None, None)
    only_cell = RigSetup.model_validate(
        {
            "rig": {"name": "t", "layout": "feed-tray"},
            "load": {"zero_count": 0, "count_per_g": 1},
        }
    )
    got = Calibration(only_cell).reading(sample(5, 100, 100, 1000, restarted=True))
    assert (got.gross_g, got.level_mm, got.rim_mm) == (5, None, None)
    assert (got.at_ms, got.restarted) == (1234, True)
