"""What sentences say: round trips, limits of each field, and no exception for any body."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.sensing.framing import Rejected, body_of
from rig.sensing.sentences import (
    BAD_FIELD,
    MARK_WORDS,
    MAX_PARTS,
    MORE,
    NOT_OURS,
    UNITS,
    Data,
    Fault,
    Identity,
    Mark,
    Query,
    decode,
    encode,
)

plain = st.text(
    st.characters(min_codepoint=0x20, max_codepoint=0x7E, exclude_characters="$*,;:"),
    min_size=1,
    max_size=10,
)
channel = st.none() | st.integers(-(2**31), 2**31 - 1)
data = st.builds(
    Data,
    st.integers(0, 2**16 - 1),
    st.integers(0, 2**32 - 1),
    st.none() | st.integers(-(2**23), 2**23 - 1),
    channel,
    channel,
    channel,
)
identities = st.builds(
    Identity,
    plain,
    plain,
    st.integers(1, 10**6).map(float) | st.floats(1e-4, 1e5, allow_nan=False),
    st.fixed_dictionaries({}, optional={c: st.sampled_from(u) for c, u in UNITS.items()}).map(
        lambda units: tuple(units.items())
    ),
).filter(lambda i: len(repr(i.rate_hz)) < 10 and len(i.board + i.firmware) < 14)
faults = st.builds(
    Fault,
    st.from_regex(r"E[0-9]{2}", fullmatch=True),
    st.text(st.characters(codec="utf-8"), max_size=5),
)
short_marks = st.builds(
    Mark,
    st.integers(0, 2**32 - 1),
    st.sampled_from(MARK_WORDS),
    st.text(st.characters(codec="utf-8"), max_size=4),
)


def read_back(line: bytes):
    body = body_of(line)
    assert not isinstance(body, Rejected), body
    return decode(body)


@given(st.one_of(data, identities, faults, short_marks, st.just(Query())))
def test_every_sentence_is_read_back_as_it_was(sentence):
    assert read_back(encode(sentence)) == sentence


def test_the_sentences_as_the_protocol_writes_them():
    def body(sentence):
        return encode(sentence)[1:-5]

    assert body(Data(7, 1000, -5, None, 123, None)) == b"PTRGD,7,1000,-5,,123,"
    units = (("load", "count"), ("surface", "us"), ("rim", "um"), ("water", "mC"))
    assert body(Identity("b", "1.0", 80.0, units)) == (
        b"PTRGI,1,b,1.0,80,load:count;surface:us;rim:um;water:mC"
    )
    assert body(Fault("E01", "amplifier silent")) == b"PTRGF,E01,amplifier silent"
    assert body(Query()) == b"PTRGQ,I"
    assert body(Mark(9, "start", "Group 4")) == b"PTRGM,9,start,Group 4"
    assert body(Mark(9, "stop")) == b"PTRGM,9,stop"


def test_empty_channels_are_none():
    assert decode(b"PTRGD,1,2,,,,") == Data(1, 2, None, None, None, None)
    assert decode(b"PTRGD,1,2,,5,,") == Data(1, 2, None, 5, None, None)


@pytest.mark.parametrize("load", [-(2**23), 2**23 - 1])
def test_a_load_at_the_ends_of_24_bits_is_read(load):
    assert decode(b"PTRGD,1,2,%d,,," % load) == Data(1, 2, load, None, None, None)


@pytest.mark.parametrize(
    "body",
    [
        b"PTRGD,1,2,-8388609,,,",
        b"PTRGD,1,2,8388608,,,",
        b"PTRGD,65536,2,,,,",
        b"PTRGD,-1,2,,,,",
        b"PTRGD,1,4294967296,,,,",
        b"PTRGD,1,-2,,,,",
        b"PTRGD,1,2,,2147483648,,",
        b"PTRGD,1,2,,,,-2147483649",
        b"PTRGD,,2,,,,",
        b"PTRGD,1,,,,,",
        b"PTRGD,1,2,,,",
        b"PTRGD,1,2,,,,,",
        b"PTRGD,1,2, 3,,,",
        b"PTRGD,1,2,1_0,,,",
        b"PTRGD,1,2,0x1,,,",
        b"PTRGD,1,2,1.5,,,",
        b"PTRGD,1,2,nan,,,",
        b"PTRGD",
        b"PTRGI,2,b,1,80,load:count",
        b"PTRGI,1,,1,80,load:count",
        b"PTRGI,1,b,1,0,load:count",
        b"PTRGI,1,b,1,-80,load:count",
        b"PTRGI,1,b,1,inf,load:count",
        b"PTRGI,1,b,1,80,load:g",
        b"PTRGI,1,b,1,80,surface:um;surface:us",
        b"PTRGI,1,b",
        b"PTRGF",
        b"PTRGQ,D",
        b"PTRGQ",
        b"PTRGM,1,begin",
        b"PTRGM,-1,stop",
        b"PTRGM,1",
        b"PTRGF,E01,\xff",
    ],
)
def test_a_field_that_makes_no_sense_refuses_the_sentence(body):
    got = decode(body)
    assert isinstance(got, Rejected) and got.why == BAD_FIELD


@pytest.mark.parametrize("body", [b"", b"PTRGX,1", b"GPGGA,1", b"PTRG", b"ptrgq,I"])
def test_other_sentences_are_not_ours(body):
    got = decode(body)
    assert isinstance(got, Rejected) and got.why == NOT_OURS


@given(
    st.one_of(
        st.binary(max_size=80),
        st.lists(
            st.sampled_from(
                ["PTRGD", "PTRGI", "PTRGF", "PTRGM", "PTRGQ", "1", "-1", "", "start", "^"]
            ),
            max_size=9,
        ).map(lambda parts: ",".join(parts).encode()),
    )
)
def test_decode_never_raises(body):
    decode(body)


def test_an_identity_names_its_units():
    got = decode(b"PTRGI,1,b,1.0,12.5,load:count;surface:us;lamp:on")
    assert isinstance(got, Identity) and got.rate_hz == 12.5
    assert (got.unit("surface"), got.unit("rim"), got.unit("lamp")) == ("us", None, "on")


@pytest.mark.parametrize(
    "sentence",
    [
        Data(65536, 0, None, None, None, None),
        Data(0, 0, 2**23, None, None, None),
        Identity("a,b", "1", 80.0, ()),
        Identity("", "1", 80.0, ()),
        Identity("b", "1", float("nan"), ()),
        Identity("b", "1", 80.0, (("load", "g"),)),
        Identity("b", "1", 80.0, (("lamp", "a;b:c"),)),
        Identity("b\n", "1", 80.0, ()),
        Fault("E,1", "x"),
        Fault("E01", "x" * 80),
        Mark(0, "begin"),
        Mark(2**32, "stop"),
        Mark(0, "note", "x" * (82 * MAX_PARTS)),
    ],
)
def test_encode_refuses_what_would_not_be_read_back(sentence):
    with pytest.raises(ValueError):
        encode(sentence)


@given(st.text(st.characters(codec="utf-8"), max_size=300))
def test_a_long_text_takes_several_lines_and_cuts_no_character(text):
    lines = encode(Mark(4294967295, "note", text)).splitlines(keepends=True)
    parts = [read_back(line) for line in lines]
    assert "".join(part.text for part in parts) == text
    assert [part.word for part in parts] == [MORE] * (len(parts) - 1) + ["note"]
    assert "�" in text or not any("�" in part.text for part in parts)


def test_a_text_that_fits_takes_one_line():
    longest = 82 - len("$PTRGM,9,start,*00\r\n")
    assert encode(Mark(9, "start", "x" * longest)).count(b"\r\n") == 1
    assert encode(Mark(9, "start", "x" * (longest + 1))).count(b"\r\n") == 2


def test_half_an_emoji_from_a_browser_is_replaced_and_not_raised():
    assert read_back(encode(Mark(9, "note", "boat \ud83d"))) == Mark(9, "note", "boat ?")


def test_reserved_characters_travel_as_the_standard_escapes_them():
    # NMEA 0183 reserves ! $ * \ ^ ~ (public descriptions) and escapes a byte as ^HH.
    line = encode(Mark(9, "note", "!$*\\^~,"))
    assert line[1:-5] == b"PTRGM,9,note,^21^24^2A^5C^5E^7E,"
