"""The board's sentences, as a host hears them."""

import pytest

from rig.sensing.sentences import Fault, Identity
from rig.sensing.stream import Sample, Stream
from rig.simulator.bench import Bench
from rig.simulator.board import Board
from rig.simulator.conditions import BoardPart

UNITS = (("load", "count"), ("rim", "um"))
ROW = (100, None, 2000, None)


def test_identity_first_then_rows():
    board = Board(UNITS, 10.0)
    lines = (board.row(0.1, ROW) + board.row(0.2, ROW)).splitlines()
    assert lines[0].startswith(b"$PTRGI,1,tub-simulator,1,10,load:count;rim:um*")
    assert [line[: line.index(b"*")] for line in lines[1:]] == [
        b"$PTRGD,0,100,100,,2000,",
        b"$PTRGD,1,200,100,,2000,",
    ]


def test_it_answers_a_query_in_any_chunks_and_ignores_the_rest():
    board = Board(UNITS, 10.0)
    query = b"$PTRGQ,I*25\r\n"  # checksum worked out by hand
    assert board.hear(query[:5]) == b""
    answer = board.hear(query[5:])
    assert [type(item) for item in Stream().feed(answer)] == [Identity]
    assert board.hear(b"$PTRGQ,I*26\r\nhello\r\n\xff\x00$$$*\n") == b""
    assert board.hear(query * 2).count(b"$PTRGI") == 2


def test_counters_wrap_without_a_gap(setup, still):
    """The sequence wraps after 6 rows, the clock after 0.5 s."""
    board = BoardPart(first_seq=2**16 - 6, first_ms=2**32 - 500)
    bench = Bench(setup, still.model_copy(update={"board": board}))
    raw = b"".join(bench.row() for _ in range(30))
    assert b"$PTRGD,65535," in raw
    assert b"$PTRGD,0," in raw
    assert b",4294967196," in raw  # 2**32 - 100: the row after 0.4 s
    stream = Stream()
    samples = [item for item in stream.feed(raw) if isinstance(item, Sample)]
    assert [sample.at_ms for sample in samples] == [100 * i for i in range(30)]
    assert not any(sample.restarted for sample in samples)
    assert (stream.count.lost, dict(stream.count.skipped)) == (0, {})


def test_a_restart_begins_counters_anew_and_says_who_it_is():
    board = Board(UNITS, 10.0, first_seq=500, first_ms=70_000)
    stream = Stream()
    stream.feed(board.row(0.1, ROW))
    board.restart(5.0)
    identity, sample = stream.feed(board.row(5.1, ROW))
    assert isinstance(identity, Identity)
    assert sample == Sample(100, 100, None, 2000, None, restarted=True)
    assert stream.count.lost == 0


@pytest.mark.parametrize(
    ("raw", "code"),
    [
        ((None, None, 2000, None), "E01"),
        ((2**23 - 1, None, 2000, None), "E02"),
        ((-(2**23), None, 2000, None), "E02"),
        ((100, None, None, None), "E03"),
    ],
)
def test_a_trouble_is_told_once_as_it_begins(raw, code):
    board = Board(UNITS, 10.0)
    stream = Stream()

    def faults(row):
        return [i.code for i in stream.feed(board.row(0.1, row)) if isinstance(i, Fault)]

    assert faults(ROW) == []
    assert faults(raw) == [code]
    assert faults(raw) == []
    assert faults(ROW) == []
    assert faults(raw) == [code]


def test_a_dead_sensor_falls_silent_and_the_rest_goes_on(setup, still, boat):
    bench = Bench(setup, still)
    bench.place_boat(boat)
    bench.fall_ill("rim", "silent")
    *_, fault, sample = Stream().feed(bench.row())
    assert fault == Fault("E03", "rim gauge no echo")
    assert sample.rim_raw is None
    assert sample.surface_raw is not None
