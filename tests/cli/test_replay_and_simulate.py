"""`tubrig simulate` writes what `tubrig replay` reads; the truth is the simulator's own."""

import json

import pytest

from rig.sensing.sentences import Mark, encode

FILES = ("--setup", "rig.toml", "--boats", "boats.toml")


@pytest.mark.parametrize(
    "scenario", ["clean-box", "tub-on-cell", "leak", "heel", "afloat", "load-cell-only", "class"]
)
def test_replay_finds_what_the_simulator_did(told, scenario):
    truths = told("simulate", scenario, "--out", "a.rec", *FILES)["trials"]
    said = told("replay", "a.rec", *FILES)
    assert len(said["trials"]) == len(truths)
    for trial, truth in zip(said["trials"], truths, strict=True):
        assert (trial["boat"], trial["outcome"]) == (truth["boat"], truth["outcome"])
        assert trial["held_items"] == truth["held_items"]
        assert trial["held_g"] == pytest.approx(truth["held_g"], abs=0.5)
        assert [a["items"] for a in trial["additions"]] == [a["items"] for a in truth["additions"]]
        for found, real in zip(trial["additions"], truth["additions"], strict=True):
            assert found["at_s"] == pytest.approx(real["at_s"], abs=0.6)
            assert found["mass_g"] == pytest.approx(real["mass_g"], abs=0.5)
        assert (trial["sunk_at_s"] is None) == (truth["sunk_at_s"] is None)
        if trial["sunk_at_s"] is not None:
            assert trial["sunk_at_s"] == pytest.approx(truth["sunk_at_s"], abs=1.0)
        assert trial["predicted_capacity_g"] == pytest.approx(truth["capacity_g"], abs=0.5)
    lines = said["lines"]
    assert lines["data"] > 500 and lines["lost"] == 0 and lines["skipped"] == {}


def test_damaged_lines_are_counted_and_harm_nothing(told, tmp_path):
    told("simulate", "clean-box", "--out", "a.rec", *FILES)
    whole = told("replay", "a.rec", *FILES)
    lines = (tmp_path / "a.rec").read_bytes().splitlines(keepends=True)
    lines[200] = lines[200].replace(b"*", b"9*")  # its checksum no longer fits
    del lines[300]
    lines[400:400] = [lines[399], b"\xff\x00 noise\r\n", b"$" + b"x" * 100 + b"\r\n"]
    (tmp_path / "b.rec").write_bytes(b"".join(lines))
    said = told("replay", "b.rec", *FILES)
    assert said["lines"]["lost"] == 2 and sum(said["lines"]["skipped"].values()) == 4
    for key in ("outcome", "held_items"):
        assert said["trials"][0][key] == whole["trials"][0][key]


def test_the_same_seed_gives_the_same_bytes_and_another_does_not(tubrig, tmp_path):
    for name, seed in (("a.rec", "5"), ("b.rec", "5"), ("c.rec", "6")):
        assert tubrig("simulate", "heel", "--out", name, "--seed", seed).returncode == 0
    a, b, c = ((tmp_path / name).read_bytes() for name in ("a.rec", "b.rec", "c.rec"))
    assert a == b != c


def test_in_words(tubrig):
    tubrig("simulate", "heel", "--out", "a.rec", *FILES)
    done = tubrig("replay", "a.rec", *FILES)
    assert "heeled" in done.stdout and "0 lost, 0 lines skipped" in done.stdout
    assert "clean-box" in tubrig("simulate").stdout.split()


@pytest.mark.parametrize(
    ("arguments", "needle"),
    [
        (("replay", "none.rec", "--setup", "rig.toml"), "rig.toml"),
        (("replay",), "Which recording?"),
        (("replay", "a.rec"), "--setup"),
        (("replay", "--trial", "9"), "no trial 9"),
        (("simulate", "flood", "--out", "b.rec"), "no ready-made scenario"),
        (("simulate", "heel"), "--out"),
        (("simulate", "heel", "--out", "a.rec"), "already there"),
        (("simulate", "heel", "--out", "no/where.rec"), "no/where.rec"),
        (("serve", "--setup", "rig.toml"), "rig.toml"),
        (("serve",), "no rig file"),
        (("juggle",), "juggle"),
    ],
)
def test_bad_input_gets_one_line_and_exit_code_2(tubrig, tmp_path, arguments, needle):
    (tmp_path / "a.rec").write_bytes(b"kept")
    done = tubrig(*arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.strip().splitlines()) == 1 and needle in done.stderr
    assert (tmp_path / "a.rec").read_bytes() == b"kept"


def test_a_set_up_error_names_the_line(tubrig, tmp_path):
    tubrig("simulate", "heel", "--out", "a.rec", *FILES)
    rig = tmp_path / "rig.toml"
    rig.write_text(rig.read_text().replace("count_per_g =", "counts_per_g ="))
    done = tubrig("replay", "a.rec", *FILES)
    assert done.returncode == 2 and "rig.toml, line" in done.stderr
    assert "counts_per_g" in done.stderr and "count_per_g" in done.stderr


def test_every_command_has_help_and_a_first_sentence(tubrig):
    overview = tubrig("--help").stdout
    assert "check" in overview  # a group: its own tests
    for command in ("demo", "serve", "predict", "replay", "simulate"):
        assert command in overview
        done = tubrig(command, "--help")
        assert done.returncode == 0 and "--json" in done.stdout
        assert len(done.stdout.splitlines()[2].strip()) > 20


def test_json_is_json_also_for_lists(tubrig):
    assert "clean-box" in json.loads(tubrig("simulate", "--json").stdout)["scenarios"]


def test_corrections_in_a_recording_are_honoured_and_told(tubrig, told, tmp_path):
    told("simulate", "clean-box", "--out", "a.rec", *FILES)
    first = told("replay", "a.rec", *FILES)["trials"][0]
    with open(tmp_path / "a.rec", "ab") as recording:
        for text in ("count,1,17", "merge,2", "merge,99"):
            recording.write(encode(Mark(0, "fix", text)))
    trial = told("replay", "a.rec", *FILES)["trials"][0]
    assert first["additions"][0]["items"] == 20 and first["corrections"] == []
    assert trial["held_items"] == first["held_items"] - 3
    assert len(trial["additions"]) == len(first["additions"]) - 1
    words = ["Teacher: addition 1 was 17, not 20.", "Teacher: additions 2 and 3 were one."]
    assert trial["corrections"] == words
    said = tubrig("replay", "a.rec", *FILES).stdout
    assert all(f"corrected: {text}" in said for text in words)
    assert "note: A correction was not used: There is no addition 99." in said
