"""The boats file: groups' boats by ruler and scale."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.errors import SetupInvalid
from rig.physics.hulls import FAMILIES, Box, Dish, Tray
from rig.setup import Boat, boat_from_dict, read_boats

CLASS = """\
[[boat]]
label = "Group 1"
hull = "box"
length_mm = 150
beam_mm = 100
depth_mm = 40
mass_g = 20.5
guess_items = 120

[[boat]]
label = "Grüne Ente 🦆"
hull = "tray"
length_mm = 180
beam_mm = 120
bottom_length_mm = 140
bottom_beam_mm = 80
depth_mm = 35
mass_g = 0

[[boat]]
label = "三"
hull = "dish"
diameter_mm = 160
bottom_diameter_mm = 110
depth_mm = 45.5
mass_g = 12
"""


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "boats.toml"
    path.write_bytes(text.encode())
    return path


def complaint(path: Path) -> str:
    with pytest.raises(SetupInvalid) as caught:
        read_boats(path)
    message = str(caught.value)
    assert message.splitlines() == [message]
    assert message.isprintable()
    for jargon in ("input should", "validation", "pydantic", "instance", "parse", "field"):
        assert jargon not in message.lower()
    return message


def test_every_hull_family_is_read_in_the_files_order(tmp_path):
    assert list(read_boats(written(tmp_path, CLASS)).items()) == [
        ("Group 1", Boat("Group 1", Box(150, 100, 40), 20.5, 120)),
        ("Grüne Ente 🦆", Boat("Grüne Ente 🦆", Tray(180, 120, 140, 80, 35), 0)),
        ("三", Boat("三", Dish(160, 110, 45.5), 12)),
    ]


def test_the_classs_families_are_all_of_them(tmp_path):
    assert {boat.hull.family for boat in read_boats(written(tmp_path, CLASS)).values()} == set(
        FAMILIES
    )


def test_a_guess_is_optional(tmp_path):
    boats = read_boats(written(tmp_path, CLASS))
    assert [boat.guess_items for boat in boats.values()] == [120, None, None]
    assert "guess_items" not in boats["三"].as_dict()


def test_boats_that_were_kept_come_back_equal(tmp_path):
    for boat in read_boats(written(tmp_path, CLASS)).values():
        assert boat_from_dict(boat.as_dict()) == boat
        assert boat_from_dict(json.loads(json.dumps(boat.as_dict()))) == boat


LABELS = st.text(
    st.characters(exclude_categories=["C", "Zl", "Zp"]), min_size=1, max_size=30
).filter(str.strip)


@given(
    LABELS,
    st.sampled_from(list(FAMILIES)),
    st.lists(st.floats(1, 900), min_size=5, max_size=5),
    st.floats(0, 1e4),
    st.none() | st.integers(0, 99_999),
)
def test_any_boat_that_can_be_built_comes_back_equal(label, family, measured, mass_g, guess):
    hull_of = FAMILIES[family]
    keys = [measure.key for measure in hull_of.measures]
    boat = Boat(label, hull_of(**dict(zip(keys, measured, strict=False))), mass_g, guess)
    assert boat_from_dict(json.loads(json.dumps(boat.as_dict()))) == boat


MISTAKES = [
    ('label = "Group 1"\n', "", "line 1: [[boat]] 1 label: this is missing"),
    ('"Group 1"', '""', "line 2: [[boat]] 1 label: this must"),
    ('"Group 1"', '"a\\tb"', "line 2: [[boat]] 1 label: this must be one line of plain words"),
    ('"Group 1"', f'"{"x" * 31}"', "line 2: [[boat]] 1 label: this may have 30 characters"),
    ('"Group 1"', "1", "line 2: [[boat]] 1 label: this must be text between quotation marks"),
    ('"三"', '"Group 1"', 'line 21: [[boat]] 3 label: "Group 1" is there twice'),
    ('hull = "box"\n', "", "line 1: [[boat]] 1 hull: this is missing"),
    ('"dish"', '"raft"', 'line 22: [[boat]] 3 hull: "raft" is not one of box, tray, dish'),
    ('"dish"', '"a\\nb"', 'line 22: [[boat]] 3 hull: "a b" is not one of'),
    ("beam_mm = 100\n", "", "line 1: [[boat]] 1 beam_mm: this is missing for a box"),
    ("bottom_beam_mm = 80\n", "", "line 10: [[boat]] 2 bottom_beam_mm: this is missing for a tray"),
    (
        "beam_mm = 100\n",
        "beam_mm = 100\ndiameter_mm = 9\n",
        "line 6: [[boat]] 1 diameter_mm: a box has no such measure",
    ),
    ("mass_g = 20.5\n", "", "line 1: [[boat]] 1 mass_g: this is missing"),
    ("mass_g = 12", "mass_g = -1", "line 26: [[boat]] 3 mass_g: this must be 0 or more"),
    ("mass_g = 12", "mass_g = nan", "line 26: [[boat]] 3 mass_g: this must be"),
    ("mass_g = 12", "mass_g = true", "line 26: [[boat]] 3 mass_g: this must be a number, not"),
    ("guess_items = 120", "guess_items = 1.5", "line 8: [[boat]] 1 guess_items: this must be a wh"),
    ("guess_items = 120", "guess_items = -1", "line 8: [[boat]] 1 guess_items: this must be 0"),
    ("guess_items = 120", "guess_items = 100000", "line 8: [[boat]] 1 guess_items: this must be 9"),
    ("guess_items = 120", "guess_items = true", "line 8: [[boat]] 1 guess_items: this must be a n"),
    ("depth_mm = 40", "depth_mm = 0", "line 6: [[boat]] 1 depth_mm: this must be above 0"),
    ("depth_mm = 40", "depth_mm = -4", "line 6: [[boat]] 1 depth_mm: this must be above 0"),
    ("depth_mm = 40", "depth_mm = nan", "line 6: [[boat]] 1 depth_mm: this must be"),
    ("depth_mm = 40", "depth_mm = inf", "line 6: [[boat]] 1 depth_mm: this must be"),
    ("depth_mm = 40", 'depth_mm = "deep"', "line 6: [[boat]] 1 depth_mm: this must be a number"),
    ("depth_mm = 40", "depth_mm = true", "line 6: [[boat]] 1 depth_mm: this must be a number"),
    ("depth_mm = 40", "depth_mm = 1e6", "line 6: [[boat]] 1 depth_mm: depth_mm = 1e+06 cannot be"),
    ("depth_mm = 40", "depth_mm = 4,0", "line 6: something is left over after the value"),
]


@pytest.mark.parametrize(("old", "new", "told"), MISTAKES)
def test_a_mistake_is_told_with_its_line_and_key(tmp_path, old, new, told):
    assert CLASS.count(old) >= 1
    assert f"boats.toml, {told}" in complaint(written(tmp_path, CLASS.replace(old, new, 1)))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "boats.toml: [boat]: write each boat under a [[boat]] heading"),
        ("boat = []\n", "boats.toml, line 1: [boat]: write each boat under a [[boat]] heading"),
        ('[boat]\nlabel = "a"\n', "boats.toml, line 1: [boat]: write each boat under a [[boat]]"),
        ("boat = [1]\n", "boats.toml, line 1: [[boat]] 1: this must be a section"),
        (CLASS + "[class]\n", "boats.toml, line 27: [class]: a boats file holds [[boat]] and"),
    ],
)
def test_a_file_that_is_no_boats_file_is_told(tmp_path, text, told):
    assert told in complaint(written(tmp_path, text))


def test_a_file_that_is_not_there_is_told(tmp_path):
    assert str(tmp_path / "boats.toml") in complaint(tmp_path / "boats.toml")


def test_a_boat_from_elsewhere_than_a_file_is_told_by_key_alone():
    with pytest.raises(SetupInvalid, match=r"^boat: \[boat\] mass_g: this is missing\. Mend it"):
        boat_from_dict({"label": "A", "hull": "box"})
