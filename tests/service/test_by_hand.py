"""The scale dies in mid-test: the trial goes on by count and by ruler, and its record says so."""

import pytest

from rig.cli.replay import replayed, sources
from rig.errors import OutOfPlace, RigError
from rig.service import rig_service


@pytest.fixture
def clock(monkeypatch):
    """Seconds that the test lets pass."""
    now = {"s": 1000.0}
    monkeypatch.setattr(rig_service, "monotonic", lambda: now["s"])
    return now


def rows(desk, clock, seconds, count, from_ms):
    """Rows at ten a second whose scale says `count`, or nothing; no gauges."""
    for tenth in range(round(10 * seconds)):
        body = f"PTRGD,{(from_ms // 100 + tenth) % 65536},{from_ms + 100 * tenth},{count(tenth)},,,"
        desk.hear(framed(body))
        clock["s"] += 0.1
    return from_ms + round(1000 * seconds)


def framed(body):
    check = 0
    for byte in body.encode():
        check ^= byte
    return f"${body}*{check:02X}\r\n".encode()


def counts(desk, load_g):
    """What the scale says with so much aboard, a count or two of noise on it."""
    load = desk.scenario.setup.load
    sign = -1 if desk.scenario.setup.rig.layout.value == "feed-tray" else 1
    tray = load.zero_count + 500 * load.count_per_g
    return lambda tenth: round(tray + sign * load_g * load.count_per_g) + (7 * tenth) % 11 - 5


def silent(tenth):
    return ""


@pytest.fixture
def half_way(desk, clock):
    """A trial with ten items weighed, and then a dead scale."""
    item_g = desk.scenario.setup.item.mass_g
    ms = rows(desk, clock, 3, counts(desk, 0), 0)
    desk.service.start(next(iter(desk.scenario.boats)))
    ms = rows(desk, clock, 4, counts(desk, 0), ms)
    ms = rows(desk, clock, 8, counts(desk, 10 * item_g), ms)
    return rows(desk, clock, 3, silent, ms)


def result(desk):
    return desk.service._engine.trial.result


def test_a_working_scale_counts_by_itself(desk, clock):
    ms = rows(desk, clock, 3, counts(desk, 0), 0)
    desk.service.start(next(iter(desk.scenario.boats)))
    rows(desk, clock, 4, counts(desk, 0), ms)
    assert desk.newest("now")["counting"] is False
    with pytest.raises(OutOfPlace, match="scale works"):
        desk.service.count(5)


def test_items_are_counted_and_the_ruler_read_while_the_scale_is_out(desk, clock, half_way):
    item_g, hold_s = desk.scenario.setup.item.mass_g, desk.scenario.setup.rig.hold_s
    assert desk.newest("now")["counting"] is True
    desk.service.count(5)
    ms = rows(desk, clock, hold_s + 2, silent, half_way)
    desk.service.ruler(12.5)
    desk.service.count(3)
    desk.service.count(-1)
    rows(desk, clock, 1, silent, ms)
    desk.service.sunk()
    rows(desk, clock, 8, silent, ms + 1000)
    done = result(desk)
    assert done.held_items == 15
    assert done.held_g == pytest.approx(15 * item_g, rel=0.01)
    assert [(a.items, a.source.value) for a in done.additions] == [
        (10, "scale"),
        (5, "count"),
        (2, "count"),
    ]
    held = next(point for point in done.curve if point.items == 15)
    assert (held.freeboard_mm, held.method.value) == (12.5, "ruler")
    assert held.load_source.value == "count"
    assert any("scale" in warning.lower() for warning in done.warnings)
    assert sources(done)[0] == "7 of the items aboard were counted by hand, the rest weighed"


def test_a_replay_of_it_is_the_live_result_to_the_last_digit(desk, clock, half_way):
    desk.service.count(5)
    ms = rows(desk, clock, 8, silent, half_way)
    desk.service.stop()
    rows(desk, clock, 1, silent, ms)
    recording = desk.service.recordings(1)
    (again,), _ = replayed([recording], desk.scenario.setup, desk.scenario.boats)
    assert again == result(desk)


def test_when_the_whole_board_is_silent_time_goes_on_by_the_host(desk, clock, half_way):
    """The plug is out for the whole of a hold: ticks, kept like any mark, let it pass."""
    for _ in range(6):
        clock["s"] += 0.5
        desk.service.tick()
    desk.service.count(5)
    for _ in range(round(2 * desk.scenario.setup.rig.hold_s) + 4):
        clock["s"] += 0.5
        desk.service.tick()
    desk.service.stop()
    done = result(desk)
    assert done.held_items == 15
    (again,), _ = replayed([desk.service.recordings(1)], desk.scenario.setup, desk.scenario.boats)
    assert again == done


def test_a_scale_that_comes_back_is_believed_again(desk, clock, half_way):
    item_g = desk.scenario.setup.item.mass_g
    desk.service.count(5)
    ms = rows(desk, clock, 3, silent, half_way)
    ms = rows(desk, clock, 8, counts(desk, 17 * item_g), ms)  # two more than were tapped
    assert desk.newest("now")["counting"] is False
    desk.service.stop()
    done = result(desk)
    assert done.held_items == 17
    assert any("more than was counted" in warning for warning in done.warnings)


@pytest.mark.parametrize("items", [0, 1000, -1000])
def test_a_tap_of_nonsense_is_refused(desk, clock, half_way, items):
    with pytest.raises(RigError, match="cannot be counted"):
        desk.service.count(items)


@pytest.mark.parametrize("mm", [-1.0, 1000.0, float("nan")])
def test_a_ruler_shows_no_nonsense(desk, clock, half_way, mm):
    with pytest.raises(RigError, match="cannot be"):
        desk.service.ruler(mm)
