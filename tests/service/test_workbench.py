"""The workbench: kept raw and dated, the same again from its recording, in use when told."""

import json
from datetime import UTC, datetime
from random import Random

import pytest

from rig.errors import OutOfPlace, OutOfRange, RecordsUnusable
from rig.sensing.sentences import Data, encode
from rig.service.workbench import Workbench, again
from rig.setup import read_setup

AT = datetime(2026, 11, 25, 18, 5, 9, tzinfo=UTC)
RIG = """\
[rig]
name = "by the window"
layout = "feed-tray"
[load]
zero_count = 84213
count_per_g = 430.0  # by the label
[item]
name = "washer"
mass_g = 2.5
"""
OPTIONS = {"masses": ["M2 100 g", "M2 200 g", "M2 500 g"], "creep": False}
LOADS = (0, 100, 200, 500, 200, 100, 0)


class Said:
    """What the board says, in pieces that cut lines anywhere."""

    def __init__(self, bench):
        self.bench, self.seq, self.rng = bench, 0, Random(1)

    def rows(self, seconds, grams, per_g=440.0):
        lines = b""
        for _ in range(round(10 * seconds)):
            self.seq += 1
            count = round(84_000 + per_g * grams + self.rng.gauss(0, 20))
            lines += encode(Data(self.seq, 100 * self.seq, count, None, None, None))
        for first in range(0, len(lines), 41):
            self.bench.heard(lines[first : first + 41])


@pytest.fixture
def rig_file(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_text(RIG)
    return path


@pytest.fixture
def bench(rig_file):
    made = Workbench(read_setup(rig_file), rig_file, now=lambda: AT)
    yield made
    made.leave()


def calibrate(bench, loads=LOADS, note=""):
    bench.begin("load", OPTIONS, note)
    said = Said(bench)
    for grams in loads:
        said.rows(2, grams)
        bench.press("ready")
        said.rows(6, grams)
    return said


def test_a_result_is_kept_with_date_note_and_raw_counts(bench, rig_file):
    calibrate(bench, note="Tuesday, new tray")
    told = bench.look()
    assert told["phase"] == "done" and told["outcome"]["ok"] and "write" in told["can"]
    folder = rig_file.parent / "calibrations"
    assert sorted(file.name for file in folder.iterdir()) == [
        "2026-11-25T18-05-09Z-load.json",
        "2026-11-25T18-05-09Z-load.rec",
    ]
    kept = json.loads((folder / "2026-11-25T18-05-09Z-load.json").read_text())
    assert kept["note"] == "Tuesday, new tray" and kept["begun_at_utc"] == AT.isoformat()
    assert kept["rig"] == "by the window" and kept["setup"]["load"]["count_per_g"] == 430
    assert len(kept["result"]["rows"]) == 7
    assert kept["result"]["rows"][3]["raw"] == pytest.approx(84_000 + 440 * 500, abs=30)
    assert rig_file.read_text() == RIG  # nothing is written before it is asked for


def test_the_recording_gives_the_same_result_again(bench, rig_file):
    said = calibrate(bench, loads=LOADS[:3])
    said.rows(2, 333)
    bench.press("ready", "M2 500 g")
    said.rows(6, 333)
    bench.press("redo")  # the wrong weight: taken again
    for grams in LOADS[3:]:
        said.rows(2, grams)
        bench.press("ready")
        said.rows(6, grams)
    live = bench.outcome()
    recording = next((rig_file.parent / "calibrations").glob("*.rec"))
    session, about = again(recording, read_setup(rig_file))
    assert session.outcome().as_dict() == live.as_dict()
    assert session.withdrawn == 1 and about["kind"] == "load" and about["options"] == OPTIONS


def test_two_in_one_second_do_not_share_a_file(bench, rig_file):
    calibrate(bench)
    calibrate(bench)
    names = [file.name for file in (rig_file.parent / "calibrations").iterdir()]
    assert len(names) == len(set(names)) == 4


def test_written_into_the_rig_file_and_told_to_the_rig(rig_file):
    told = []
    bench = Workbench(read_setup(rig_file), rig_file, changed=told.append, now=lambda: AT)
    calibrate(bench)
    said = bench.write()
    assert "rig-before-2026-11-25T18-05-09.toml" in said
    (setup,) = told
    assert setup == read_setup(rig_file)
    assert setup.load.count_per_g == pytest.approx(440, abs=0.5)
    assert "# by the label" in rig_file.read_text()
    kept = json.loads(next((rig_file.parent / "calibrations").glob("*.json")).read_text())
    assert kept["in_use"] == said
    assert "write" not in bench.look()["can"]
    bench.leave()


def test_points_that_contradict_each_other_are_never_written(bench, rig_file):
    calibrate(bench, loads=(0, 200, 100, 500, 200, 100, 0))
    told = bench.look()
    assert not told["outcome"]["ok"] and "write" not in told["can"]
    with pytest.raises(OutOfPlace, match="swapped"):
        bench.write()
    assert rig_file.read_text() == RIG


def test_leaving_half_way_loses_nothing(bench, rig_file):
    calibrate(bench, loads=LOADS[:4])
    bench.leave()
    assert bench.look()["kind"] == ""
    kept = json.loads(next((rig_file.parent / "calibrations").glob("*.json")).read_text())
    assert len(kept["result"]["rows"]) == 4


def test_refused_while_something_else_is_going_on(rig_file):
    def busy():
        raise OutOfPlace("A trial is running.", "Stop it first.")

    bench = Workbench(read_setup(rig_file), rig_file, may_begin=busy)
    with pytest.raises(OutOfPlace, match="A trial is running"):
        bench.begin("load", OPTIONS)
    assert bench.look()["kind"] == "" and not (rig_file.parent / "calibrations").exists()


def test_buttons_before_anything_was_begun(bench):
    for call in (lambda: bench.press("ready"), bench.write, bench.outcome):
        with pytest.raises(OutOfPlace, match="Nothing has been begun"):
            call()


def test_a_note_too_long_for_a_recording_is_refused_and_nothing_is_lost(bench):
    calibrate(bench, loads=LOADS[:2])
    with pytest.raises(OutOfRange, match="too long"):
        piles = [" + ".join(f"{n + k} g ± 1 g" for k in range(7)) for n in range(100, 111)]
        bench.begin("load", {"masses": piles}, "ö" * 200)
    assert len(bench.look()["taken"]) == 2


def test_a_full_disk_does_not_stop_the_rig(bench):
    said = calibrate(bench, loads=LOADS[:2])

    class Full:
        def write(self, _):
            raise RecordsUnusable("No room.", "Free some.")

        def close(self):
            pass

    bench._close_writer()
    bench._writer = Full()
    said.rows(1, 100)
    assert "No room." in bench.look()["trouble"]
    said.rows(1, 100)


def test_no_recording_of_ours(bench, tmp_path, rig_file):
    (tmp_path / "other.rec").write_bytes(encode(Data(1, 1, 5, None, None, None)))
    with pytest.raises(RecordsUnusable, match="no recording of a calibration"):
        again(tmp_path / "other.rec", read_setup(rig_file))


def test_a_demo_without_a_file_uses_it_until_it_stops(rig_file):
    told = []
    bench = Workbench(read_setup(rig_file), None, changed=told.append)
    calibrate(bench)
    assert "until the rig stops" in bench.write()
    assert told[0].load.count_per_g == pytest.approx(440, abs=0.5)
    assert rig_file.read_text() == RIG and not (rig_file.parent / "calibrations").exists()


# --- within a running rig ----------------------------------------------------------------------


def test_a_running_trial_keeps_the_bench_away_and_the_bench_a_trial(desk, tape):
    before, _, _, _ = tape("clean-box")
    desk.hear(b"".join(before))
    label = desk.newest("class")["boats"][0]["label"]
    desk.service.start(label)
    with pytest.raises(OutOfPlace, match="A trial is running"):
        desk.service.bench.begin("load", OPTIONS, "")
    desk.service.void()
    assert desk.service.bench.begin("load", OPTIONS, "")["phase"] == "asking"
    with pytest.raises(OutOfPlace, match="going on"):
        desk.service.start(label)
    desk.service.bench.leave()
    desk.service.start(label)


def test_the_next_trial_runs_with_the_new_values(desk, tape):
    before, _, _, _ = tape("clean-box")
    desk.hear(b"".join(before))
    label = desk.newest("class")["boats"][0]["label"]
    service = desk.service
    service.start(label)
    service.void()
    old = desk.store.trial(1).setup["load"]["count_per_g"]
    service.bench.begin("load", OPTIONS, "")
    seq, rng = 30_000, Random(1)
    for grams in LOADS:
        service.bench.press("ready", "")
        for _ in range(60):
            seq += 1
            count = round(84_000 + 1.02 * old * grams + rng.gauss(0, 20))
            desk.hear(encode(Data(seq, 100 * seq, count, None, None, None)))
    assert service.bench.look()["outcome"]["ok"]
    service.bench.write()
    service.bench.leave()
    service.start(label)
    assert desk.store.trial(2).setup["load"]["count_per_g"] == pytest.approx(1.02 * old, rel=1e-3)
    assert desk.store.trial(1).setup["load"]["count_per_g"] == old
