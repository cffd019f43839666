"""Writing a calibration into a rig file: comments stay, the old file stays, all or nothing."""

import tomllib
from datetime import datetime

import pytest

from rig.errors import RecordsUnusable, SetupInvalid
from rig.setup import read_setup
from rig.setup.rigwrite import lines_for, with_sets, write_sets

AT = datetime(2026, 11, 25, 18, 5, 9)
OLD = """\
# our rig
[rig]
name = "by the window"   # ours
layout = "feed-tray"

[load]  # the cell from the bag
zero_count = 84213
count_per_g = 430.0      # by the label
count_per_g2 = 0.01

# the bin
[tub]
area_mm2 = 60000
"""
LOAD = {"load": {"zero_count": 84_300.5, "count_per_g": 431.25, "count_per_g2": None}}


@pytest.fixture
def path(tmp_path):
    file = tmp_path / "rig.toml"
    file.write_text(OLD)
    return file


def test_values_change_and_comments_stay(path):
    setup, _ = write_sets(path, LOAD, AT)
    assert path.read_text() == OLD.replace("84213", "84300.5").replace("430.0", "431.25").replace(
        "count_per_g2 = 0.01\n", ""
    )
    assert setup == read_setup(path) and setup.load.count_per_g == 431.25


def test_the_old_file_is_kept_under_its_date_and_never_written_over(path):
    _, first = write_sets(path, LOAD, AT)
    assert first.name == "rig-before-2026-11-25T18-05-09.toml" and first.read_text() == OLD
    between = path.read_text()
    _, second = write_sets(path, {"load": {"zero_count": 1.0}}, AT)
    assert second != first and first.read_text() == OLD and second.read_text() == between


def test_new_sections_and_tables(path):
    sets = {
        "tub": {"pours": [[0.0, 0.0], [50.0, 3100.0]], "area_mm2": None},
        "surface": {"height_mm": 397.3, "height_mm_sd": 0.2},
    }
    setup, _ = write_sets(path, sets, AT)
    assert setup.tub.pours == [(0, 0), (50, 3100)] and setup.surface.height_mm == 397.3
    assert "# the bin\n[tub]\n" in path.read_text()


def test_what_would_not_be_right_is_not_written(path):
    with pytest.raises(SetupInvalid, match="count_per_g"):
        write_sets(path, {"load": {"count_per_g": 0.0}}, AT)
    with pytest.raises(SetupInvalid, match="pours"):
        write_sets(path, {"tub": {"pours": [[5.0, 1.0], [4.0, 2.0]], "area_mm2": None}}, AT)
    assert path.read_text() == OLD
    assert [file.name for file in path.parent.iterdir()] == ["rig.toml"]


def test_a_folder_that_cannot_be_written(path, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("rig.setup.rigwrite.os.fsync", full)
    with pytest.raises(RecordsUnusable, match="No space left"):
        write_sets(path, LOAD, AT)
    assert path.read_text() == OLD


def test_line_ends_and_inline_tables_of_other_editors(path):
    path.write_bytes(b'rig = { name = "x", layout = "feed-tray" }\r\nload = { zero_count = 1,'
                     b" count_per_g = 2 } # mine\r\n")  # fmt: skip
    setup, _ = write_sets(path, {"load": {"count_per_g": 3.0}}, AT)
    assert setup.load.count_per_g == 3 and setup.load.zero_count == 1
    assert b"# mine\r\n" in path.read_bytes()


def test_lines_to_paste_are_a_rig_files_own():
    assert tomllib.loads(lines_for(LOAD)) == {
        "load": {"zero_count": 84300.5, "count_per_g": 431.25}
    }


def test_a_set_up_in_memory(path):
    changed = with_sets(read_setup(path), LOAD)
    assert changed.load.count_per_g == 431.25 and changed.load.count_per_g2 == 0
    assert changed.tub.area_mm2 == 60_000
