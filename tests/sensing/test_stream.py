"""From bytes to time-stamped items: nothing lost in silence, whatever the wire does."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.sensing.framing import BAD_CHARACTER, BAD_CHECKSUM, MAX_LINE, TOO_LONG, TORN, checksum
from rig.sensing.sentences import (
    BAD_FIELD,
    MAX_PARTS,
    MORE,
    NOT_OURS,
    Data,
    Fault,
    Identity,
    Mark,
    Query,
    encode,
)
from rig.sensing.stream import REPEATED, UNFINISHED, OperatorMark, Sample, Stream

REASONS = {
    *(BAD_CHARACTER, BAD_CHECKSUM, TOO_LONG, TORN),
    *(BAD_FIELD, NOT_OURS, REPEATED, UNFINISHED),
}
SEQ, MS = 2**16, 2**32


def row(seq: int, ms: int, load: int | None = 1) -> bytes:
    return encode(Data(seq, ms, load, None, None, None))


def mark(ms: int, word: str = "start", text: str = "") -> bytes:
    return encode(Mark(ms, word, text))


def run(*chunks: bytes):
    stream = Stream()
    items = [item for chunk in chunks for item in stream.feed(chunk)]
    return items + stream.finish(), stream.count


def times(items) -> list[int]:
    return [item.at_ms for item in items]


def without_end(ms: int, text: str) -> bytes:
    lines = mark(ms, "note", text)
    return lines[: lines.rindex(b"$")]


wire = st.lists(
    st.one_of(
        st.binary(max_size=100),
        st.sampled_from([b"$", b"*", b"\r\n", b"\r" * 90, encode(Query()), b"$GPGGA*56\r\n"]),
        st.builds(row, st.integers(0, 20), st.integers(0, 3000)),
        st.builds(row, st.integers(SEQ - 3, SEQ - 1), st.integers(MS - 900_000, MS - 1)),
        st.builds(row, st.integers(0, 20), st.integers(0, 3000)).map(lambda line: line[:-6]),
        st.builds(mark, st.integers(0, 9000), text=st.text(max_size=40)),
        st.builds(without_end, st.integers(0, 9000), st.text(min_size=90, max_size=99)),
        st.just(encode(Identity("b", "1", 80.0, ()))),
        st.just(encode(Fault("E01", "amplifier silent"))),
    ),
    max_size=15,
).map(b"".join)


@given(wire, st.lists(st.integers(0, 3000), max_size=10))
def test_items_and_counts_do_not_depend_on_the_chunks(data, cuts):
    whole = run(data)
    assert run(*(data[i : i + 1] for i in range(len(data)))) == whole
    edges = [0, *sorted(cut % (len(data) + 1) for cut in cuts), len(data)]
    assert run(*(data[a:b] for a, b in pairwise(edges))) == whole


@given(wire)
def test_counts_are_honest(data):
    items, count = run(data)
    assert count.data == sum(isinstance(item, Sample) for item in items)
    assert set(count.skipped) <= REASONS
    assert count.lost >= 0
    assert count.as_dict() == {
        "data": count.data,
        "skipped": dict(count.skipped),
        "lost": count.lost,
    }


@given(wire)
def test_the_samples_never_go_back_in_time(data):
    samples = [item for item in run(data)[0] if isinstance(item, Sample)]
    assert times(samples) == sorted(times(samples))


@given(st.binary(min_size=1, max_size=300).filter(lambda data: data.strip(b"\r\n")))
def test_bytes_that_are_no_sentence_are_counted(data):
    items, count = run(data)
    assert items or sum(count.skipped.values()) > 0


def test_each_reason_is_counted_under_its_own_name():
    def framed(body: bytes) -> bytes:
        return b"$" + body + b"*" + checksum(body) + b"\r\n"

    wire = {
        TORN: b"rubbish\r\n" + row(1, 2)[:9],
        BAD_CHECKSUM: row(1, 2).replace(b"*", b"1*"),
        TOO_LONG: framed(b"x" * (MAX_LINE - 5)),
        BAD_CHARACTER: framed(b"PTRGF,E01,\x07"),
        NOT_OURS: framed(b"GPGGA,1"),
        BAD_FIELD: framed(b"PTRGD,1,2,x,,,"),
        REPEATED: row(5, 100) * 2,
        UNFINISHED: mark(1, "note", "x" * 100).splitlines(keepends=True)[0],
    }
    assert set(wire) == REASONS
    items, count = run(*wire.values())
    assert count.skipped == {**dict.fromkeys(REASONS, 1), TORN: 2}
    assert len(items) == 1


def test_a_stream_holds_a_line_and_one_mark_at_most():
    stream = Stream()
    part = encode(Mark(5, "note", "x" * 100)).splitlines(keepends=True)[0]
    for _ in range(10 * MAX_PARTS):
        stream.feed(part)
    for number in range(1000):
        stream.feed(row(number, number))
    sizes = {name: len(value) for name, value in vars(stream).items() if hasattr(value, "__len__")}
    assert sizes == {"_recent": 64, "_parts": MAX_PARTS}
    assert stream.count.skipped[UNFINISHED] == 9 * MAX_PARTS


def test_rows_stand_on_a_time_line_from_the_first():
    items, count = run(row(10, 5000), row(11, 5100), row(12, 5250))
    assert times(items) == [0, 100, 250]
    assert (count.data, count.lost, sum(count.skipped.values())) == (3, 0, 0)
    assert not any(item.restarted for item in items)


def test_the_32_bit_clock_and_the_16_bit_sequence_wrap_in_silence():
    items, count = run(row(SEQ - 2, MS - 150), row(SEQ - 1, MS - 50), row(0, 50), row(1, 150))
    assert times(items) == [0, 100, 200, 300]
    assert (count.lost, any(item.restarted for item in items)) == (0, False)


def test_a_clock_that_goes_back_is_a_wrap_within_ten_minutes_and_a_restart_beyond():
    wrapped, _ = run(row(0, MS - 599_999), row(1, 1))
    assert (times(wrapped), wrapped[1].restarted) == ([0, 600_000], False)
    restarted, _ = run(row(0, MS - 600_000), row(1, 1))
    assert (times(restarted), restarted[1].restarted) == ([0, 1], True)


def test_lost_rows_are_counted_also_across_the_wrap():
    _, count = run(row(7, 100), row(10, 400), row(SEQ - 1, 500), row(2, 600))
    assert count.lost == 2 + (SEQ - 1 - 10 - 1) + 2


def test_a_repeated_row_is_counted_once_as_row_and_once_as_repeat():
    items, count = run(row(1, 100), row(2, 200), row(1, 100), row(2, 200), row(3, 300))
    assert times(items) == [0, 100, 200]
    assert (count.data, count.lost, count.skipped[REPEATED]) == (3, 0, 2)


def test_the_same_number_again_is_no_loss_of_65535_rows():
    _, count = run(row(2, 200), mark(200), row(2, 200), row(3, 300))
    assert count.lost == 0


def test_a_torn_row_costs_itself_only():
    first, second, third = row(1, 100), row(2, 200), row(3, 300)
    for cut in range(1, len(second) - 2):
        items, count = run(first + second[:cut] + third)
        assert times(items) == [0, 200], cut
        assert (count.lost, sum(count.skipped.values())) == (1, 1), cut
    items, _ = run(first + second[:-2] + third)  # only its line end is missing: it is whole
    assert times(items) == [0, 100, 200]


def test_a_board_that_restarts_is_marked_and_loses_nothing():
    items, count = run(row(500, 60_000), row(501, 60_100), row(0, 300), row(1, 400))
    assert times(items) == [0, 100, 400, 500]  # 300 ms since it came up: the least gap there was
    assert [item.restarted for item in items] == [False, False, True, False]
    assert (count.data, count.lost) == (4, 0)


def test_a_restarted_board_may_say_the_same_numbers_again():
    items, count = run(row(0, 300), row(1, 60_000), row(0, 200), row(0, 200), row(1, 60_000))
    assert len(items) == 4 and count.skipped == {REPEATED: 1}


def test_a_mark_before_the_first_row_begins_the_time_line():
    items, _ = run(mark(5000, text="Boat"), row(1, 5200), row(2, 5300))
    assert items[0] == OperatorMark(0, "start", "Boat")
    assert times(items) == [0, 200, 300]


def test_rows_may_trail_a_first_mark_a_little():
    items, count = run(mark(5000), row(1, 4950), row(2, 5050))
    assert times(items) == [0, 0, 100]
    assert not any(item.restarted for item in items[1:]) and count.lost == 0


def test_a_mark_may_stand_a_little_behind_or_ahead_of_the_rows():
    items, _ = run(row(1, 1000), row(2, 2000), mark(1900), row(3, 3000), mark(3100), row(4, 4000))
    assert times(items) == [0, 1000, 900, 2000, 2100, 3000]


def test_a_trial_cut_out_of_a_stream_keeps_its_times():
    """Measured from its start mark, behind the rows or ahead of them."""
    before = [row(1, 1000), row(2, 1100)]
    for start_ms in (950, 1100, 1150, 1250):
        trial = [mark(start_ms), row(3, 1200), row(4, 1300), mark(1350, "sunk"), row(5, 1400)]
        live, cut = run(*before, *trial)[0][len(before) :], run(*trial)[0]
        assert [t - live[0].at_ms for t in times(live)] == times(cut), start_ms
        assert not any(item.restarted for item in live + cut if isinstance(item, Sample))


def test_another_mark_ahead_does_not_move_the_time_line():
    items, count = run(row(1, 1000), mark(1100, "note"), row(2, 1050), row(3, 1150))
    assert times(items) == [0, 100, 50, 150]
    assert not any(item.restarted for item in items if isinstance(item, Sample))
    assert count.lost == 0


def test_a_mark_across_the_wrap_of_the_clock():
    items, _ = run(row(1, MS - 100), mark(50, "note"), row(2, 100), mark(MS - 50, "note"))
    assert times(items) == [0, 150, 200, 50]


def test_a_mark_may_be_the_first_to_show_a_restart():
    """A second trial in one recording, on a board switched on anew."""
    items, count = run(row(500, 60_000), mark(500), row(5, 600), row(6, 700))
    assert times(items) == [0, 500, 600, 700]
    assert [item.restarted for item in items if isinstance(item, Sample)] == [False, True, False]
    assert count.lost == 0


def test_rows_may_trail_the_mark_that_showed_a_restart():
    items, count = run(row(500, 60_000), mark(500), row(5, 450), row(6, 550))
    assert times(items) == [0, 500, 500, 600]
    assert [item.restarted for item in items if isinstance(item, Sample)] == [False, True, False]
    assert count.lost == 0


def test_a_mark_after_a_restart_stands_by_the_new_clock():
    items, _ = run(row(500, 60_000), row(0, 300), mark(350, "sunk"), mark(250, "note"))
    assert times(items) == [0, 300, 350, 250]


def test_faults_and_identities_come_out_where_they_stood():
    identity, fault = Identity("b", "1", 80.0, (("load", "count"),)), Fault("E03", "no echo")
    items, count = run(encode(identity), row(1, 5), encode(fault), encode(Query()), row(2, 9))
    assert items[0] == identity and items[2] == fault and len(items) == 4
    assert (count.data, sum(count.skipped.values())) == (2, 0)


@given(st.text(st.characters(codec="utf-8"), max_size=250), st.sampled_from(["note", "start"]))
def test_a_mark_carries_any_text(text, word):
    items, count = run(row(1, 100), mark(200, word, text), row(2, 300))
    assert items[1] == OperatorMark(100, word, text)
    assert sum(count.skipped.values()) == 0


def test_a_long_label_in_letters_that_take_many_bytes():
    label = "Флотилия большого тёплого моря"
    assert len(label) == 30  # the longest a boats file allows
    items, _ = run(mark(200, "start", label))
    assert items == [OperatorMark(0, "start", label)]


def test_parts_of_another_mark_are_not_mixed_in():
    part = mark(100, "note", "x" * 100).splitlines(keepends=True)[0]
    assert MORE.encode() in part
    items, count = run(row(1, 50), part, row(2, 150), mark(200, "stop"))
    assert items[2] == OperatorMark(150, "stop", "")
    assert count.skipped == {UNFINISHED: 1}


def test_the_newest_clock_reading_is_there_for_the_hosts_own_marks():
    stream = Stream()
    stream.feed(row(1, 700) + row(2, 800) + mark(950, "note"))
    assert stream.last_ms == 800


def test_the_raw_numbers_go_through_unchanged():
    items, _ = run(encode(Data(1, 2, -8388608, 0, -1, 20_000)))
    assert items == [Sample(0, -8388608, 0, -1, 20_000)]


HELLO = encode(Identity("b", "1", 10.0, (("load", "count"),)))


@pytest.mark.parametrize("left_ms", [100, 60_000, 599_000])
def test_a_reset_just_before_the_wrap_is_told_by_greeting_and_count(left_ms):
    """Without the greeting the clock alone says that it wrapped."""
    before, after = row(41_000, MS - left_ms), row(0, 300) + row(1, 400)
    items, count = run(before, HELLO, after)
    rows = [item for item in items if isinstance(item, Sample)]
    assert [item.at_ms for item in rows] == [0, 300, 400] and rows[1].restarted
    assert count.lost == 0
    items, _ = run(before, after)
    assert times(items) == [0, left_ms + 300, left_ms + 400]
    assert not any(item.restarted for item in items)


def test_a_greeting_across_a_true_wrap_is_no_reset():
    """The host asks after a reconnection; the rows go on counting."""
    items, _ = run(row(41_000, MS - 100), HELLO, row(41_001, 0))
    assert items[-1] == Sample(100, 1, None, None, None)


def test_a_greeting_before_the_start_mark_says_nothing_about_what_follows():
    """A trial cut out of the stream begins with the greeting of long ago."""
    trial = [mark(MS - 50), row(3, 50), row(4, 150)]
    cut, live = run(HELLO, *trial)[0], run(HELLO, row(2, MS - 50), *trial)[0]
    assert not any(item.restarted for item in cut + live if isinstance(item, Sample))


def test_a_board_that_resets_soon_after_it_came_up_is_not_repeating_itself():
    first = [row(n, 100 * n + 100) for n in range(30)]
    items, count = run(HELLO, *first, HELLO, *first)
    rows = [item for item in items if isinstance(item, Sample)]
    assert len(rows) == 60 and [n for n, item in enumerate(rows) if item.restarted] == [30]
    assert (count.data, count.lost, count.skipped[REPEATED]) == (60, 0, 0)


def test_a_repeat_just_after_the_boards_answer_is_a_repeat():
    items, count = run(row(3, 400), row(4, 500), HELLO, row(4, 500), row(5, 600))
    assert (count.data, count.skipped[REPEATED]) == (3, 1)
    assert not any(item.restarted for item in items if isinstance(item, Sample))


def test_a_reset_in_a_silence_that_the_host_has_timed_is_not_counted_twice():
    """Ten seconds by the host's ticks; the board came up 2 s before it spoke again."""
    ticks = [mark(1000 * s, "tick") for s in range(62, 71)]
    items, _ = run(row(500, 60_000), *ticks, HELLO, row(0, 2000), row(1, 2100))
    rows = [item for item in items if isinstance(item, Sample)]
    assert [item.at_ms for item in rows] == [0, 10_000, 10_100] and rows[1].restarted
    items, _ = run(row(500, 60_000), mark(62_000, "tick"), HELLO, row(0, 9000))
    assert items[-1].at_ms == 9000  # it has been up for longer than the host had noticed


def test_rows_go_on_after_a_silence_that_the_host_has_timed():
    items, count = run(row(1, 1000), mark(5000, "tick"), row(41, 5100), row(42, 5200))
    assert times(items) == [0, 4000, 4100, 4200] and count.lost == 39
