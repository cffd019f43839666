"""What the board says and does when something on it fails."""

import pytest

SILENT = ("E01", "amplifier silent")


def test_a_silent_chip_stops_neither_gauges_nor_watchdog(board):
    heard = board(seconds=10, chip_away_s=[3.05, 6.02])
    assert heard.faults == [SILENT]
    out = [s for s in heard.samples if 4200 < s.at_ms + 400 < 6000]
    assert len(out) >= 15 and {s.load_count for s in out} == {None}
    assert sum(s.surface_raw is not None for s in out) > 8
    assert sum(s.water_mc is not None for s in out) >= 1
    assert heard.samples[-1].load_count == 84213  # it goes on by itself
    assert heard.world["restarts"] == 0


@pytest.mark.parametrize("level", [0, 1])
def test_a_data_wire_that_is_stuck_gives_no_word(board, level):
    """Low all the time looks ready and all zeros; but the chip lets go after its last pulse."""
    heard = board(seconds=6, data_stuck=level)
    assert heard.faults == [SILENT]
    assert {s.load_count for s in heard.samples} == {None} and len(heard.samples) > 40


@pytest.mark.parametrize("word", [-(2**23), 2**23 - 1])
def test_a_saturated_word_is_sent_and_told_once(board, word):
    heard = board(seconds=6, load=word)
    assert heard.faults == [("E02", "amplifier saturated")]
    assert {s.load_count for s in heard.samples[4:]} == {word}


def test_a_short_saturation_is_not_told(board):
    load = [5000] * 20 + [2**23 - 1] * 5 + [5000] * 100
    assert board(seconds=8, load=load).faults == []


@pytest.mark.parametrize("gauge", ["surface", "rim"])
def test_a_gauge_without_echo_is_told_and_the_other_goes_on(board, gauge):
    heard = board(seconds=5, **{gauge: None})
    assert heard.faults == [("E03", f"{gauge} gauge no echo")]
    raw = {name: [getattr(s, f"{name}_raw") for s in heard.samples] for name in ("surface", "rim")}
    other = "rim" if gauge == "surface" else "surface"
    assert set(raw[gauge]) == {None}
    assert sum(value is not None for value in raw[other]) > 25
    assert heard.stream.count.lost == 0 and heard.world["conversions_missed"] == 0


@pytest.mark.parametrize("sps", [10, 80])
def test_a_late_echo_is_none_and_holds_nobody_up(board, sps):
    """Modules without an echo hold their line for 38 ms and more: longer than a row at 80."""
    heard = board(seconds=5, sps=sps, settings={"SPS": sps}, surface=38_000)
    assert heard.faults == [("E03", "surface gauge no echo")]
    assert {s.surface_raw for s in heard.samples} == {None}
    assert heard.world["conversions_missed"] == 0


def test_an_echo_that_comes_back_is_believed_and_its_next_loss_told(board):
    surface = [1749] * 20 + [None] * 30 + [1500] * 30 + [None] * 30
    heard = board(seconds=12, surface=surface)
    assert heard.faults == [("E03", "surface gauge no echo")] * 2
    assert any(abs((s.surface_raw or 0) - 1500) < 25 for s in heard.samples)


@pytest.mark.parametrize("how", [{"water": None}, {"water_shorted": True}, {"water_garbled": True}])
def test_a_thermometer_that_is_off_shorted_or_garbled_gives_no_number(board, how):
    heard = board(seconds=8, **how)
    assert heard.faults == [("E04", "thermometer silent")]
    assert {s.water_mc for s in heard.samples} == {None}


@pytest.mark.parametrize("water_mc", [-5000, 0, 125_000])
def test_cold_and_hot_water(board, water_mc):
    """DS18B20 data sheet, table of temperatures and data: FFB0h is -5 deg C by its rule."""
    assert {s.water_mc for s in board(seconds=5, water=water_mc).samples} == {None, water_mc}


def test_its_power_up_number_is_no_temperature(board):
    """85 deg C is what a DS18B20 shows before it has measured (data sheet, "power-on reset")."""
    assert {s.water_mc for s in board(seconds=5, water=85_000).samples} == {None}


def test_the_watchdog_is_fed_through_every_trouble(board):
    heard = board(seconds=30, data_stuck=1, surface=None, rim=None, water=None)
    assert heard.world["restarts"] == 0 and heard.world["feeds"] > 1000
    assert len(heard.faults) == 4


def test_a_loop_that_hangs_is_started_anew(board):
    """A driver that does not come back for 10 s; the watchdog's 2 s are over first."""
    heard = board(seconds=10, hang_at_s=4)
    assert heard.world["restarts"] == 1
    assert sum(s.restarted for s in heard.samples) == 1
    assert len(heard.identities) == 3  # power-up, asked, started anew
    assert heard.samples[-1].load_count == 84213
