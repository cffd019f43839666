"""The framing, both ways, against pynmea2, a public NMEA 0183 library (PyPI, 1.19)."""

import pynmea2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.sensing.framing import Rejected, body_of, checksum
from rig.sensing.sentences import Data, Fault, Identity, Mark, Query, encode

OURS = [
    Data(0, 0, None, None, None, None),
    Data(65535, 4294967295, -8388608, 2147483647, -2147483648, 20150),
    Identity("bench-board", "1.0", 80, (("load", "count"), ("surface", "us"))),
    Fault("E03", "gauge: no echo"),
    Query(),
    Mark(1, "start", "Group 4"),
]


@pytest.mark.parametrize("sentence", OURS)
def test_our_lines_parse_there(sentence):
    line = encode(sentence).decode()
    parsed = pynmea2.parse(line, check=True)
    assert isinstance(parsed, pynmea2.ProprietarySentence)
    assert parsed.manufacturer == "TRG"
    assert parsed.render(newline=True) == line


@pytest.mark.parametrize("sentence", OURS)
def test_our_damaged_lines_are_refused_there_and_here(sentence):
    line = encode(sentence)
    damaged = line[:5] + bytes([line[5] ^ 1]) + line[6:]
    with pytest.raises(pynmea2.ParseError):
        pynmea2.parse(damaged.decode(), check=True)
    assert isinstance(body_of(damaged), Rejected)


fields = st.lists(
    st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E, exclude_characters="$*,")),
    max_size=6,
)


@given(st.sampled_from(["GGA", "RMC", "HDT", "XDR"]), fields)
def test_lines_rendered_there_are_accepted_here(kind, values):
    line = str(pynmea2.TalkerSentence.sentence_types[kind]("GP", kind, tuple(values)))
    got = body_of(line.encode() + b"\r\n")
    if len(line) > 80:
        assert isinstance(got, Rejected)
    else:
        assert got == line[1:-3].encode()


@given(st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E)))
def test_the_checksums_agree(text):
    assert checksum(text.encode()) == b"%02X" % pynmea2.NMEASentence.checksum(text)
