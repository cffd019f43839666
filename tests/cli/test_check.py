"""`tubrig check install`: what is looked at, what it says, and that it is right in the end."""

import os
import pty
import subprocess
from pathlib import Path

import pytest

from rig.cli.machine import Probes, check_machine, held_by
from rig.errors import SetupInvalid

FILES = ("--setup", "rig.toml", "--boats", "boats.toml")
RIG = """\
[rig]
name = "by the window"
layout = "feed-tray"
source = "{source}"
[load]
zero_count = 0
count_per_g = 429.5
[surface]
height_mm = 400
unit = "us"
[tub]
area_mm2 = {area_mm2}
[item]
name = "washer"
mass_g = 2.5
"""
BOATS = """\
[[boat]]
label = "Group 3"
hull = "box"
length_mm = 150
beam_mm = 100
depth_mm = 40
mass_g = 20
"""


@pytest.fixture
def rig(tmp_path):
    """Write the two files."""

    def write(area_mm2=60_000, source="demo"):
        (tmp_path / "rig.toml").write_text(RIG.format(area_mm2=area_mm2, source=source))
        (tmp_path / "boats.toml").write_text(BOATS)

    write()
    return write


def test_a_rig_that_is_right(tubrig, rig):
    """25 g raise 600 cm2 by 0.417 mm (Archimedes; 0.9982 g/ml, Tanaka 2001)."""
    done = tubrig("check", "install", *FILES)
    assert (done.returncode, done.stderr) == (0, "")
    *lines, last = done.stdout.splitlines()
    assert last == "Ready for class." and len(lines) == 7
    assert all(line.startswith("ok  ") for line in lines)
    assert "0.42 mm for 10 items (25.0 g)" in done.stdout


def test_a_tub_too_wide_is_told_in_millimetres(tubrig, rig):
    rig(area_mm2=200_000)
    done = tubrig("check", "install", *FILES)
    assert (done.returncode, done.stderr) == (2, "")
    mend = [line for line in done.stdout.splitlines() if line.startswith("MEND")]
    assert len(mend) == 3 and done.stdout.endswith("3 things to mend.\n")
    assert "too coarse for this tub: the water rises 0.01 mm for 1 item" in mend[0]
    assert "0.40 mm apart" in mend[0] and "Use a tub of" in mend[0]


def test_in_json(tubrig, told, rig):
    said = told("check", "install", *FILES)
    assert said["ok"] is True
    assert [f["about"] for f in said["findings"]] == [
        "folder", "disk", "clock", "item", "level", "freeboard", "sinking",
    ]  # fmt: skip
    level = said["findings"][4]
    assert level["rises"][2]["level_mm"] == pytest.approx(25 / 0.9982067 / 60, rel=1e-6)
    assert level["level_2sd_mm"] == pytest.approx(0.4) and level["do"] == ""
    rig(area_mm2=200_000)
    done = tubrig("check", "install", *FILES, "--json")
    assert done.returncode == 2 and '"ok": false' in done.stdout


def test_measured_noise_and_rate_count(told, tubrig, rig):
    noisy = tubrig("check", "install", *FILES, "--surface-noise-mm", "3")
    assert noisy.returncode == 2 and "1.20 mm apart" in noisy.stdout
    # 200 readings to a hold: half the usual 0.4 mm
    quick = told("check", "install", *FILES, "--rate-hz", "40")
    assert quick["findings"][4]["level_2sd_mm"] == pytest.approx(0.2)


def test_files_in_the_data_folder_need_no_options(told, rig, tmp_path):
    (tmp_path / "data").mkdir()
    for name in ("rig.toml", "boats.toml"):
        (tmp_path / name).rename(tmp_path / "data" / name)
    assert [f["boat"] for f in told("check", "install")["findings"][3:]] == [
        None, None, "Group 3", "Group 3",
    ]  # fmt: skip


def test_without_gauges_the_teacher_taps(told, rig, tmp_path):
    text = (tmp_path / "rig.toml").read_text()
    (tmp_path / "rig.toml").write_text(text[: text.index("[surface]")])
    assert 'tap "sunk"' in told("check", "install", *FILES)["findings"][-1]["says"]


def test_a_port_that_is_there_and_one_that_is_not(tubrig, rig):
    ours, theirs = pty.openpty()
    name = os.ttyname(theirs)
    rig(source=f"serial:{name}")
    try:
        done = tubrig("check", "install", *FILES)
        assert done.returncode == 2 and f"Another program holds {name}: " in done.stdout
        os.close(theirs)
        done = tubrig("check", "install", *FILES)
        assert done.returncode == 0 and f"{name} is there and may be opened." in done.stdout
    finally:
        os.close(ours)
    rig(source="serial:/dev/ttyNONE")
    done = tubrig("check", "install", *FILES)
    assert done.returncode == 2 and "MEND  /dev/ttyNONE is not there." in done.stdout


@pytest.mark.parametrize(
    ("arguments", "needle"),
    [
        (("check",), "Missing command"),
        (("check", "weather"), "weather"),
        (("check", "install", "--setup", "none.toml"), "none.toml"),
        (("check", "install", *FILES, "--rate-hz", "nan"), "nan"),
        (("check", "install", *FILES, "--surface-noise-mm", "0"), "above 0"),
    ],
)
def test_bad_input_gets_one_line_and_exit_code_2(tubrig, rig, arguments, needle):
    done = tubrig(*arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.strip().splitlines()) == 1 and needle in done.stderr


def test_it_is_in_the_overview(tubrig):
    assert "  check " in tubrig("--help").stdout
    assert "install" in tubrig("check", "--help").stdout
    assert "--json" in tubrig("check", "install", "--help").stdout


FOLDER = Path("/data/tubrig")
CHIP = "/dev/gpiochip0"
BARRED_CHIP = {"there": ("/", "/data", CHIP), "barred": (CHIP,)}
ACM0 = "/dev/ttyACM0"


def machine(
    source="demo",
    there=("/", "/data", ACM0),
    barred=(),
    free_mb=5000,
    year=2026,
    driver=True,
    holder="",
):
    """What is said of a machine that has these paths."""

    def load():
        if not driver:
            raise SetupInvalid("This computer has no pins.", "Install 'tubrig[pi]'.")

    probes = Probes(
        exists=lambda path: str(path) in there,
        may_use=lambda path: str(path) not in barred,
        free_bytes=lambda path: {Path("/data"): free_mb * 1_000_000}[path],
        ports=lambda: ["/dev/ttyUSB0", "/dev/ttyUSB1"],
        year=lambda: year,
        driver=load,
        holder=lambda path: holder,
    )
    return {check.about: check for check in check_machine(source, FOLDER, probes)}


def test_a_machine_that_is_ready():
    said = machine(f"serial:{ACM0}")
    assert list(said) == ["port", "folder", "disk", "clock"]
    assert all(check.ok and not check.do for check in said.values())
    assert "/data/tubrig" in said["folder"].says and "5000 MB" in said["disk"].says


@pytest.mark.parametrize(
    ("about", "said", "says", "do"),
    [
        ("port", {"source": f"serial:{ACM0}", "barred": (ACM0,)}, "may not open", "dialout"),
        ("port", {"source": "serial:/dev/x"}, "/dev/x is not there", "/dev/ttyUSB0, /dev/ttyUSB1"),
        (
            "port",
            {"source": f"serial:{ACM0}", "holder": "cat (process 7)"},
            "cat (process 7)",
            "systemctl stop tubrig",
        ),
        ("pins", {"source": "gpio", "driver": False}, "no pins", "tubrig[pi]"),
        ("pins", {"source": "gpio"}, "shows no pins", "/dev/gpiochip4"),
        ("pins", {"source": "gpio", **BARRED_CHIP}, "may not use", "usermod"),
        ("folder", {"barred": ("/data",)}, "read and write in /data", "--data-dir"),
        ("disk", {"free_mb": 199}, "Only 199 MB", "200 MB"),
        ("clock", {"year": 1970}, "1970", "set the clock"),
        ("clock", {"year": 2024}, "2024", "set the clock"),
    ],
)
def test_each_trouble_of_the_machine_is_named_with_what_to_do(about, said, says, do):
    checks = machine(**said)
    assert [name for name, check in checks.items() if not check.ok] == [about]
    assert says in checks[about].says and do in checks[about].do


def test_pins_that_can_be_used():
    said = machine("gpio", there=("/", "/data", CHIP))
    assert list(said) == ["pins", "folder", "disk", "clock"] and said["pins"].ok
    assert CHIP in said["pins"].says


def test_who_holds_a_port_is_found_without_opening_it():
    controller, terminal = pty.openpty()
    path = Path(os.ttyname(terminal))
    assert held_by(path) == ""  # ourselves do not count
    other = subprocess.Popen(["sleep", "60"], stdin=terminal)
    try:
        assert held_by(path) == f"sleep (process {other.pid})"
    finally:
        other.kill()
        other.wait()
        os.close(controller)
        os.close(terminal)


def test_just_enough_is_enough():
    assert machine(free_mb=200)["disk"].ok and machine(year=2025)["clock"].ok


def test_a_disk_that_will_not_tell():
    def broken(path):
        raise OSError(5, "Input/output error")

    checks = check_machine("demo", Path("/"), Probes(free_bytes=broken))
    assert [c.about for c in checks if not c.ok] == ["disk"]
    assert "Input/output error" in checks[0].says


# What the check foresees, the trial engine must find: a boat that swamps in front of a surface
# gauge alone, in a tub where its sinking is plain and in one too wide.
SCENE = """\
setup = "rig.toml"
boats = "boats.toml"
seed = 4
[noise]
surface_mm = 1.0
[[trial]]
boat = "Group 3"
items = 300
add = [[5.0, 120], [7.0, 100]]
then = [7.0, 5]
"""


@pytest.mark.parametrize(("area_mm2", "noticed"), [(120_000, True), (900_000, False)])
def test_the_engine_notices_what_the_check_says_it_can(tubrig, told, rig, tmp_path, area_mm2,
                                                       noticed):  # fmt: skip
    rig(area_mm2=area_mm2)
    (tmp_path / "scene.toml").write_text(SCENE)
    (truth,) = told("simulate", "scene.toml", "--out", "a.rec")["trials"]
    assert truth["sunk_at_s"] is not None
    (trial,) = told("replay", "a.rec", *FILES)["trials"]
    assert (trial["sunk_at_s"] is not None) is noticed
    done = tubrig("check", "install", *FILES, "--surface-noise-mm", "1")
    assert ("may miss the sinking" not in done.stdout) is noticed
