"""`tubrig check tub`: on a recording, on the port, on what the running rig has kept."""

import json
from datetime import UTC, datetime, timedelta

import pytest

from rig.cli.checks.tub import until_time, watch
from rig.errors import RigError
from rig.lesson.tub_check import TubCheck
from rig.lesson.tub_facts import TubFacts
from rig.lesson.tub_verdict import TubFinding
from rig.lesson.tub_watch import By
from rig.physics.evaporation import still_water
from rig.records import Block, Store
from rig.sensing.serial_source import SerialSource
from rig.setup import read_setup
from rig.simulator import PtyBoard
from rig.simulator.conditions import BoardPart, Conditions, Water

SCENARIO = """\
seed = 3
watch_min = 13
[rig]
name = "leaky"
layout = "tub-on-cell"
[load]
zero_count = 84213
count_per_g = 430.0
[surface]
height_mm = 300.0
[tub]
area_mm2 = 66000.0
[item]
name = "washer (invented)"
mass_g = 2.5
[water]
leak_ml_h = {leak}
dries_mm_day = 2.0
[board]
rate_hz = 2
"""


@pytest.fixture
def recorded(tubrig, tmp_path):
    """Writes a.rec and rig.toml, of a tub that leaks so much."""

    def made(leak_ml_h):
        (tmp_path / "tub.toml").write_text(SCENARIO.format(leak=leak_ml_h), encoding="utf-8")
        files = ("--out", "a.rec", "--setup", "rig.toml", "--force")
        assert tubrig("simulate", "tub.toml", *files).returncode == 0
        return ("check", "tub", "a.rec", "--setup", "rig.toml")

    return made


def test_a_leaking_tub_is_called_so_with_size_and_time(recorded, tubrig):
    done = tubrig(*recorded(600.0), "--until", "23:59", "--spare-mm", "5")
    assert done.returncode == 2
    assert "The tub leaks about" in done.stdout
    assert "The level is 5 mm lower in 3" in done.stdout  # 9.2 mm/h: half an hour
    assert "Good until 23:59" in done.stdout


def test_a_sound_tub_holds_and_says_it_in_json(recorded, told):
    found = told(*recorded(0.0))
    assert found["finding"] == "holds"
    assert found["sure_high_ml_h"] < 33
    assert found["leak_low_ml_h"] < found["leak_high_ml_h"]
    assert found["words"][0].startswith("The tub holds water")


def test_a_watch_cut_short_is_not_known_yet(recorded, tubrig):
    done = tubrig(*recorded(0.0), "--by", "level", "--minutes", "4", "--json")
    found = json.loads(done.stdout)
    assert done.returncode == 2
    assert found["finding"] == "not known yet"
    assert found["minutes"] == pytest.approx(4, abs=0.05)
    assert found["more_minutes"] > 1


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--until", "25:00"), "Write it as 09:40"),
        (("--humidity", "130"), "0 to 100"),
        (("--pan-hours", "2"), "--pan-fell-mm and --pan-hours"),
        (("--minutes", "0"), "--minutes 0 cannot be"),
    ],
)
def test_errors_have_one_thing_to_do(recorded, tubrig, options, says):
    done = tubrig(*recorded(0.0), *options)
    assert (done.returncode, done.stdout) == (2, "")
    assert says in done.stderr


def test_a_demo_rig_has_no_tub_to_watch(recorded, tubrig):
    recorded(0.0)
    done = tubrig("check", "tub", "--setup", "rig.toml")
    assert done.returncode == 2
    assert "Name a recording" in done.stderr


def test_the_next_such_time_of_day():
    now = datetime(2026, 3, 2, 8, 0)
    assert until_time("9:40", now) == datetime(2026, 3, 2, 9, 40)
    assert until_time("07.30", now) == datetime(2026, 3, 3, 7, 30)
    with pytest.raises(RigError):
        until_time("noon", now)


def test_the_port_is_watched_until_the_leak_is_known(recorded, tmp_path):
    recorded(0.0)
    setup = read_setup(tmp_path / "rig.toml")
    facts = TubFacts(By.WEIGHT, 66_000.0, 20.0, still_water(20, 20))
    leaks = Conditions(water=Water(leak_ml_h=2000.0), board=BoardPart(rate_hz=2.0))
    said = []
    with PtyBoard(setup, leaks, speed=120) as board:
        source = SerialSource(board.path)
        try:
            chunks = iter(source.read, None)
            verdict = watch(TubCheck(setup, facts), chunks, 30, said.append, stop_early=True)
        finally:
            source.close()
    assert verdict.finding is TubFinding.LEAKS
    assert verdict.leak_low_ml_h < 2000 < verdict.leak_high_ml_h
    assert verdict.minutes < 30
    assert said[-1].endswith("leaks")


def test_the_running_rig_is_asked_by_what_it_has_kept(recorded, tubrig, tmp_path):
    command = recorded(600.0)
    lines = (tmp_path / "a.rec").read_bytes().splitlines(keepends=True)
    begin = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
    with Store.open(tmp_path / "data" / "records.sqlite3") as store:
        other = store.begin_run("another rig")
        store.add_blocks(other, [Block(begin, b"$PTRGI,nonsense\r\n")])
        mine = store.begin_run("leaky")
        rows = [Block(begin + timedelta(seconds=i / 2), line) for i, line in enumerate(lines)]
        store.add_blocks(mine, rows)
        late = store.said_lately("leaky", 2)
        assert late == b"".join(lines[-241:])
        assert store.said_lately("nobody", 2) == b""
    done = tubrig(command[0], command[1], "--running", *command[3:], "--json")
    found = json.loads(done.stdout)
    assert found["finding"] == "leaks"
    assert found["minutes"] == pytest.approx(13, abs=0.1)
