"""Recordings on disk: whole sentences in, the same bytes out."""

import errno
import os

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.errors import RigError
from rig.sensing.recording import CHUNK, RecordingWriter, read_recording
from rig.sensing.sentences import Data, Mark, encode

ROWS = [encode(Data(n % 65536, 100 * n, n, None, None, None)) for n in range(50)]


def test_what_was_written_is_read_back(tmp_path):
    path = tmp_path / "a.rec"
    with RecordingWriter(path) as writer:
        for line in ROWS:
            writer.write(line)
    assert b"".join(read_recording(path)) == b"".join(ROWS)
    assert path.read_bytes() == b"".join(ROWS)


def test_a_large_recording_comes_in_chunks(tmp_path):
    path = tmp_path / "a.rec"
    path.write_bytes(b"".join(ROWS) * 100)
    chunks = list(read_recording(path))
    assert len(chunks) > 1 and max(map(len, chunks)) <= CHUNK
    assert b"".join(chunks) == path.read_bytes()


@given(st.integers(1, 40))
def test_any_chunks_give_the_same_file_without_what_is_no_sentence(tmp_path_factory, size):
    path = tmp_path_factory.mktemp("rec") / "a.rec"
    fed = b"noise" + ROWS[0] + ROWS[1][:-7] + b"\r\n\xff\xfe\n" + ROWS[2] + ROWS[3][:-2]
    with RecordingWriter(path) as writer:
        for start in range(0, len(fed), size):
            writer.write(fed[start : start + size])
    assert path.read_bytes() == ROWS[0] + ROWS[2] + ROWS[3]
    assert writer.skipped == 3


def test_each_line_is_on_its_way_to_the_disk_before_write_returns(tmp_path):
    path = tmp_path / "a.rec"
    writer = RecordingWriter(path)
    writer.write(ROWS[0] + ROWS[1][:5])
    assert path.read_bytes() == ROWS[0]
    writer.write(ROWS[1][5:] + encode(Mark(5, "note", "x" * 200)))
    assert path.read_bytes().startswith(ROWS[0] + ROWS[1] + b"$PTRGM,5,more,")
    writer.close()
    writer.close()


def test_a_recording_is_not_overwritten_unless_told(tmp_path):
    path = tmp_path / "a.rec"
    path.write_bytes(ROWS[0])
    with pytest.raises(RigError, match=r"a\.rec is already there\. Give another name"):
        RecordingWriter(path)
    assert path.read_bytes() == ROWS[0]
    with RecordingWriter(path, overwrite=True) as writer:
        writer.write(ROWS[1])
    assert path.read_bytes() == ROWS[1]


def test_what_cannot_be_read_is_said_in_one_line(tmp_path):
    for path in (tmp_path / "none.rec", tmp_path):
        with pytest.raises(RigError) as caught:
            list(read_recording(path))
        assert str(path) in caught.value.what and "\n" not in str(caught.value)
        assert isinstance(caught.value, OSError)


def test_what_cannot_be_written_is_said_in_one_line(tmp_path):
    with pytest.raises(RigError, match="Cannot write the recording"):
        RecordingWriter(tmp_path / "no such folder" / "a.rec")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="needs the device that is always full")
def test_a_full_disk_is_said_in_one_line():
    writer = RecordingWriter("/dev/full", overwrite=True)
    with pytest.raises(RigError, match=os.strerror(errno.ENOSPC)):
        writer.write(ROWS[0])
    writer.close()


def test_a_file_that_takes_little_at_a_time_gets_all(tmp_path):
    path = tmp_path / "a.rec"
    writer = RecordingWriter(path)
    real = writer._file

    class Slow:
        closed = False

        def write(self, data):
            return real.write(data[:5])

    writer._file = Slow()
    writer.write(ROWS[0] + ROWS[1])
    real.close()
    assert path.read_bytes() == ROWS[0] + ROWS[1]
