"""The boats file: groups' boats by ruler and scale."""

import json
from pathlib import Path

import pytest
import trimesh
from hypothesis import assume, given
from hypothesis import strategies as st

from rig.errors import OutOfRange, SetupInvalid
from rig.physics.hulls import (
    FAMILIES,
    Bowl,
    Box,
    Brimful,
    Dish,
    Raft,
    Sections,
    Tray,
    Tubes,
    Twin,
)
from rig.physics.uncertainty import Doubts
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


MORE = """\

[[boat]]
label = "Straws"
hull = "tubes"
count = 12
diameter_mm = 12
length_mm = 200
mass_g = 14

[[boat]]
label = "Foam"
hull = "raft"
length_mm = 200
beam_mm = 120
depth_mm = 25
density_g_ml = 0.03

[[boat]]
label = "Cups"
hull = "twin"
spacing_mm = 130
mass_g = 12
[boat.each]
hull = "dish" # each
diameter_mm = 90
bottom_diameter_mm = 60
depth_mm = 40

[[boat]]
label = "Odd"
hull = "brimful"
length_mm = 170
beam_mm = 110
depth_mm = 40
held_ml = 480
mass_g = 9

[[boat]]
label = "Clay"
hull = "bowl"
measured = "inside"
wall_mm = 6
diameter_mm = 108
depth_mm = 44
rim_out_mm = 1.5
mass_g = 200

[[boat]]
label = "Drawn"
hull = "sections"
mass_g = 15
section = [
  { height_mm = 0, outline_mm = [[-60, 0], [60, 0]] },
  { height_mm = 40, outline_mm = [[80, 0], [40, 35], [-70, 35], [-70, -35], [40, -35]] },
]

[[boat]]
label = "Card"
hull = "trough"
length_mm = 160
beam_mm = 90
depth_mm = 45
mass_g = 12

[[boat]]
label = "Keel"
hull = "vee"
length_mm = 160
beam_mm = 90
depth_mm = 45
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


def test_the_classes_families_are_all_of_them(tmp_path):
    boats = read_boats(written(tmp_path, CLASS + MORE)).values()
    assert {boat.hull.family for boat in boats} == {*FAMILIES, "twin", "sections"}


def test_boats_of_other_families_are_read(tmp_path):
    boats = read_boats(written(tmp_path, MORE))
    assert boats["Straws"] == Boat("Straws", Tubes(12, 12, 200), 14)
    assert boats["Foam"] == Boat("Foam", Raft(200, 120, 25), 0.03 * 600)  # density x volume
    assert boats["Cups"].hull == Twin(Dish(90, 60, 40), 130)
    assert boats["Odd"].hull == Brimful(170, 110, 40, 480, 0.89)  # fullness as if not known
    assert boats["Clay"] == Boat("Clay", Bowl(120, 50), 200, None, 6.0, True, 1.5)
    drawn = boats["Drawn"].hull
    assert isinstance(drawn, Sections)
    assert drawn.depth_mm == 40
    assert drawn.volume_ml(40) > 0


def test_a_boat_measured_inside_floats_on_its_outside(tmp_path):
    clay = read_boats(written(tmp_path, MORE))["Clay"]
    # 108 across and 44 deep inside, walls of 6
    assert clay.hull.measured() == {"diameter_mm": 120, "depth_mm": 50}
    assert clay.as_dict()["measured"] == "inside, walls added"
    assert clay.doubts == Doubts(wall_mm=6.0, rim_out_mm=1.5)
    plain = read_boats(written(tmp_path, CLASS))["Group 1"]
    assert plain.doubts == Doubts()
    assert "wall_mm" not in plain.as_dict()


def stl(path: Path) -> trimesh.Trimesh:
    body = trimesh.creation.box([16, 9, 4])
    body.export(path)
    return body


def mesh_file(tmp_path: Path, more: str = "") -> Path:
    return written(
        tmp_path, f'[[boat]]\nlabel = "M"\nhull = "mesh"\nfile = "boat.stl"\nmass_g = 20\n{more}'
    )


def test_a_mesh_lies_beside_the_boats_file_and_is_kept_with_the_boat(tmp_path):
    stl(tmp_path / "boat.stl")
    boat = read_boats(mesh_file(tmp_path, "mm_per_unit = 10\n"))["M"]
    assert boat.hull.volume_ml(boat.hull.depth_mm) == pytest.approx(160 * 90 * 40 / 1000)
    (tmp_path / "boat.stl").unlink()
    again = boat_from_dict(json.loads(json.dumps(boat.as_dict())))
    assert again == boat
    assert again.hull.volume_ml(20) == boat.hull.volume_ml(20)


def test_a_mesh_from_elsewhere_than_a_file_may_not_name_one(tmp_path):
    stl(tmp_path / "boat.stl")
    with pytest.raises(SetupInvalid, match="only be read from a boats file"):
        boat_from_dict(
            {"label": "M", "hull": "mesh", "file": str(tmp_path / "boat.stl"), "mass_g": 20}
        )


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (None, "Cannot read boat.stl"),
        (b"", "boat.stl cannot be read as STL"),
        (b"solid x\nendsolid x\n", "boat.stl"),
        (b"\x00" * 100, "boat.stl"),
        (b"no mesh at all", "boat.stl cannot be read as STL"),
    ],
)
def test_a_file_that_is_no_mesh_is_told(tmp_path, content, told):
    if content is not None:
        (tmp_path / "boat.stl").write_bytes(content)
    with pytest.raises(SetupInvalid) as caught:
        read_boats(mesh_file(tmp_path))
    assert told in str(caught.value) or "[[boat]] 1 file" in str(caught.value)
    assert len(str(caught.value).splitlines()) == 1


def test_an_open_mesh_is_told(tmp_path):
    body = stl(tmp_path / "boat.stl")
    trimesh.Trimesh(body.vertices, body.faces[1:], process=False).export(tmp_path / "boat.stl")
    assert "line 4: [[boat]] 1 file: The mesh is not closed" in complaint(mesh_file(tmp_path))


@pytest.mark.parametrize("data", ["", "!", "AAAA", "eJwDAAAAAAE="])
def test_kept_meshes_that_are_spoilt_are_told(data):
    boat = {"label": "M", "hull": "mesh", "file": "b.stl", "mass_g": 20, "mesh_data": data}
    with pytest.raises(SetupInvalid, match="mesh_data is not"):
        boat_from_dict(boat)


MORE_MISTAKES = [
    ("density_g_ml = 0.03", "", "[[boat]] 2 mass_g: this is missing"),
    ("density_g_ml = 0.03", "density_g_ml = 5", "[[boat]] 2 density_g_ml: this must be a density"),
    (
        "density_g_ml = 0.03",
        'density_g_ml = "x"',
        "[[boat]] 2 density_g_ml: this must be a density",
    ),
    ("density_g_ml = 0.03", "density_g_ml = 0.03\nmass_g = 3", "weighed or known by its density"),
    ("count = 12", "count = 12.5", "[[boat]] 1 count: count = 12.5 cannot be right"),
    ("spacing_mm = 130", "spacing_mm = 60", "[[boat]] 3 spacing_mm: spacing_mm = 60 cannot be"),
    (
        'hull = "dish" # each',
        'hull = "twin" # each',
        "[[boat]] 3 each hull: write hull = and one of",
    ),
    ("bottom_diameter_mm = 60", "", "[[boat]] 3 each bottom_diameter_mm: this is missing"),
    ("wall_mm = 6", "", "[[boat]] 5 wall_mm: a boat measured inside needs its wall's thickness"),
    ('measured = "inside"', 'measured = "x"', '[[boat]] 5 measured: write measured = "outside"'),
    ('measured = "inside"', "", "[[boat]] 5 wall_mm: "),
    ("rim_out_mm = 1.5", "rim_out_mm = 80", "[[boat]] 5 rim_out_mm: this is more than the whole"),
    ("rim_out_mm = 1.5", "rim_out_mm = -1", "[[boat]] 5 rim_out_mm: this must be 0 or more"),
    ("held_ml = 480", "held_ml = 4800", "[[boat]] 4 held_ml: held_ml = 4800 cannot be right"),
    ("height_mm = 40", "height_mm = 0", "[[boat]] 6 section: Sections must be two or more"),
    ("[80, 0]", "[80]", "[[boat]] 6 section"),
    ("[80, 0]", '["x", 0]', "[[boat]] 6 section"),
]


@pytest.mark.parametrize(("old", "new", "told"), MORE_MISTAKES)
def test_a_mistake_with_the_other_families_is_told(tmp_path, old, new, told):
    assert MORE.count(old) == 1
    text = MORE.replace(old, new)
    if told == "[[boat]] 5 wall_mm: ":  # measured outside, walls too thick for the room
        text = text.replace("wall_mm = 6", "wall_mm = 60")
    assert told in complaint(written(tmp_path, text))


def test_a_guess_is_optional(tmp_path):
    boats = read_boats(written(tmp_path, CLASS))
    assert [boat.guess_items for boat in boats.values()] == [120, None, None]
    assert "guess_items" not in boats["三"].as_dict()


def test_boats_that_were_kept_come_back_equal(tmp_path):
    for boat in read_boats(written(tmp_path, CLASS + MORE)).values():
        assert boat_from_dict(boat.as_dict()) == boat
        assert boat_from_dict(json.loads(json.dumps(boat.as_dict()))) == boat


LABELS = st.text(
    st.characters(exclude_categories=["C", "Zl", "Zp"]), min_size=1, max_size=30
).filter(str.strip)


@given(
    LABELS,
    st.sampled_from(list(FAMILIES)),
    st.lists(st.floats(0.8, 1.2), min_size=5, max_size=5),
    st.floats(0, 1e4),
    st.none() | st.integers(0, 99_999),
)
def test_any_boat_that_can_be_built_comes_back_equal(label, family, measured, mass_g, guess):
    hull_of = FAMILIES[family]
    values = {
        m.key: m.example if m.key in ("count", "fullness", "held_ml") else part * m.example
        for m, part in zip(hull_of.measures, measured, strict=False)
    }
    try:
        hull = hull_of(**values)
    except OutOfRange:
        assume(False)
    boat = Boat(label, hull, mass_g, guess)
    assert boat_from_dict(json.loads(json.dumps(boat.as_dict()))) == boat


MISTAKES = [
    ('label = "Group 1"\n', "", "line 1: [[boat]] 1 label: this is missing"),
    ('"Group 1"', '""', "line 2: [[boat]] 1 label: this must"),
    ('"Group 1"', '"a\\tb"', "line 2: [[boat]] 1 label: this must be one line of plain words"),
    ('"Group 1"', f'"{"x" * 31}"', "line 2: [[boat]] 1 label: this may have 30 characters"),
    ('"Group 1"', "1", "line 2: [[boat]] 1 label: this must be text between quotation marks"),
    ('"三"', '"Group 1"', 'line 21: [[boat]] 3 label: "Group 1" is there twice'),
    ('hull = "box"\n', "", "line 1: [[boat]] 1 hull: this is missing"),
    ('"dish"', '"ark"', 'line 22: [[boat]] 3 hull: "ark" is not one of box, tray, dish'),
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
