"""Framing, against the rules of NMEA 0183 as publicly described and for any bytes at all."""

from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.sensing.framing import (
    BAD_CHARACTER,
    BAD_CHECKSUM,
    MAX_LINE,
    TOO_LONG,
    TORN,
    LineSplitter,
    Rejected,
    body_of,
    checksum,
    frame,
)

# Printed in many public descriptions of NMEA 0183 as the example of a GGA sentence.
PUBLISHED_GGA = b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47"
# NMEA 0183 3.01, section 5.3, as quoted in gpsd's source: 82 with the `$` and CR LF.
PUBLISHED_LIMIT = 82

bodies = st.text(
    st.characters(min_codepoint=0x20, max_codepoint=0x7E, exclude_characters="$*"), max_size=76
)
# Noise that looks like the wire: halves of sentences, ends, starts, and plain bytes.
noise = st.lists(
    st.one_of(
        st.binary(max_size=100),
        st.sampled_from([b"$", b"*", b"\r", b"\n", b"\r\n", b"\r" * 90, b"$" + b"x" * 100]),
        bodies.map(frame),
        bodies.map(lambda body: frame(body)[:-3]),
    ),
    max_size=12,
).map(b"".join)


def chunks_of(data: bytes, cuts: list[int]) -> list[bytes]:
    edges = [0, *sorted(cut % (len(data) + 1) for cut in cuts), len(data)]
    return [data[a:b] for a, b in pairwise(edges)]


def lines_of(chunks: list[bytes]) -> list[bytes]:
    splitter = LineSplitter()
    return [line for chunk in chunks for line in splitter.feed(chunk)] + splitter.rest()


@pytest.mark.parametrize("end", [b"\r\n", b"\n", b""])
def test_a_published_sentence_is_accepted_with_any_line_end(end):
    assert body_of(PUBLISHED_GGA + end) == PUBLISHED_GGA[1:-3]


def test_the_checksum_of_a_published_sentence():
    assert checksum(PUBLISHED_GGA[1:-3]) == b"47"


def test_any_single_flipped_bit_is_refused():
    for at in range(len(PUBLISHED_GGA)):
        for bit in range(8):
            damaged = bytearray(PUBLISHED_GGA)
            damaged[at] ^= 1 << bit
            assert isinstance(body_of(bytes(damaged)), Rejected), (at, bit)


@given(bodies)
def test_frame_and_body_of_are_inverse(body):
    line = frame(body)
    assert body_of(line) == body.encode()
    assert len(line) <= PUBLISHED_LIMIT and line.startswith(b"$") and line.endswith(b"\r\n")


def test_the_limit_inside_at_and_outside():
    room = PUBLISHED_LIMIT - len(b"$*00\r\n")
    assert len(frame("x" * (room - 1))) == PUBLISHED_LIMIT - 1
    assert len(frame("x" * room)) == PUBLISHED_LIMIT
    with pytest.raises(ValueError, match="83 characters"):
        frame("x" * (room + 1))
    for body, why in [(b"x" * room, None), (b"x" * (room + 1), TOO_LONG)]:
        for end in (b"\r\n", b"\n", b""):  # a missing end does not make room for more
            got = body_of(b"$" + body + b"*" + checksum(body) + end)
            assert got == body if why is None else isinstance(got, Rejected) and got.why == why


@pytest.mark.parametrize("character", ["$", "*", "\r", "\n", "\x1f", "\x7f", "é"])
def test_frame_refuses_what_would_break_a_line(character):
    with pytest.raises(ValueError):
        frame(f"PTRGF,E01,{character}")


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (b"$PTRGQ,I*0\r\n", TORN),
        (b"$PTRGQ,I*\r\n", TORN),
        (b"$PTRGQ,I\r\n", TORN),
        (b"PTRGQ,I*00\r\n", TORN),
        (b"$PTRGQ,I*000\r\n", TORN),
        (b"$a*b*00\r\n", TORN),
        (b"", TORN),
        (b"$PTRGQ,I*00\r\n", BAD_CHECKSUM),
        (b"$GPGGA*56\r\n"[:-2].replace(b"56", checksum(b"GPGGA").lower() + b"x"), TORN),
        (b"$" + b"\x01A*" + checksum(b"\x01A") + b"\r\n", BAD_CHARACTER),
        (b"$" + b"\xc3\xa9*" + checksum(b"\xc3\xa9") + b"\r\n", BAD_CHARACTER),
        (b"$" + b"A" * 100, TOO_LONG),
    ],
)
def test_each_reason(line, why):
    got = body_of(line)
    assert isinstance(got, Rejected) and (got.line, got.why) == (line, why)


def test_hex_digits_are_upper_case():
    body = b"JK"  # 4Ah xor 4Bh = 01h; with a space, 20h, and a K again: 6Ah
    assert body_of(b"$" + body + b" K*6A") == b"JK K"
    assert isinstance(body_of(b"$" + body + b" K*6a"), Rejected)


@given(st.binary(max_size=200))
def test_body_of_never_raises(line):
    body_of(line)


@given(noise, st.lists(st.integers(0, 2000), max_size=12))
def test_lines_do_not_depend_on_the_chunks(data, cuts):
    assert lines_of(chunks_of(data, cuts)) == lines_of([data])
    assert lines_of([data[i : i + 1] for i in range(len(data))]) == lines_of([data])


@given(st.lists(noise, max_size=4))
def test_it_never_holds_more_than_a_line(chunks):
    splitter = LineSplitter()
    for chunk in chunks:
        for line in splitter.feed(chunk):
            assert len(line) <= MAX_LINE + 1
        held = sum(len(value) for value in vars(splitter).values())
        assert held <= MAX_LINE + 1
    splitter.rest()
    assert splitter.rest() == []


@given(noise)
def test_nothing_but_blank_lines_goes_uncounted(data):
    """Every byte is in a line that comes out, is cut off an over-long one, or is a line end."""
    lines = lines_of([data])
    if not any(len(line) > MAX_LINE for line in lines):
        line_ends = Counter(data)[0x0A] + Counter(data)[0x0D]
        assert len(data) - line_ends <= sum(map(len, lines)) <= len(data)


@given(st.binary(max_size=60).filter(lambda b: b"$" not in b), bodies)
def test_a_torn_line_does_not_take_its_neighbour_along(junk, body):
    assert lines_of([junk + frame(body)])[-1] == frame(body)


def test_a_long_run_of_line_ends_does_not_swallow_what_follows_it():
    assert lines_of([b"\r" * 100 + b"half a line\n"]) != []
