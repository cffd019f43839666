"""Lines that do not arrive as they were sent, and a board that resets or changes its rate."""

import itertools
from random import Random

import pytest

from rig.sensing.framing import BAD_CHECKSUM, TORN
from rig.sensing.sentences import Data, Identity, encode
from rig.sensing.stream import REPEATED, Sample, Stream
from rig.simulator.bench import Bench
from rig.simulator.disturbances import Disturbance
from rig.simulator.hands import Plan
from rig.simulator.troubles import LinePart
from rig.simulator.wire import Wire

N = 5000


def carried(part, n=N):
    """n plain rows through a damaged line."""
    wire, stream = Wire(part, Random(8)), Stream()
    items = []
    for i in range(n):
        line = encode(Data(i % 2**16, 100 * i, 84213 + i, 280_000, 300_000, 20_000))
        items += stream.feed(wire.carry(line))
    items += stream.finish()
    return wire, stream, items


def test_lost_torn_and_repeated_lines_are_what_the_stream_counts():
    part = LinePart(lost=0.02, torn=0.03, repeated=0.01)
    wire, stream, items = carried(part)
    for kind in ("lost", "torn", "repeated"):
        share = getattr(part, kind)
        assert wire.done[kind] == pytest.approx(share * N, abs=4 * (share * N) ** 0.5)
    whole = N - wire.done["lost"] - wire.done["torn"]
    assert stream.count.data == whole == len(items)
    assert stream.count.skipped[REPEATED] == wire.done["repeated"]
    # a tear in the checksum's own digits may look like either
    torn = stream.count.skipped[TORN] + stream.count.skipped[BAD_CHECKSUM]
    assert torn == wire.done["torn"]
    assert set(stream.count.skipped) == {REPEATED, TORN, BAD_CHECKSUM}
    assert stream.count.lost == wire.done["lost"] + wire.done["torn"]


def test_what_arrives_whole_is_true():
    _, _, items = carried(LinePart(lost=0.1, torn=0.2, repeated=0.1))
    first = items[0].load_count  # the stream's time begins with the first row that arrived
    assert all(item.load_count == first + item.at_ms / 100 for item in items)


def test_a_sound_line_carries_all_and_draws_nothing():
    rng = Random(1)
    before = rng.getstate()
    assert Wire(LinePart(), rng).carry(b"$A*41\r\n$B*42\r\n") == b"$A*41\r\n$B*42\r\n"
    assert rng.getstate() == before


def with_stumble(setup, still, boat, *disturb, rows=120):
    bench = Bench(setup, still)
    bench.place_boat(boat)
    bench.load_with(Plan(((2.0, 4), (5.0, 4)), disturb=disturb))
    return [bench.row() for _ in range(rows)], bench


def test_a_reset_is_silence_then_a_new_clock_and_a_new_identity(setup, still, boat):
    reset = Disturbance(kind="reset", at_s=3.02, for_s=1.5)
    lines, bench = with_stumble(setup, still, boat, reset)
    silent = [i for i, line in enumerate(lines) if not line]
    assert silent == list(range(30, 45))  # rows at 3.1 to 4.5 s
    stream = Stream()
    before = stream.feed(b"".join(lines[:30]))
    after = stream.feed(b"".join(lines[30:]))
    assert isinstance(after[0], Identity) and after[0] == before[0]
    samples = [item for item in after if isinstance(item, Sample)]
    assert [s.restarted for s in samples].count(True) == 1 and samples[0].restarted
    assert b"$PTRGD,0,80," in lines[45]  # its clock began at 4.52 s
    assert len(samples) == 75
    assert bench.unseen == [pytest.approx((3.0, 4.52))]
    # the hands went on meanwhile: the second addition is as heavy as it would have been
    assert samples[-1].load_count == 84213 + 430 * (60 + 142 * 2.5)


def test_the_rate_changes_in_mid_recording(setup, still, boat):
    lines, bench = with_stumble(
        setup, still, boat, Disturbance(kind="rate", at_s=3.0, rate_hz=80.0), rows=30 + 320
    )
    stream = Stream()
    items = stream.feed(b"".join(lines))
    assert [item.rate_hz for item in items if isinstance(item, Identity)] == [10.0, 80.0]
    samples = [item for item in items if isinstance(item, Sample)]
    gaps = [b.at_ms - a.at_ms for a, b in itertools.pairwise(samples)]
    assert set(gaps[:29]) == {100}
    assert set(gaps[29:]) == {12, 13}
    assert stream.count.lost == 0 and not stream.count.skipped
    assert bench.now_s == pytest.approx(7.0)
