"""The serial source through a real line discipline: pseudo-terminals, opened by pyserial.

Only the clock and the list of ports are invented. Boards answer and send at the moments the
source opens, asks and reads, so that no thread and no waiting is needed.
"""

import os
import termios
import threading
import time
from contextlib import suppress

import pytest
from serial.tools.list_ports_common import ListPortInfo

from rig.sensing.framing import LineSplitter, Rejected, body_of
from rig.sensing.ports import ListedPort, SystemPort, UsbIdentity, list_ports
from rig.sensing.sentences import Data, Identity, Query, decode, encode
from rig.sensing.serial_source import SerialSource
from rig.sensing.stream import Sample, Stream

CHIP = UsbIdentity(0x1A86, 0x7523)
WITH_NUMBER = UsbIdentity(0x2E8A, 0x0005, "E6614C")  # an invented serial number
OURS = Identity("rig-board", "1.0", 10.0, (("load", "count"),))
OTHER = Identity("garden-board", "3.1", 10.0, ())
DEADLINE_S = 20  # against hanging only


def rows(first, last):
    return [encode(Data(n, 100 * n, n, None, None, None)) for n in range(first, last)]


class Board:
    """The far end of a pseudo-terminal: answers the question, sends one chunk at a time."""

    def __init__(self, identity=None, usb=None, chunks=()):
        self.master, slave = os.openpty()
        self.name, self.usb = os.ttyname(slave), usb
        os.close(slave)
        os.set_blocking(self.master, False)
        self.identity, self.chunks, self.asked = identity, list(chunks), 0
        self._splitter = LineSplitter()
        self.plugged = True

    def step(self):
        """Answer what was asked; if nothing was, send the next chunk."""
        try:
            heard = os.read(self.master, 1000)
        except OSError:  # nothing was said
            heard = b""
        for line in self._splitter.feed(heard):
            body = body_of(line)
            assert not isinstance(body, Rejected) and decode(body) == Query()
            self.asked += 1
            if self.identity:
                os.write(self.master, encode(self.identity))
        if not heard and self.chunks:
            os.write(self.master, self.chunks.pop(0))

    def unplug(self):
        if self.plugged:
            os.close(self.master)
        self.plugged = False


class Bench:
    """Boards on ports, and a clock that waits for nobody."""

    def __init__(self):
        self.boards: dict[str, Board] = {}
        self.ahead_s = 0.0

    def plug(self, *args, **kwargs) -> Board:
        board = Board(*args, **kwargs)
        self.boards[board.name] = board
        return board

    def unplug(self, board):
        board.unplug()
        del self.boards[board.name]

    def open(self, name):
        bench = self

        class Wired(SystemPort):
            def read(self):
                if name in bench.boards:
                    bench.boards[name].step()
                return super().read()

        return Wired(name)

    def listing(self):
        return [ListedPort(board.name, board.usb) for board in self.boards.values()]

    def skip(self, seconds):
        self.ahead_s += seconds

    def source(self, name):
        return SerialSource(
            name,
            open_port=self.open,
            list_ports=self.listing,
            monotonic=lambda: time.monotonic() + self.ahead_s,
            sleep=self.skip,
        )


@pytest.fixture
def bench():
    bench = Bench()
    yield bench
    for board in bench.boards.values():
        board.unplug()


def read_until(source, done) -> bytes:
    """Read until what has come so far satisfies `done`."""
    got, end_s = b"", time.monotonic() + DEADLINE_S
    while not done(got):
        assert time.monotonic() < end_s, (got, source.status)
        got += source.read()
    return got


def items(*chunks):
    stream = Stream()
    got = [item for chunk in chunks for item in stream.feed(chunk)]
    return [item.load_count for item in got if isinstance(item, Sample)], stream.count


def test_it_reads_what_the_board_sends_and_learns_who_it_is(bench):
    board = bench.plug(OURS, chunks=rows(0, 5))
    source = bench.source(board.name)
    got = read_until(source, lambda got: got.endswith(rows(4, 5)[0]))
    assert got == encode(OURS) + b"".join(rows(0, 5))
    assert board.asked == 1
    assert source.status.text == f"The board rig-board (1.0) speaks on {board.name}."
    source.close()


def test_every_byte_value_passes_the_line_discipline(bench):
    raw = bytes(range(256)) * 3
    board = bench.plug(chunks=[raw])
    source = bench.source(board.name)
    assert read_until(source, lambda got: len(got) >= len(raw)) == raw
    source.close()


@pytest.mark.parametrize("usb", [WITH_NUMBER, CHIP])
def test_it_goes_on_when_the_board_comes_back_under_another_name(bench, usb):
    old = bench.plug(OURS, usb, rows(0, 5))
    source = bench.source(old.name)
    got = read_until(source, lambda got: got.endswith(rows(4, 5)[0]))
    new = bench.plug(OURS, usb, rows(5, 10))
    assert new.name != old.name
    bench.unplug(old)
    got += read_until(source, lambda got: got.endswith(rows(9, 10)[0]))
    loads, count = items(got)
    assert loads == list(range(10))
    assert (count.lost, sum(count.skipped.values())) == (0, 0)
    assert source.status.ok and new.name in source.status.text
    source.close()


def test_another_boards_identity_is_not_accepted(bench):
    old = bench.plug(OURS, CHIP, rows(0, 2))
    source = bench.source(old.name)
    read_until(source, lambda got: got.endswith(rows(1, 2)[0]))
    other = bench.plug(OTHER, CHIP, rows(50, 90))
    bench.unplug(old)
    end_s = time.monotonic() + DEADLINE_S
    while not other.asked:
        assert source.read() == b"" and time.monotonic() < end_s
    for _ in range(20):
        assert source.read() == b""
    assert source.status.text.startswith(f"{old.name} is not there.")
    bench.plug(OURS, CHIP, rows(2, 4))
    got = read_until(source, lambda got: got.endswith(rows(3, 4)[0]))
    assert items(got)[0] == [2, 3]
    source.close()


@pytest.mark.parametrize("usb", [WITH_NUMBER, CHIP])
def test_the_port_dying_at_each_line_of_a_trial_loses_no_line_received_whole(bench, usb):
    trial = rows(0, 6)
    for at in range(1, len(trial)):
        half = trial[at][:8]
        old = bench.plug(OURS, usb, [*trial[:at], half])
        source = bench.source(old.name)
        got = read_until(source, lambda got, half=half: got.endswith(half))
        new = bench.plug(OURS, usb, trial[at + 1 :] or [encode(OURS)])
        bench.unplug(old)
        last = trial[at + 1 :][-1:] or [encode(OURS)]
        got += read_until(source, lambda got, last=last: got.endswith(last[0]))
        loads, count = items(got)
        assert loads == [n for n in range(6) if n != at], at  # the torn one only
        assert count.skipped == {"not a whole sentence": 1}
        assert count.lost == (1 if at < 5 else 0)
        source.close()
        bench.unplug(new)


def test_a_silent_board_and_garbage_are_explained(bench):
    board = bench.plug()
    source = bench.source(board.name)
    assert source.read() == b""
    bench.skip(1.6)  # with a read of 0.25 s that is below 2 s
    assert source.read() == b""
    assert source.status.text.startswith(f"Nothing from the board on {board.name} for 1.5 s.")
    board.chunks = [b"\xff\x00\xfe" * 5]
    assert read_until(source, lambda got: len(got) == 15)
    assert source.status.text.startswith(f"What comes from {board.name} is no sentence")
    source.close()


def test_unplugging_is_noticed_and_explained(bench):
    board = bench.plug(OURS, chunks=rows(0, 1))
    source = bench.source(board.name)
    read_until(source, lambda got: got.endswith(rows(0, 1)[0]))
    bench.unplug(board)
    assert source.read() == b""
    assert not source.status.ok and "Push the" in source.status.text
    for _ in range(5):
        assert source.read() == b""
    assert source.status.text == (
        f"{board.name} is not there."
        " Push the board's USB plug in until it clicks; the trial so far is kept."
    )
    source.close()


def test_a_port_held_by_another_program_is_explained_and_taken_when_it_is_free(bench):
    board = bench.plug(OURS, chunks=rows(0, 1))
    holder = SystemPort(board.name)
    source = bench.source(board.name)
    source.read()
    assert source.status.text == (
        f"Another program holds {board.name}. Close that program; the rig then goes on by itself."
    )
    holder.close()
    assert read_until(source, lambda got: got.endswith(rows(0, 1)[0]))
    source.close()
    SystemPort(board.name).close()  # and let go of again


@pytest.mark.parametrize("path", ["/dev/null", "/", "/etc/hostname\0"])
def test_what_is_no_serial_port_is_explained(bench, path):
    source = bench.source(path)
    assert source.read() == b""
    assert source.status.text.startswith(f"{path} cannot be opened as a serial port.")


@pytest.fixture
def as_nobody():
    """The superuser may open every port; for this test it steps down."""
    user = os.geteuid()
    if user == 0:
        os.seteuid(65534)
    yield
    os.seteuid(user)


def test_a_port_this_user_may_not_open_is_explained(bench, request):
    board = bench.plug()
    os.chmod(board.name, 0)
    request.getfixturevalue("as_nobody")
    source = bench.source(board.name)
    source.read()
    assert source.status.text == (
        f"This user may not open {board.name}. Add the user to the group dialout"
        " (sudo usermod -aG dialout $USER), log out and in again."
    )


def test_a_port_that_goes_while_it_is_opened_went_away(bench, monkeypatch):
    board = bench.plug()

    def gone(fd):  # pyserial 3.5 hides the number of this one
        raise termios.error(5, "Input/output error")

    monkeypatch.setattr(termios, "tcgetattr", gone)
    source = bench.source(board.name)
    source.read()
    assert source.status.text.startswith(f"{board.name} went away.")


def test_closing_throws_away_what_was_not_sent(bench):
    """Else the system waits up to 30 s for a board that does not take it (Linux closing_wait)."""
    board = bench.plug()
    port = SystemPort(board.name)
    did = []

    class Watched:
        def reset_output_buffer(self):
            did.append("thrown away")
            raise termios.error(5, "Input/output error")

        def close(self):
            did.append("closed")

    port._serial.close()
    port._serial = Watched()
    port.close()
    assert did == ["thrown away", "closed"]


def test_close_from_another_thread_while_a_read_waits():
    board = Board()
    source = SerialSource(board.name, list_ports=list)
    first_read, ended = threading.Event(), threading.Event()

    def read_on():
        while not ended.is_set():
            source.read()
            first_read.set()

    reader = threading.Thread(target=read_on)
    reader.start()
    assert first_read.wait(DEADLINE_S)
    closer = threading.Thread(target=source.close)
    closer.start()
    closer.join(DEADLINE_S)
    assert not closer.is_alive()
    ended.set()
    reader.join(DEADLINE_S)
    assert not reader.is_alive()
    source.close()
    SystemPort(board.name).close()  # nobody holds it any more
    board.unplug()


def test_the_systems_list_gives_names_and_usb_identities(monkeypatch):
    found = [ListPortInfo(name) for name in ("/dev/ttyACM0", "/dev/ttyUSB0", "/dev/ttyAMA0")]
    found[0].vid, found[0].pid, found[0].serial_number = 0x2E8A, 0x0005, "E6614C"
    found[1].vid, found[1].pid, found[1].serial_number = 0x1A86, 0x7523, ""
    monkeypatch.setattr("rig.sensing.ports.pyserial_list.comports", lambda: found)
    assert list_ports() == [
        ListedPort("/dev/ttyACM0", WITH_NUMBER),
        ListedPort("/dev/ttyUSB0", CHIP),
        ListedPort("/dev/ttyAMA0", None),
    ]


def test_a_device_that_goes_while_the_list_is_made_gives_an_empty_list(monkeypatch):
    def going():
        int(None, 16)  # what pyserial 3.5 does when idVendor has just vanished from sysfs

    monkeypatch.setattr("rig.sensing.ports.pyserial_list.comports", going)
    assert list_ports() == []


def test_a_port_that_dies_between_first_byte_and_rest_keeps_the_first(bench):
    board = bench.plug()
    port = SystemPort(board.name)

    class Dying:
        def read(self, size):
            return b"$"

        @property
        def in_waiting(self):
            raise OSError(5, "Input/output error")

    serial, port._serial = port._serial, Dying()
    assert port.read() == b"$"
    port._serial = serial
    port.close()
    with suppress(OSError):
        port.close()
    with pytest.raises(OSError):
        port.read()
