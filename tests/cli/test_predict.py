"""`tubrig predict` against worked examples of others."""

import json
import math
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
import trimesh

TUBRIG = str(Path(sys.executable).with_name("tubrig"))
WATER = 0.9982067  # g/ml, Tanaka et al., Metrologia 38 (2001) 301-309, table, 20 deg C
BOX = ("--hull", "box", "--length-mm", "150", "--beam-mm", "100", "--depth-mm", "40")


def test_a_box_by_hand(told):
    """0.9982067 g/ml: Tanaka et al., Metrologia 38 (2001) 301-309, table, 20 deg C."""
    said = told("predict", *BOX, "--mass-g", "20", "--item-g", "2.5", "--water-c", "20")
    assert said["prediction"]["capacity_g"] == pytest.approx(600 * WATER - 20, abs=1e-4)
    assert said["prediction"]["capacity_items"] == 231
    assert said["empty"]["draft_mm"] == pytest.approx(20 / (15 * WATER), rel=1e-6)
    assert said["empty"]["freeboard_mm"] == pytest.approx(40 - said["empty"]["draft_mm"], rel=1e-12)
    loads = [point["load_g"] for point in said["points"]]
    assert loads[0] == 0 and loads == sorted(loads)
    assert loads[-1] == said["prediction"]["capacity_g"]
    for point in said["points"]:
        assert point["draft_mm"] + point["freeboard_mm"] == pytest.approx(40, rel=1e-12)
    assert said["points"][-1]["freeboard_mm"] == pytest.approx(0, abs=1e-9)


def test_the_range_up_to_a_dry_rim(told):
    """2 lc sin 45 deg, surface tension 72.74 mN/m at 20 deg C (IAPWS R1-76): 3.85 mm x 150 cm2."""
    said = told("predict", *BOX, "--mass-g", "20", "--water-c", "20")["prediction"]
    lc_mm = 1000 * math.sqrt(0.07274 / (998.2067 * 9.80665))
    most_mm = 2 * lc_mm * math.sin(math.radians(45))
    assert said["held_back_mm"] == pytest.approx(most_mm, rel=2e-3)
    assert said["held_back_g"] - said["capacity_g"] == pytest.approx(15 * WATER * most_mm, rel=2e-3)


def test_the_bills_ruler_line_is_the_root_sum_of_its_measures(told):
    """GUM 5.1.2: 1 mm on each side of 150 x 100 x 40 mm."""
    said = told("predict", *BOX, "--mass-g", "20", "--water-c", "20")
    ruler = next(line for line in said["bill"]["lines"] if line["key"] == "ruler")
    per_mm = [100 * 40, 150 * 40, 150 * 100]
    assert ruler["sd_g"] == pytest.approx(math.hypot(*per_mm) / 1000 * WATER, rel=1e-4)
    assert sum(line["share"] for line in said["bill"]["lines"]) == pytest.approx(1)
    assert said["bill"]["lines"] == sorted(said["bill"]["lines"], key=lambda x: -x["share"])


def test_the_cargo_of_a_published_box_at_a_hundredth_of_its_size(told):
    """A box of 2.4 x 1.2 x 0.8 m that draws 0.2 m takes 1.75 t more until its gunwale is level.

    Source: nautical stability course, chapter 3 (third-party page), in water of 1.012 t/m3;
    1.728 m3 of cargo in any water. At 1:10 it is 1728 ml, its own mass the water of a 20 mm draft.
    """
    own_g = 24 * 12 * 2 * WATER
    said = told("predict", "--length-mm", "240", "--beam-mm", "120", "--depth-mm", "80",
                "--mass-g", f"{own_g:.6f}")  # fmt: skip
    assert said["empty"]["draft_mm"] == pytest.approx(20, abs=1e-4)
    carries = said["prediction"]["capacity_g"]
    assert carries / WATER * 1.012 / 1000 == pytest.approx(1.75, abs=0.005)
    assert said["prediction"]["capacity_items"] is None and said["likely_items"] is None


def test_stability_of_a_published_box(told):
    """Beam 12, draft 4: KB 2, BM 3, KM 5 (Barrass and Derrett, 5th ed., p. 130, Example 2(a))."""
    own_g = 650 * 120 * 40 / 1000 * WATER
    said = told("predict", "--length-mm", "650", "--beam-mm", "120", "--depth-mm", "80",
                "--mass-g", f"{own_g:.6f}")["stability"]  # fmt: skip
    assert [said[key] for key in ("kb_mm", "bm_mm", "km_mm")] == pytest.approx(
        [20, 30, 50], abs=1e-3
    )


def tray_ml(depth, a, b, c, d):
    """The prismatoid rule, exact for a cubic: h/6 (A0 + 4 Am + A1)."""
    return depth / 6 * (a * b + (a + c) * (b + d) + c * d) / 1000


# What each worked line of --help carries, by school geometry: volume [ml], mass [g].
BY_HAND = {
    "box": (150 * 100 * 40 / 1000, 20),
    "tray": (tray_ml(35, 140, 80, 180, 120), 18),
    "dish": (math.pi * 45 / 3 * (80**2 + 80 * 50 + 50**2) / 1000, 15),
    "bowl": (math.pi * 50**2 / 3 * (3 * (60**2 + 50**2) / (2 * 50) - 50) / 1000, 90),  # a cap
    "trough": (math.pi * 45**2 / 2 * 160 / 1000, 25),  # half a tube: its depth is its radius
    "vee": (160 * 90 * 45 / 2 / 1000, 22),
    "tubes": (12 * math.pi * 6**2 * 200 / 1000, 20),
    "raft": (200 * 120 * 25 / 1000, 0.03 * 600),
    "brimful": (480, 16),
    "twin": (2 * 160 * 45 * 40 / 1000, 30),
    "sections": (tray_ml(20, 120, 60, 140, 70) + tray_ml(20, 140, 70, 150, 80), 20),
    "mesh": (120 * 80 * 40 / 1000, 20),
}


def test_every_family_has_a_worked_line(worked):
    assert list(worked) == [*BY_HAND, "boats"]


@pytest.mark.parametrize("family", [*BY_HAND, "boats"])
def test_the_worked_lines_of_the_help(worked, tubrig, tmp_path, family):
    trimesh.creation.box((120, 80, 40)).export(tmp_path / "boat.stl")
    (tmp_path / "boats.toml").write_text(
        '[[boat]]\nlabel = "Otters"\nhull = "box"\nlength_mm = 150\nbeam_mm = 100\n'
        "depth_mm = 40\nmass_g = 20\n"
    )
    volume_ml, mass_g = BY_HAND["box" if family == "boats" else family]
    done = tubrig(*worked[family], "--json")
    assert done.returncode == 0, done.stderr
    said = json.loads(done.stdout)
    assert said["prediction"]["capacity_g"] == pytest.approx(volume_ml * WATER - mass_g, rel=1e-6)
    assert said["hull"] == ("box" if family == "boats" else family)
    assert said["outlook"]["words"].endswith(".") and len(said["bears"]) == 3
    assert said["bill"]["low_g"] < said["bill"]["expected_g"] < said["bill"]["high_g"]


@pytest.fixture(scope="module")
def worked():
    """The lines below "One of each family", as a shell would read them."""
    done = subprocess.run([TUBRIG, "predict", "--help"], capture_output=True, text=True, check=True)
    text = done.stdout.split("One of each family", 1)[1].replace("\\\n", "")
    lines = [shlex.split(line)[1:] for line in text.splitlines() if "tubrig predict" in line]
    return {line[2] if line[1] == "--hull" else "boats": line for line in lines}


def test_sections_by_corners_are_those_by_length_and_beam(told):
    rows = (
        ("0:120x60", "40:150x80"),
        ("0:60,30/-60,30/-60,-30/60,-30", "40:75,40/-75,40/-75,-40/75,-40"),
    )
    found = [
        told("predict", "--hull", "sections", "--section", low, "--section", high, "--mass-g", "20")
        for low, high in rows
    ]
    assert found[0]["prediction"]["capacity_g"] == pytest.approx(
        found[1]["prediction"]["capacity_g"]
    )


def test_measured_inside_the_walls_are_added(told):
    """2 mm all round and below: 154 x 104 x 42 mm outside."""
    said = told("predict", *BOX, "--mass-g", "20", "--inside", "--wall-mm", "2")
    carries = 154 * 104 * 42 / 1000 * WATER - 20
    assert said["prediction"]["capacity_g"] == pytest.approx(carries, abs=1e-4)
    assert any(line["key"] == "wall" and line["sd_g"] > 0 for line in said["bill"]["lines"])


def test_a_pile_stands_less_sure_than_a_spread_load(told):
    """KG of a pile of 4 g/ml on 400 mm2 under 145 g is 45 mm; spread it lies at 1 mm."""
    spread = told("predict", *BOX, "--mass-g", "20")
    piled = told("predict", *BOX, "--mass-g", "20", "--pile-mm2", "400")
    for a, b in zip(spread["bears"], piled["bears"], strict=True):
        assert a["load_g"] == b["load_g"] and a["limit"]["limit_mm"] > b["limit"]["limit_mm"]
    assert piled["outlook"]["first"] == "turns over" and spread["outlook"]["first"] == "fills"


def test_in_words(tubrig):
    done = tubrig("predict", *BOX, "--mass-g", "20", "--item-g", "2.5")
    for line in (
        "It carries 578.9 g, which is 231 whole items.",
        "Up to 636.6 g while a clean dry rim holds back 3.9 mm of water.",
        "Nine times in ten 563 to 633 g, 225 to 253 items.",
        "Wide and low: it will fill before it tips.",
    ):
        assert line in done.stdout


@pytest.mark.parametrize(
    ("arguments", "needle"),
    [
        (("--length-mm", "150", "--beam-mm", "100", "--mass-g", "20"), "--depth-mm"),
        ((*BOX, "--mass-g", "2000"), "goes down empty"),
        ((*BOX, "--mass-g", "-1"), "-1 g"),
        ((*BOX, "--mass-g", "nan"), "nan g"),
        ((*BOX, "--mass-g", "20", "--item-g", "0"), "0 g"),
        ((*BOX, "--mass-g", "20", "--water-c", "85"), "85 deg C"),
        ((*BOX, "--mass-g", "20", "--diameter-mm", "5"), "--diameter-mm"),
        ((*BOX[:-1], "-3", "--mass-g", "20"), "depth_mm"),
        ((*BOX, "--mass-g", "much"), "not a valid float"),
        (BOX, "--mass-g"),
        (("--hull", "twin", *BOX[2:], "--mass-g", "20"), "--each, --spacing-mm"),
        (
            ("--hull", "twin", "--each", "box", *BOX[2:], "--spacing-mm", "50", "--mass-g", "20"),
            "overlap",
        ),
        ((*BOX, "--mass-g", "20", "--spacing-mm", "50"), "--spacing-mm"),
        ((*BOX, "--density-g-ml", "0.1"), "--density-g-ml"),
        (("--hull", "sections", "--mass-g", "20"), "--section"),
        (("--hull", "sections", "--section", "0:wide", "--mass-g", "20"), '"0:wide"'),
        (("--hull", "sections", "--section", "0:9x9", "--mass-g", "20"), "Sections must be two"),
        (("--hull", "mesh", "--mass-g", "20"), "--stl"),
        (("--hull", "mesh", "--stl", "no.stl", "--mass-g", "20"), "no.stl"),
        ((*BOX, "--mass-g", "20", "--inside"), "--wall-mm"),
        ((*BOX, "--mass-g", "20", "--pile-mm2", "0"), "footprint"),
        ((*BOX, "--mass-g", "20", "--html", "/no/such/folder/a.html"), "/no/such/folder/a.html"),
        (("--boats", "none.toml"), "none.toml"),
        (("--label", "Otters"), "--boats"),
        ((*BOX, "--mass-g", "20", "--size", "9"), "--size"),
    ],
)
def test_bad_input_gets_one_line_and_exit_code_2(tubrig, arguments, needle):
    done = tubrig("predict", *arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.strip().splitlines()) == 1 and needle in done.stderr
