"""`tubrig plan sheet` against the open-box problem of a textbook."""

import math

import pytest


def test_the_textbooks_open_box(told):
    """24 x 36: walls of 10 - 2 sqrt 7, 1825 cubic units (OpenStax Calculus volume 1, 4.7)."""
    said = told("plan", "sheet", "--length-mm", "360", "--beam-mm", "240", "--item-g", "100")
    wall = 10 * (10 - 2 * math.sqrt(7))
    assert said["best"]["wall_mm"] == pytest.approx(wall, rel=1e-12)
    assert said["best"]["volume_ml"] == pytest.approx(1825, abs=0.5)
    # 0.9982067 g/ml: Tanaka et al., Metrologia 38 (2001) 301-309, table, 20 deg C
    assert said["best"]["capacity_g"] == pytest.approx(
        said["best"]["volume_ml"] * 0.9982067, rel=1e-7
    )
    assert said["best_items"] == 18
    assert max(fold["capacity_g"] for fold in said["folds"]) <= said["best"]["capacity_g"]


def test_corners_cut_off_make_it_lighter(told):
    sheet = ("plan", "sheet", "--length-mm", "300", "--beam-mm", "200", "--sheet-g", "50")
    whole, cut = told(*sheet), told(*sheet, "--corners-cut")
    off_g = 50 * 4 * whole["best"]["wall_mm"] ** 2 / 60_000
    assert cut["best"]["capacity_g"] > whole["best"]["capacity_g"] + 0.9 * off_g


def test_in_words_and_as_a_page(tubrig, tmp_path):
    sheet = ("plan", "sheet", "--length-mm", "300", "--beam-mm", "200", "--sheet-g", "5")
    done = tubrig(*sheet, "--item-g", "2.5", "--html", "ceiling.html")
    assert (
        "Best walls 39.2 mm: a tray of 222 x 122 mm carries 1049 g, 419 whole items." in done.stdout
    )
    page = (tmp_path / "ceiling.html").read_text()
    assert "Walls of 39 mm: it carries 1049 g, 419 items" in page and page.count("<svg") == 4
    assert not list(tmp_path.glob("*.part"))


@pytest.mark.parametrize(
    ("more", "needle"),
    [
        (("--beam-mm", "0"), "beam_mm"),
        (("--beam-mm", "200", "--item-g", "-1"), "-1 g"),
        (("--beam-mm", "200", "--sheet-g", "90000", "--corners-cut"), "too heavy"),
        (("--beam-mm", "200", "--water-c", "90"), "90 deg C"),
    ],
)
def test_bad_input_gets_one_line(tubrig, more, needle):
    done = tubrig("plan", "sheet", "--length-mm", "300", *more)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.strip().splitlines()) == 1 and needle in done.stderr
