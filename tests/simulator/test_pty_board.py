"""The simulated board on a real pseudo-terminal, read by pyserial.

Every loop has a deadline in seconds of this machine, only so that a fault cannot hang the tests.
"""

import os
import tty
from collections.abc import Callable, Iterator
from itertools import pairwise
from threading import Event
from time import monotonic

import pytest
import serial

from rig.sensing.sentences import Identity
from rig.sensing.stream import Sample, Stream, StreamItem
from rig.simulator.conditions import Fate
from rig.simulator.hands import Plan
from rig.simulator.pty_board import PtyBoard

PATIENCE_S = 20.0


@pytest.fixture
def board(setup, still) -> Iterator[PtyBoard]:
    with PtyBoard(setup, still, seed=1, speed=30) as board:
        yield board


def until(done: Callable[[], bool]) -> None:
    """Look again every few milliseconds until it is so."""
    pause, deadline = Event(), monotonic() + PATIENCE_S
    while not done():
        assert monotonic() < deadline, "waited too long"
        pause.wait(0.005)


def read(port: serial.Serial, stream: Stream, enough: Callable[[list[StreamItem]], bool]):
    """Return the items read until there are enough of them."""
    items: list[StreamItem] = []
    deadline = monotonic() + PATIENCE_S
    while not enough(items):
        assert monotonic() < deadline, "waited too long"
        items += stream.feed(port.read(port.in_waiting or 1))
    return items


def samples(items: list[StreamItem]) -> list[Sample]:
    return [item for item in items if isinstance(item, Sample)]


def opened(board: PtyBoard) -> serial.Serial:
    return serial.Serial(board.path, 115200, timeout=0.2)


def test_pyserial_reads_well_formed_rows_in_step(board):
    stream = Stream()
    with opened(board) as port:
        items = read(port, stream, lambda items: len(samples(items)) >= 100)
    assert sum(stream.count.skipped.values()) <= 1  # opening may cut the first line
    assert stream.count.lost == 0
    rows = samples(items)
    assert {b.at_ms - a.at_ms for a, b in pairwise(rows)} == {100}
    assert {row.surface_raw for row in rows} == {280_000}


def test_the_line_is_raw_before_anybody_has_set_it(board):
    reader = os.open(board.path, os.O_RDWR | os.O_NOCTTY)
    heard = b""
    while heard.count(b"\n") < 5:  # the board talks, so this ends
        heard += os.read(reader, 4096)
    os.close(reader)
    assert heard.count(b"\r\n") == heard.count(b"\n")


def test_it_answers_the_query(board):
    stream = Stream()
    with opened(board) as port:
        read(port, stream, lambda items: len(samples(items)) >= 3)  # its greeting is past
        port.write(b"$PTRGQ,I*25\r\n")
        items = read(port, stream, lambda items: any(isinstance(i, Identity) for i in items))
    identity = next(item for item in items if isinstance(item, Identity))
    assert identity.rate_hz == 10
    assert dict(identity.units) == {
        "load": "count",
        "surface": "um",
        "rim": "um",
        "water": "mC",
    }


def on_the_floor(items: list[StreamItem]) -> bool:
    """The rim gauge sees the flag of a hull 30 mm deep that lies on the floor."""
    return any(row.rim_raw == (420 - 60 - 30) * 1000 for row in samples(items))


def test_a_boat_goes_down_on_the_line(board, boat):
    stream = Stream()
    with opened(board) as port:
        board.place_boat(boat, Fate(heels_at_g=40.0))
        board.load_with(Plan(then=(2.0, 5)))
        rows = samples(read(port, stream, on_the_floor))
    # the fourth addition heels it
    assert rows[0].load_count - rows[-1].load_count == 20 * 2.5 * 430
    until(lambda: board.idle_s > 0)
    assert board.now_s > 10


def test_taking_everything_out_leaves_bare_water(board, boat):
    board.place_boat(boat)
    board.take_everything_out()
    stream = Stream()
    with opened(board) as port:
        rows = samples(read(port, stream, lambda items: len(samples(items)) >= 2))
    assert rows[-1].rim_raw == (420 - 120) * 1000


def test_a_dead_sensor_is_silent_until_everything_is_taken_out(board, boat):
    board.place_boat(boat)
    stream = Stream()
    with opened(board) as port:
        board.fall_ill("rim")
        read(port, stream, lambda items: any(s.rim_raw is None for s in samples(items)))
        board.take_everything_out()
        read(port, stream, lambda items: any(s.rim_raw is not None for s in samples(items)))


def test_nobody_reads_for_long_and_only_whole_lines_are_lost(setup, still):
    """The line's buffer holds some seconds; the board goes on, and the numbers show the gap."""
    with PtyBoard(setup, still, speed=1500) as board:
        until(lambda: board.now_s > 600)  # 6000 rows, 300 kB
        reader = os.open(board.path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
        tty.setraw(reader, when=0)  # TCSANOW: keep what is waiting; pyserial would flush it
        stream = Stream()
        deadline = monotonic() + PATIENCE_S
        while stream.count.lost == 0:
            assert monotonic() < deadline, "waited too long"
            try:
                stream.feed(os.read(reader, 65536))
            except BlockingIOError:
                continue
        os.close(reader)
    assert stream.count.data > 20
    assert stream.count.lost > 1000
    assert not stream.count.skipped


def test_unplugged_it_is_gone_and_comes_back_under_another_name(board):
    port, old_path = opened(board), board.path
    stream = Stream()
    read(port, stream, lambda items: len(samples(items)) >= 5)
    board.unplug()
    board.unplug()
    with pytest.raises(OSError):  # SerialException is one
        read(port, stream, lambda _: False)
    port.close()
    before_s = board.now_s
    until(lambda: board.now_s > before_s + 1)  # tub and hands go on
    board.plug_in()
    board.plug_in()
    assert board.path != old_path
    stream = Stream()
    with opened(board) as port:
        port.write(b"$PTRGQ,I*25\r\n")
        items = read(port, stream, lambda items: any(isinstance(i, Identity) for i in items))
        items += read(port, stream, lambda items: len(samples(items)) >= 3)
    assert stream.last_ms < 1000 * (board.now_s - before_s)  # its clock began anew


def test_after_many_replugs_no_descriptor_is_left_open(board):
    def open_files() -> int:
        return len(os.listdir("/proc/self/fd"))

    before = open_files()
    for _ in range(20):
        board.unplug()
        board.plug_in()
    assert open_files() == before


def test_close_twice_and_plug_in_after_it_does_nothing(setup, still):
    board = PtyBoard(setup, still)
    path = board.path
    board.close()
    board.close()
    board.plug_in()
    assert board.path == path
    assert not os.path.exists(path)


def test_speed_must_be_above_zero(setup):
    with pytest.raises(ValueError, match="speed"):
        PtyBoard(setup, speed=0)
