"""`tubrig check parts` in a process of its own."""

import pytest


def test_it_prints_cells_level_and_gauges(tubrig):
    done = tubrig("check", "parts")
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    row = "2 1073.7 0.030 0.055 0.012 take this too small"
    assert row in [" ".join(line.split()) for line in lines]
    assert "100 g aboard lift the water by 0.42 mm." in lines
    assert "  echo: a spot 79 mm wide on the water, 58 mm on the flag of a full boat." in lines
    assert all(len(line) <= 120 for line in lines)


def test_its_json_says_the_same(told):
    said = told("check", "parts", "--tub-length-mm", "400", "--tub-width-mm", "250")
    assert said["plan"]["tub_length_mm"] == 400
    assert said["level"][0]["rise_mm_per_100_g"] == pytest.approx(1.0018, abs=1e-4)
    assert [s["kind"] for s in said["spots"]] == ["echo", "light"]


def test_what_cannot_be_is_one_line(tubrig):
    done = tubrig("check", "parts", "--gauge-mm", "100")
    assert done.returncode == 2 and len(done.stderr.strip().splitlines()) == 1
    assert "Hang the gauges higher" in done.stderr
