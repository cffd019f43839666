"""The serial source in a scripted world: what it says, what it waits for, what it accepts."""

import errno
import threading
from itertools import pairwise

import pytest

from rig.sensing.ports import PATIENCE_S, ListedPort, UsbIdentity
from rig.sensing.sentences import Data, Fault, Identity, encode
from rig.sensing.serial_source import PROBATION_S, RETRY_S, STRANGER_S, SerialSource
from rig.sensing.stream import Stream

ACM0, ACM1, ACM2 = "/dev/ttyACM0", "/dev/ttyACM1", "/dev/ttyACM2"
OURS = Identity("rig-board", "1.0", 10.0, (("load", "count"),))
OTHER = Identity("garden-board", "3.1", 10.0, ())
SERIAL = UsbIdentity(0x2E8A, 0x0005, "E6614C")  # invented serial numbers
CHIP = UsbIdentity(0x1A86, 0x7523)  # as a converter chip without one
UNPLUGGED = OSError("read failed: [Errno 5] Input/output error")
# pyserial 3.5, serialposix.py, Serial.read
NO_DATA = OSError(
    "device reports readiness to read but returned no data"
    " (device disconnected or multiple access on port?)"
)
PLUG = "Push the board's USB plug in until it clicks; the trial so far is kept."


def rows(first, last):
    return [encode(Data(n, 100 * n, n, None, None, None)) for n in range(first, last)]


def loads(*chunks):
    stream = Stream()
    items = [item for chunk in chunks for item in stream.feed(chunk)]
    return [item.load_count for item in items if hasattr(item, "load_count")]


# --- what it says ----------------------------------------------------------------------------


def test_bytes_come_out_as_they_came_in(world):
    port = world.plug(ACM0, [b"half a li", b"ne\r\n\x00\xff", *rows(0, 3)])
    source = world.source()
    assert world.run(source, 3) == b"half a line\r\n\x00\xff" + b"".join(rows(0, 3))
    assert not port.script


def test_a_board_that_speaks_is_fine_and_is_named(world):
    world.plug(ACM0, rows(0, 50), OURS)
    source = world.source()
    assert not source.status.ok
    world.run(source, 1)
    assert source.status.ok
    assert source.status.text == f"The board rig-board (1.0) speaks on {ACM0}."


@pytest.mark.parametrize(
    ("error", "text"),
    [
        (OSError(errno.ENOENT, ""), f"{ACM0} is not there. {PLUG}"),
        (OSError(errno.ENXIO, ""), f"{ACM0} is not there. {PLUG}"),
        (OSError(errno.ENODEV, ""), f"{ACM0} is not there. {PLUG}"),
        (OSError(errno.EIO, ""), f"{ACM0} went away. {PLUG}"),
        (
            OSError(errno.EACCES, ""),
            f"This user may not open {ACM0}. Add the user to the group dialout"
            " (sudo usermod -aG dialout $USER), log out and in again.",
        ),
        (
            OSError(errno.EBUSY, ""),
            f"Another program holds {ACM0}. Close that program; the rig then goes on by itself.",
        ),
        (
            OSError(errno.EAGAIN, ""),
            f"Another program holds {ACM0}. Close that program; the rig then goes on by itself.",
        ),
        (
            OSError(errno.ENOTTY, ""),
            f"{ACM0} cannot be opened as a serial port. Put the board's port into the rig file,"
            ' as in source = "serial:/dev/ttyACM0".',
        ),
    ],
)
def test_a_port_that_does_not_open_is_explained_and_tried_again(world, error, text):
    world.ports[ACM0] = error
    source = world.source()
    assert world.run(source, 3) == b""
    assert (source.status.ok, source.status.text) == (False, text)
    gaps = [b[0] - a[0] for a, b in pairwise(world.opened)]
    assert gaps and all(0.2 <= gap <= 1.0 for gap in gaps)
    world.plug(ACM0, rows(0, 9), OURS)
    assert world.run(source, 1)
    assert source.status.ok


@pytest.mark.parametrize(
    ("error", "text"),
    [
        (UNPLUGGED, f"{ACM0} went away. {PLUG}"),
        (
            NO_DATA,
            f"{ACM0} promised data and gave none: its plug came out, or a second program reads"
            " it too. Push the plug in until it clicks; if it is in, close the other program.",
        ),
    ],
)
def test_a_port_that_breaks_off_is_explained_and_opened_again(world, error, text):
    first = world.plug(ACM0, [*rows(0, 2), error, *rows(2, 4)])
    source = world.source()
    got = [source.read(), source.read(), source.read()]
    assert (source.status.ok, source.status.text) == (False, text)
    assert first.closed == 1
    got.append(world.run(source, 1))
    assert b"".join(got) == b"".join(rows(0, 4))
    assert source.status.ok


def test_a_flapping_port_does_not_spin(world):
    world.plug(ACM0, [UNPLUGGED] * 1000)
    world.run(world.source(), 10)
    assert len(world.opened) <= 10 / RETRY_S


def test_a_board_that_falls_silent_is_noticed_within_two_seconds(world):
    world.plug(ACM0, rows(0, 3), OURS)
    source = world.source()
    world.run(source, 0.4)  # all it has to say
    assert source.status.ok
    world.run(source, 1.0)
    assert source.status.ok  # a hiccup is not yet silence
    world.run(source, 1.0 - PATIENCE_S)
    assert source.status.text == (
        f"Nothing from the board on {ACM0} for 1.5 s."
        " Press its reset button; the trial so far is kept."
    )
    assert not source.status.ok


def test_a_board_that_never_speaks_is_silent_too_and_asked_again_and_again(world):
    port = world.plug(ACM0)
    source = world.source()
    world.run(source, 1)
    assert source.status.text == f"{ACM0} is open; waiting for the board to say who it is."
    world.run(source, 8)
    assert source.status.text.startswith(f"Nothing from the board on {ACM0} for 1.5 s.")
    gaps = [b - a for a, b in pairwise(port.asked_s)]
    assert len(gaps) >= 3 and all(1.5 <= gap <= 3 for gap in gaps)


def test_a_silent_board_is_opened_anew_and_the_warning_stays(world):
    world.plug(ACM0)
    source = world.source()
    world.run(source, 3)
    texts = set()
    for _ in range(100):
        world.run(source, 0.25)
        texts.add(source.status.text)
    assert len(texts) == 1 and "Nothing from the board" in texts.pop()
    assert [round(at_s) for at_s, _ in world.opened] == [100, 110, 121]


def test_the_question_is_asked_until_the_identity_has_come_and_no_longer(world):
    port = world.plug(ACM0, rows(0, 60))
    source = world.source()
    world.run(source, 4.5)
    assert len(port.asked_s) == 3
    port.script.appendleft(encode(OURS))
    world.run(source, 4)
    assert len(port.asked_s) == 3


@pytest.mark.parametrize("junk", [b"\x00\xf8\x7f\x80\xfe", b"temp=21.5\r\n", b"$GPGGA*56\r\n"])
def test_bytes_without_a_sentence_are_explained_and_still_handed_out(world, junk):
    port = world.plug(ACM0, [junk] * 40)
    source = world.source()
    got = world.run(source, 2.5)
    assert got == junk * (40 - len(port.script)) and len(got) > 20 * len(junk)
    assert source.status.text == (
        f"What comes from {ACM0} is no sentence of the rig's board. Check that the right board"
        " is plugged in there and that it speaks at 115200 baud."
    )
    assert not source.status.ok


def test_a_fault_sentence_is_a_sign_of_life(world):
    world.plug(ACM0, [encode(Fault("E01", "amplifier silent"))] * 40)
    source = world.source()
    world.run(source, 3)
    assert source.status.ok


# --- unplugged and plugged in again ----------------------------------------------------------


def test_unplugged_and_plugged_in_again_under_the_same_name(world):
    world.plug(ACM0, rows(0, 3), OURS, SERIAL)
    source = world.source()
    got = world.run(source, 1)
    world.unplug(ACM0)
    got += world.run(source, 20)
    assert source.status.text == f"{ACM0} is not there. {PLUG}"
    port = world.plug(ACM0, rows(3, 6), OURS, SERIAL)
    got += world.run(source, 2)
    assert loads(got) == [0, 1, 2, 3, 4, 5]
    assert len(port.asked_s) == 1


@pytest.mark.parametrize("usb", [SERIAL, CHIP, None])
def test_under_another_name_with_the_same_identity(world, usb):
    world.plug(ACM0, rows(0, 3), OURS, usb)
    source = world.source()
    got = world.run(source, 1)
    world.unplug(ACM0)
    # a port without USB identity is never probed, so the third case comes back on a chip
    world.plug(ACM1, rows(3, 60), OURS, usb or CHIP)
    got += world.run(source, 4)
    assert loads(got)[:6] == [0, 1, 2, 3, 4, 5]
    assert source.status.ok and ACM1 in source.status.text


def test_the_boards_own_serial_number_goes_before_the_named_port(world):
    world.plug(ACM0, rows(0, 3), OURS, SERIAL)
    source = world.source()
    world.run(source, 0.5)
    world.unplug(ACM0)
    stranger = world.plug(ACM0, rows(50, 90), OTHER, CHIP)
    world.plug(ACM1, rows(3, 40), OURS, SERIAL)
    assert loads(world.run(source, 2))[:3] == [3, 4, 5]
    assert not stranger.asked_s


def test_before_the_identity_has_come_the_serial_number_alone_is_enough(world):
    world.plug(ACM0, rows(0, 3), None, SERIAL)
    source = world.source()
    world.run(source, 0.5)
    world.unplug(ACM0)
    other = world.plug(ACM1, rows(50, 60), None, CHIP)
    world.plug(ACM2, rows(3, 60), None, SERIAL)
    assert loads(world.run(source, 2))[:3] == [3, 4, 5]
    assert not other.asked_s


def test_while_nothing_is_known_only_the_named_port_is_opened(world):
    world.plug(ACM1, rows(0, 90), OURS, CHIP)
    world.plug(ACM2, rows(0, 90), OURS, SERIAL)
    source = world.source()
    assert world.run(source, 20) == b""
    assert {name for _, name in world.opened} == {ACM0}


def test_another_board_under_another_name_is_not_accepted(world):
    world.plug(ACM0, rows(0, 3), OURS, CHIP)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    world.plug(ACM1, rows(50, 900), OTHER, CHIP)
    assert world.run(source, 30) == b""
    assert source.status.text == f"{ACM0} is not there. {PLUG}"
    asked_s = [at_s for at_s, name in world.opened if name == ACM1]
    assert 2 <= len(asked_s) <= 1 + 30 / STRANGER_S  # opening resets many boards: rarely, then


def test_another_board_under_the_named_port_is_not_accepted_and_is_named(world):
    world.plug(ACM0, rows(0, 3), OURS, SERIAL)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    world.plug(ACM0, rows(50, 900), OTHER, CHIP)
    assert world.run(source, 15) == b""
    assert source.status.text == (
        f'The board on {ACM0} calls itself "garden-board"; this rig began with "rig-board".'
        " Plug that one in again, or stop the rig and start it anew."
    )
    world.unplug(ACM0)
    world.run(source, 1)
    world.plug(ACM0, rows(3, 90), OURS, CHIP)
    assert loads(world.run(source, 1.5))[:3] == [3, 4, 5]


def test_a_replacement_of_the_same_name_is_accepted_with_every_byte_it_said(world):
    world.plug(ACM0, rows(0, 3), OURS, SERIAL)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    port = world.plug(ACM1, rows(3, 40), None, UsbIdentity(0x2E8A, 0x0005, "another"))
    port.script.insert(20, encode(OURS))  # it answers only after two seconds
    got = world.run(source, 3)
    assert loads(got)[:24] == list(range(3, 27))


def test_a_named_port_that_speaks_but_does_not_say_its_name_passes_in_the_end(world):
    world.plug(ACM0, rows(0, 3), OURS, CHIP)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    world.plug(ACM0, rows(3, 90), None, CHIP)
    assert world.run(source, PROBATION_S - 0.5) == b""
    assert loads(world.run(source, 2))[:40] == list(range(3, 43))


def test_a_silent_stranger_is_left_again(world):
    world.plug(ACM0, rows(0, 3), OURS, CHIP)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    silent = world.plug(ACM1, [], None, CHIP)
    world.run(source, PROBATION_S - 0.5)
    assert source.status.text == f"{ACM0} is not there. {PLUG}"
    world.run(source, 1.5)
    assert silent.closed == 1 and len(silent.asked_s) == 3


def test_the_named_port_coming_back_ends_the_probation_of_a_stranger(world):
    world.plug(ACM0, rows(0, 3), OURS, SERIAL)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    stranger = world.plug(ACM1, [], None, CHIP)
    world.run(source, 1)
    assert stranger.asked_s and not stranger.closed
    world.plug(ACM0, rows(3, 60), OURS, SERIAL)
    assert loads(world.run(source, 1))[:3] == [3, 4, 5]
    assert stranger.closed


def test_a_port_soldered_in_is_never_probed(world):
    world.plug(ACM0, rows(0, 3), OURS, CHIP)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    console = world.plug("/dev/ttyAMA0", [], OURS, None)
    world.run(source, 20)
    assert not console.asked_s


def test_a_busy_candidate_does_not_hide_what_is_wrong(world):
    world.plug(ACM0, rows(0, 3), OURS, CHIP)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    world.ports[ACM1] = OSError(errno.EBUSY, "")
    world.listing = [ListedPort(ACM1, CHIP)]
    world.run(source, 5)
    assert source.status.text == f"{ACM0} is not there. {PLUG}"


def test_a_torn_line_does_not_run_into_the_first_bytes_of_the_next_connection(world):
    old, new = rows(3, 4)[0], rows(9, 10)[0]
    world.plug(ACM0, [*rows(0, 3), old[:9], UNPLUGGED, new[5:], *rows(10, 12)])
    source = world.source()
    got = world.run(source, 3)
    assert old[:9] + b"\n" + new[5:] in got
    stream = Stream()
    stream.feed(got)
    assert stream.count.skipped == {"not a whole sentence": 2}
    assert loads(got) == [0, 1, 2, 10, 11]


@pytest.mark.parametrize("usb", [SERIAL, CHIP])
def test_the_port_dying_at_each_line_of_a_trial_loses_no_line(world, usb):
    trial = rows(0, 12)
    for at in range(len(trial) + 1):
        world.reset()
        world.plug(ACM0, trial[:at], OURS, usb)
        source = world.source()
        got = world.run(source, 2)
        world.unplug(ACM0)
        world.plug(ACM1, trial[at:], OURS, usb)
        got += world.run(source, 6)
        assert loads(got) == list(range(12)), at


def test_the_port_dying_again_while_it_is_on_probation_loses_no_line(world):
    world.plug(ACM0, rows(0, 3), OURS, CHIP)
    source = world.source()
    got = world.run(source, 1)
    world.unplug(ACM0)
    world.plug(ACM0, [*rows(3, 6), UNPLUGGED, *rows(6, 9), UNPLUGGED, *rows(9, 12)], None, CHIP)
    got += world.run(source, 10)
    assert loads(got) == list(range(12))


def test_with_the_boards_own_serial_number_nothing_is_held_back(world):
    world.plug(ACM0, rows(0, 3), OURS, SERIAL)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    world.plug(ACM1, rows(3, 60), None, SERIAL)
    assert loads(world.run(source, 1.5))[:3] == [3, 4, 5]


def test_the_board_may_get_another_name_by_new_firmware(world):
    world.plug(ACM0, rows(0, 3), OURS, SERIAL)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    world.plug(ACM0, rows(3, 60), OTHER, SERIAL)
    assert loads(world.run(source, 1.5))[:3] == [3, 4, 5]
    assert "garden-board (3.1)" in source.status.text


def test_a_board_that_says_another_name_later_is_refused_and_named(world):
    world.plug(ACM0, rows(0, 3), OURS, CHIP)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    world.plug(ACM1, [*rows(3, 13), encode(OTHER), *rows(13, 60)], OURS, CHIP)
    got, texts, end_s = b"", [], world.now_s + 4
    while world.now_s < end_s:
        got += source.read()
        texts.append(source.status.text)
    assert loads(got) == list(range(3, 13))
    assert any(text.startswith(f'The board on {ACM1} calls itself "garden') for text in texts)
    assert texts[-1] == f"{ACM0} is not there. {PLUG}"


def test_after_silence_and_a_new_plug_the_silence_is_over(world):
    world.plug(ACM0, rows(0, 3))
    source = world.source()
    world.run(source, 4)
    assert "Nothing from the board" in source.status.text
    world.unplug(ACM0)
    world.run(source, 2)
    world.plug(ACM0)
    world.run(source, 1)
    assert source.status.text == f"{ACM0} is open; waiting for the board to say who it is."


def test_a_silent_named_port_is_opened_anew_soon_after_its_probation(world):
    world.plug(ACM0, rows(0, 3), OURS, CHIP)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    world.plug(ACM0, [], None, CHIP)
    world.opened.clear()
    world.run(source, 13)
    assert len(world.opened) == 3
    assert "Nothing from the board" in source.status.text


def test_the_usb_identity_is_kept_while_the_system_cannot_list_its_ports(world):
    world.plug(ACM0, rows(0, 3), OURS, SERIAL)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    world.plug(ACM0, rows(3, 6), OURS, None)  # the listing tells nothing of it
    world.run(source, 2)
    world.unplug(ACM0)
    world.plug(ACM1, rows(6, 60), None, SERIAL)
    assert loads(world.run(source, 2))[:3] == [6, 7, 8]


def test_a_question_that_cannot_be_sent_does_not_end_the_connection(world):
    port = world.plug(ACM0, rows(0, 9))

    def stuck(data):
        raise OSError("Write timeout")

    port.write = stuck
    source = world.source()
    assert loads(world.run(source, 2)) == list(range(9))
    assert source.status.ok


def test_strangers_wait_until_the_named_port_has_been_tried_again(world):
    world.plug(ACM0, rows(0, 3), OURS, CHIP)
    source = world.source()
    world.run(source, 1)
    stranger = world.plug(ACM1, [], None, CHIP)
    for first in (3, 60):
        world.unplug(ACM0)
        world.plug(ACM0, rows(first, first + 3), OURS, CHIP)
        assert loads(world.run(source, 2))[:2] == [first, first + 1]
    assert not stranger.asked_s


def test_the_named_port_does_not_wait_behind_a_second_stranger(world):
    world.plug(ACM0, rows(0, 3), OURS, CHIP)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    first, second = world.plug(ACM1, [], None, CHIP), world.plug(ACM2, [], None, CHIP)
    world.run(source, 1.5)
    assert first.asked_s
    world.plug(ACM0, rows(3, 60), OURS, CHIP)
    assert loads(world.run(source, 1))[:2] == [3, 4]
    assert first.closed and not second.asked_s


def test_a_second_stranger_does_not_end_the_probation_of_the_first(world):
    world.plug(ACM0, rows(0, 3), OURS, CHIP)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    first = world.plug(ACM1, [], None, CHIP)
    world.run(source, 1.5)
    world.plug(ACM2, [], None, CHIP)
    world.run(source, 1)
    assert first.asked_s and not first.closed


def test_a_stranger_that_breaks_off_does_not_hide_what_is_wrong(world):
    world.plug(ACM0, rows(0, 3), OURS, CHIP)
    source = world.source()
    world.run(source, 1)
    world.unplug(ACM0)
    stranger = world.plug(ACM1, [], None, CHIP)
    world.run(source, 1.5)
    world.unplug(ACM1)
    texts = set()
    while not stranger.closed:
        source.read()
        texts.add(source.status.text)
    assert texts == {f"{ACM0} is not there. {PLUG}"}


# --- closing ---------------------------------------------------------------------------------


def test_close_lets_go_of_the_port_and_may_be_called_twice(world):
    port = world.plug(ACM0, rows(0, 9))
    source = world.source()
    source.read()
    source.close()
    source.close()
    assert port.closed == 1
    assert source.read() == b"" and len(world.opened) == 1
    assert source.status.text == f"{ACM0} is closed."


def test_close_before_the_first_read(world):
    source = world.source()
    source.close()
    assert source.read() == b"" and world.opened == []


def test_a_link_such_as_by_id_is_the_port_it_points_to(world, tmp_path):
    real, link = tmp_path / "ttyACM0", tmp_path / "by-id"
    real.touch()
    link.symlink_to(real)
    world.ports[str(link)] = world.plug(str(real), rows(0, 3), OURS, SERIAL)
    source = world.source(str(link))
    world.run(source, 1)
    world.unplug(str(real))
    world.unplug(str(link))
    world.plug(ACM1, rows(3, 60), None, SERIAL)  # known again by the number it had behind the link
    world.run(source, 2)
    assert source.status.ok and ACM1 in source.status.text


def test_close_from_another_thread_ends_a_wait_of_a_port_that_is_not_there():
    source = SerialSource("/dev/no-such-port", list_ports=list)
    reads = []
    reader = threading.Thread(target=lambda: reads.extend(source.read() for _ in range(3)))
    source.read()
    reader.start()
    source.close()
    reader.join(timeout=10)
    assert not reader.is_alive() and reads == [b""] * 3
