"""`tubrig predict` against worked examples of others."""

import math

import pytest

BOX = ("--hull", "box", "--length-mm", "150", "--beam-mm", "100", "--depth-mm", "40")


def test_a_box_by_hand(told):
    """0.9982067 g/ml: Tanaka et al., Metrologia 38 (2001) 301-309, table, 20 deg C."""
    said = told("predict", *BOX, "--mass-g", "20", "--item-g", "2.5", "--water-c", "20")
    assert said["capacity_g"] == pytest.approx(600 * 0.9982067 - 20, abs=1e-4)
    assert said["capacity_items"] == 231
    assert said["draft_empty_mm"] == pytest.approx(20 / (15 * 0.9982067), rel=1e-6)
    assert said["freeboard_empty_mm"] == pytest.approx(40 - said["draft_empty_mm"], rel=1e-12)
    loads = [point["load_g"] for point in said["curve"]]
    assert loads[0] == 0 and loads == sorted(loads) and loads[-1] == said["capacity_g"]
    for point in said["curve"]:
        assert point["draft_mm"] + point["freeboard_mm"] == pytest.approx(40, rel=1e-12)
    assert said["curve"][-1]["freeboard_mm"] == pytest.approx(0, abs=1e-9)


def test_the_cargo_of_a_published_box_at_a_hundredth_of_its_size(told):
    """A box of 2.4 x 1.2 x 0.8 m that draws 0.2 m takes 1.75 t more until its gunwale is level.

    Source: nautical stability course, chapter 3 (third-party page), in water of 1.012 t/m3;
    1.728 m3 of cargo in any water. At 1:10 it is 1728 ml, its own mass the water of a 20 mm draft.
    """
    density = 0.9982067  # Tanaka et al. (2001), 20 deg C
    own_g = 24 * 12 * 2 * density
    said = told("predict", "--length-mm", "240", "--beam-mm", "120", "--depth-mm", "80",
                "--mass-g", f"{own_g:.6f}")  # fmt: skip
    assert said["draft_empty_mm"] == pytest.approx(20, abs=1e-4)
    assert said["capacity_g"] / density * 1.012 / 1000 == pytest.approx(1.75, abs=0.005)
    assert said["capacity_items"] is None


def test_stability_of_a_published_box(told):
    """Beam 12, draft 4: KB 2, BM 3, KM 5 (Barrass and Derrett, 5th ed., p. 130, Example 2(a))."""
    own_g = 650 * 120 * 40 / 1000 * 0.9982067
    said = told("predict", "--length-mm", "650", "--beam-mm", "120", "--depth-mm", "80",
                "--mass-g", f"{own_g:.6f}")["stability_empty"]  # fmt: skip
    assert [said[key] for key in ("kb_mm", "bm_mm", "km_mm")] == pytest.approx(
        [20, 30, 50], abs=1e-3
    )


def test_the_other_families(told):
    tray = told("predict", "--hull", "tray", "--length-mm", "120", "--beam-mm", "90",
                "--bottom-length-mm", "80", "--bottom-beam-mm", "60", "--depth-mm", "30",
                "--mass-g", "0")  # fmt: skip
    # the prismatoid rule, exact for a cubic: h/6 (A0 + 4 Am + A1)
    volume = 30 / 6 * (80 * 60 + 4 * 100 * 75 + 120 * 90) / 1000
    assert tray["capacity_g"] == pytest.approx(volume * 0.9982067, abs=1e-4)
    dish = told("predict", "--hull", "dish", "--diameter-mm", "120", "--bottom-diameter-mm", "80",
                "--depth-mm", "30", "--mass-g", "0")  # fmt: skip
    volume = math.pi * 30 / 3 * (60**2 + 60 * 40 + 40**2) / 1000
    assert dish["capacity_g"] == pytest.approx(volume * 0.9982067, abs=1e-4)


def test_in_words(tubrig):
    done = tubrig("predict", *BOX, "--mass-g", "20", "--item-g", "2.5")
    assert "It carries 578.9 g, which is 231 whole items." in done.stdout


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
        ((*BOX, "--mass-g", "20", "--size", "9"), "--size"),
    ],
)
def test_bad_input_gets_one_line_and_exit_code_2(tubrig, arguments, needle):
    done = tubrig("predict", *arguments)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.strip().splitlines()) == 1 and needle in done.stderr
