"""Scenarios: checked as they are read, the same every time, and true to their name."""

from pathlib import Path

import pytest

from rig.errors import OutOfRange, SetupInvalid
from rig.sensing.sentences import Fault, Identity
from rig.sensing.stream import OperatorMark, Sample, Stream
from rig.setup import read_boats, read_setup
from rig.simulator.scenario import read_scenario, ready_made
from rig.simulator.tape import simulate

FATES = {
    "clean-box": ["swamped"],
    "tub-on-cell": ["swamped"],
    "leak": ["leaked"],
    "heel": ["heeled"],
    "load-cell-only": ["swamped"],
    "afloat": ["afloat"],
    "class": ["swamped", "swamped", "swamped", "heeled", "swamped", "afloat", "leaked"],
}

BASE = """
seed = 3
[rig]
name = "test"
layout = "feed-tray"
[load]
zero_count = 0
count_per_g = 400
[surface]
height_mm = 400
[rim]
height_mm = 400
flag_mm = 50
[item]
name = "washer"
mass_g = 2.5
[[boat]]
label = "Pipit"
hull = "box"
length_mm = 50
beam_mm = 40
depth_mm = 20
mass_g = 5
[[trial]]
boat = "Pipit"
then = [6.0, 6]
"""


def written(tmp_path: Path, text: str, name: str = "mine.toml") -> Path:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_every_ready_made_scenario_is_tested_here():
    assert ready_made() == sorted(FATES)


@pytest.mark.parametrize("name", FATES)
def test_a_ready_made_scenario_has_the_fate_it_names(name):
    scenario = read_scenario(name)
    recording, truth = simulate(scenario)
    assert [trial["outcome"] for trial in truth["trials"]] == FATES[name]
    stream = Stream()
    items = [*stream.feed(recording), *stream.finish()]
    assert (stream.count.lost, dict(stream.count.skipped)) == (0, {})
    assert isinstance(items[0], Identity)
    assert not [item for item in items if isinstance(item, Fault)]
    marks = [(item.word, item.text) for item in items if isinstance(item, OperatorMark)]
    end = "sunk" if name == "load-cell-only" else "stop"
    assert marks == [
        mark for trial in truth["trials"] for mark in (("start", trial["boat"]), (end, ""))
    ]


@pytest.mark.parametrize("name", FATES)
def test_the_truth_of_a_ready_made_scenario_agrees_with_itself(name):
    scenario = read_scenario(name)
    for trial in simulate(scenario)[1]["trials"]:
        load_g = sum(addition["mass_g"] for addition in trial["additions"])
        before_g = load_g - trial["additions"][-1]["mass_g"]
        if trial["outcome"] == "swamped":
            assert before_g <= trial["capacity_g"] < load_g
            assert trial["held_g"] == pytest.approx(before_g, abs=0.001)
            assert 0 < trial["sunk_at_s"] - trial["additions"][-1]["at_s"] < 1
            # no trial stands on the edge, where truth and reading could honestly differ
            assert min(trial["capacity_g"] - before_g, load_g - trial["capacity_g"]) > 0.3
        else:
            assert load_g < trial["capacity_g"] - 20
        if trial["outcome"] == "afloat":
            assert trial["sunk_at_s"] is None
            assert trial["held_g"] == pytest.approx(load_g, abs=0.001)


def test_boats_of_the_class_hold_20_to_140_items_and_take_about_a_minute():
    scenario = read_scenario("class")
    trials = simulate(scenario)[1]["trials"]
    assert {boat.hull.family for boat in scenario.boats.values()} == {"box", "tray", "dish"}
    assert [trial["boat"] for trial in trials] == list(scenario.boats)
    for trial in trials:
        assert 20 <= trial["capacity_g"] / 2.5 <= 140
        last_s = trial["sunk_at_s"] or trial["additions"][-1]["at_s"]
        assert 50 <= last_s <= 90  # and some ten seconds until the end is certain


def test_same_seed_same_bytes_other_seed_other_bytes(tmp_path):
    path = written(tmp_path, BASE)
    first = simulate(read_scenario(path))
    assert simulate(read_scenario(path)) == first
    written(tmp_path, BASE.replace("seed = 3", "seed = 4"))
    assert simulate(read_scenario(path))[0] != first[0]


def test_noise_does_not_move_the_hands(tmp_path):
    path = written(tmp_path, BASE.replace("[item]", "[item]\nmass_sd_g = 0.1"))
    truth = simulate(read_scenario(path))[1]
    written(tmp_path, path.read_text() + "[noise]\nload_g = 3.0\nrim_mm = 0\n")
    _recording, noisy_truth = simulate(read_scenario(path))
    assert noisy_truth == truth


def test_times_count_from_the_start_mark(tmp_path):
    recording, truth = simulate(read_scenario(written(tmp_path, BASE)))
    items = Stream().feed(recording)
    start = next(item for item in items if isinstance(item, OperatorMark))
    full_g = max(item.load_count for item in items if isinstance(item, Sample)) / 400
    first_lighter = next(
        item for item in items if isinstance(item, Sample) and item.load_count / 400 < full_g - 2
    )
    at_s = truth["trials"][0]["additions"][0]["at_s"]
    assert at_s == pytest.approx(6.0, abs=0.02)
    assert 0 <= (first_lighter.at_ms - start.at_ms) / 1000 - at_s <= 0.11


def test_two_trials_and_a_clock_that_begins_anew(tmp_path):
    text = BASE + '[[trial]]\nboat = "Pipit"\nadd = [[6.0, 2]]\nends = "void"\n'
    path = written(tmp_path, text + "[board]\nrestarts = true\nrate_hz = 80\n")
    recording, truth = simulate(read_scenario(path))
    assert [trial["outcome"] for trial in truth["trials"]] == ["swamped", "void"]
    assert truth["trials"][1]["additions"] == [{"at_s": 6.0, "mass_g": 5.0, "items": 2}]
    stream = Stream()
    items = stream.feed(recording)
    assert [item.restarted for item in items if isinstance(item, Sample)].count(True) == 1
    assert sum(isinstance(item, Identity) for item in items) == 2
    assert [item.word for item in items if isinstance(item, OperatorMark)] == [
        "start",
        "stop",
        "start",
        "void",
    ]
    assert not stream.count.skipped


def test_a_sensor_dies_in_the_middle(tmp_path):
    path = written(tmp_path, BASE.replace("then = ", "silent = {surface = 8.0}\nthen = "))
    items = Stream().feed(simulate(read_scenario(path))[0])
    start = next(item for item in items if isinstance(item, OperatorMark))
    for item in items:
        if isinstance(item, Sample):
            assert (item.surface_raw is None) == (item.at_ms - start.at_ms >= 8000)
    assert [item.code for item in items if isinstance(item, Fault)] == ["E03"]


def test_set_up_and_boats_may_stand_in_their_own_files(tmp_path):
    inline = read_scenario(written(tmp_path, BASE))
    written(tmp_path, inline.setup_toml(), "rig.toml")
    written(tmp_path, inline.boats_toml(), "boats.toml")
    text = 'seed = 3\nsetup = "rig.toml"\nboats = "boats.toml"\n' + BASE[BASE.index("[[trial]]") :]
    apart = read_scenario(written(tmp_path, text, "apart.toml"))
    assert apart == inline
    assert simulate(apart) == simulate(inline)


@pytest.mark.parametrize("name", FATES)
def test_a_scenario_gives_its_rig_and_boats_files(tmp_path, name):
    scenario = read_scenario(name)
    assert read_setup(written(tmp_path, scenario.setup_toml())) == scenario.setup
    assert read_boats(written(tmp_path, scenario.boats_toml())) == dict(scenario.boats)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("seed = 3", "sede = 3", r"mine\.toml.*sede.*no such key"),
        ("count_per_g = 400", "count_per_g = 0", r"line 8.*count_per_g: this must not be 0"),
        ('\nboat = "Pipit"', '\nboat = "Pippin"', r'line 25.*there is no boat "Pippin"'),
        ("then = [6.0, 6]", "", r"\[\[trial\]\] 1.*nothing would be put aboard"),
        ("then = [6.0, 6]", "then = [0, 6]", r"line 26.*then.*above 0"),
        ("then =", "leak = 1\nthen =", r"\[\[trial\]\] 1 leak.*no such key"),
        ("[item]\n", "[water]\ndepth = 3\n[item]\n", r"line 1\d.*depth.*no such key"),
        ('[item]\nname = "washer"\nmass_g = 2.5', "", r"\[item\].*missing"),
        ("seed = 3", 'seed = 3\nsetup = "rig.toml"', r"setup.*not both"),
        ("seed = 3", 'seed = 3\nboats = "boats.toml"', r"boats.*not both"),
    ],
)
def test_a_mistake_is_named_with_its_key(tmp_path, old, new, words):
    assert old in BASE
    with pytest.raises(SetupInvalid, match=words):
        read_scenario(written(tmp_path, BASE.replace(old, new, 1)))


def test_a_label_in_any_script_comes_back_from_the_recording(tmp_path):
    label = "é, * $ 川獺" * 3
    recording, truth = simulate(read_scenario(written(tmp_path, BASE.replace("Pipit", label))))
    mark = next(item for item in Stream().feed(recording) if isinstance(item, OperatorMark))
    assert (mark.word, mark.text) == ("start", label)
    assert truth["trials"][0]["boat"] == label


def test_two_boats_may_not_share_a_label(tmp_path):
    boat = BASE[BASE.index("[[boat]]") : BASE.index("[[trial]]")]
    with pytest.raises(SetupInvalid, match=r'\[\[boat\]\] 2 label: "Pipit" is there twice'):
        read_scenario(written(tmp_path, BASE + boat))


def test_a_name_that_is_none_lists_those_there_are():
    with pytest.raises(SetupInvalid, match=r"no ready-made scenario.*clean-box"):
        read_scenario("clean-bath")


def test_a_boat_too_big_for_the_tub_is_named(tmp_path):
    path = written(tmp_path, BASE + "[tub]\narea_mm2 = 1500\n")
    with pytest.raises(OutOfRange, match=r"Pipit is wider than the tub"):
        simulate(read_scenario(path))
