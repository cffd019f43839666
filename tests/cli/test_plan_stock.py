"""`tubrig plan stock` as a person runs it."""

import pytest

RIG = """\
[rig]
name = "by the window"
layout = "feed-tray"
[load]
zero_count = 0
count_per_g = {count_per_g}
"""


def test_the_table(tubrig):
    done = tubrig("plan", "stock", "--region", "US")
    assert done.returncode == 0, done.stderr
    assert "US cent" in done.stdout and "glass marble 16 mm" in done.stdout
    assert "euro" not in done.stdout


def test_one_item_with_all_that_is_to_be_minded(tubrig, tmp_path):
    (tmp_path / "rig.toml").write_text(RIG.format(count_per_g=430.0), encoding="utf-8")
    options = ("--item", "dime", "--have", "90", "--hull-ml", "300", "--setup", "rig.toml")
    said = tubrig("plan", "stock", *options).stdout
    for part in (
        "nickel allergy",
        "choke",
        "wash it before",
        "With 90 items",
        "one item can be counted",
        "of the hull: it fits in",
        "31 U.S.C. 5112(a)",
    ):
        assert part in said


def test_a_coarse_cell_cannot_weigh_one(told, tmp_path):
    (tmp_path / "rig.toml").write_text(RIG.format(count_per_g=4.0), encoding="utf-8")
    found = told("plan", "stock", "--item", "US cent", "--setup", "rig.toml")
    assert found["weighable"]["ok"] is False
    assert found["weighable"]["do"]
    assert found["stock"]["needed"] > 200


def test_own_items_are_weighed(tubrig):
    said = tubrig("plan", "stock", "--weighed", "5=14.1 5=14.3 5=13.6 5=14.9").stdout
    assert "One item weighs 2.845 g" in said
    assert "[item] mass_g = 2.8450" in said


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--item", "feather"), "--weighed"),
        (("--weighed", "20"), "20=56.8"),
        (("--item", "dime", "--weighed", "5=14"), "Leave one of them out"),
        (("--groups", "0"), "1 to 60"),
        (("--hull-ml", "0"), "measure the water"),
    ],
)
def test_errors_have_one_thing_to_do(tubrig, options, says):
    done = tubrig("plan", "stock", *options)
    assert (done.returncode, done.stdout) == (2, "")
    assert says in done.stderr
