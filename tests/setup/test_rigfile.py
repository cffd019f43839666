"""The rig file: what it may say, what it means, and how its mistakes are told."""

import json
from pathlib import Path
from typing import Any

import pytest

from rig.errors import RigError, SetupInvalid
from rig.setup import Layout, RigSetup, read_setup

WHOLE = """\
[rig]
name = "Rig by the window"
layout = "tub-on-cell"
source = "serial:/dev/ttyACM0"
hold_s = 4.5

[load]
zero_count = -81920
count_per_g = -412.5
zero_count_sd = 12
count_per_g_sd = 0.4

[surface]
height_mm = 300
height_mm_sd = 0.5
unit = "us"
air_c = 21.5

[rim]
height_mm = 310.5
flag_mm = 60
height_mm_sd = 0.4
unit = "um"
air_c = 19

[tub]
pours = [
  [0, 0],
  [40, 5000],
  [90, 12000.5]
]

[item]
name = "Steel washer M8"
mass_g = 1.8
mass_sd_g = 0.05
"""

LEAST = """\
[rig]
name = "r"
layout = "feed-tray"
[load]
zero_count = 0
count_per_g = 100
"""


def written(tmp_path: Path, text: str | bytes) -> Path:
    path = tmp_path / "rig.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def complaint(path: Path) -> str:
    """The one line a teacher gets; every complaint is checked to be one, and to end in advice."""
    with pytest.raises(SetupInvalid) as caught:
        read_setup(path)
    message = str(caught.value)
    assert message.splitlines() == [message]
    assert message.isprintable()
    assert isinstance(caught.value, RigError) and caught.value.try_this in message
    for jargon in ("input should", "validation", "pydantic", "instance", "parse", "field"):
        assert jargon not in message.lower()
    return message


def wrong(tmp_path: Path, old: str, new: str, text: str = WHOLE) -> str:
    assert text.count(old) >= 1, "the change must change something"
    return complaint(written(tmp_path, text.replace(old, new, 1)))


def test_every_documented_key_is_read(tmp_path):
    setup = read_setup(written(tmp_path, WHOLE))
    assert setup.rig.name == "Rig by the window"
    assert setup.rig.layout is Layout.TUB_ON_CELL
    assert (setup.rig.source, setup.rig.hold_s) == ("serial:/dev/ttyACM0", 4.5)
    load = setup.load
    assert (load.zero_count, load.count_per_g) == (-81920, -412.5)
    assert (load.zero_count_sd, load.count_per_g_sd) == (12, 0.4)
    assert setup.surface and setup.rim and setup.tub and setup.item
    surface, rim, item = setup.surface, setup.rim, setup.item
    assert (surface.height_mm, surface.height_mm_sd) == (300, 0.5)
    assert (surface.unit, surface.air_c) == ("us", 21.5)
    assert (rim.height_mm, rim.flag_mm, rim.height_mm_sd) == (310.5, 60, 0.4)
    assert (rim.unit, rim.air_c) == ("um", 19)
    assert setup.tub.table.pours == ((0, 0), (40, 5000), (90, 12000.5))
    assert (item.name, item.mass_g, item.mass_sd_g) == ("Steel washer M8", 1.8, 0.05)


def test_what_is_left_out_has_a_default_or_is_absent(tmp_path):
    setup = read_setup(written(tmp_path, LEAST))
    assert setup.rig.source == "demo"
    assert setup.rig.hold_s == 5.0
    assert setup.load.zero_count_sd == setup.load.count_per_g_sd == 0
    assert (setup.surface, setup.rim, setup.tub, setup.item) == (None, None, None, None)
    gauges = "[surface]\nheight_mm = 300\n[rim]\nheight_mm = 300\nflag_mm = 0\n"
    setup = read_setup(written(tmp_path, LEAST + gauges + '[item]\nname = "x"\nmass_g = 1\n'))
    assert setup.surface and setup.rim and setup.item
    for gauge in (setup.surface, setup.rim):
        assert (gauge.height_mm_sd, gauge.unit, gauge.air_c) == (0, "um", 20)
    assert setup.rim.flag_mm == 0  # the rim gauge may look at the rim itself
    assert setup.item.mass_sd_g == 0


def test_an_area_stands_for_upright_walls(tmp_path):
    setup = read_setup(written(tmp_path, LEAST + "[tub]\narea_mm2 = 10000\n"))
    assert setup.tub
    assert setup.tub.table.volume_ml(100) == pytest.approx(1000)  # a litre on a square decimetre


@pytest.mark.parametrize("text", [WHOLE, LEAST, LEAST + "[tub]\narea_mm2 = 90000\n"])
def test_a_set_up_that_was_kept_comes_back_equal(tmp_path, text):
    setup = read_setup(written(tmp_path, text))
    if setup.tub:
        assert setup.tub.table  # having been used must not matter
    assert RigSetup.model_validate(setup.model_dump()) == setup
    assert RigSetup.model_validate(json.loads(setup.model_dump_json())) == setup
    assert RigSetup.model_validate_json(setup.model_dump_json()) == setup
    assert "table" not in setup.model_dump_json()


def test_a_set_up_cannot_be_changed_by_accident(tmp_path):
    setup = read_setup(written(tmp_path, LEAST))
    with pytest.raises(ValueError, match="frozen"):
        setup.rig.hold_s = 1.0


@pytest.mark.parametrize("name", ["Becken am Fenster 3 °", "水槽", "🚣 Grüße"])
def test_names_may_be_in_any_language(tmp_path, name):
    path = written(tmp_path, WHOLE.replace("Rig by the window", name))
    assert read_setup(path).rig.name == name


def test_a_byte_order_mark_in_front_does_not_matter(tmp_path):
    assert read_setup(written(tmp_path, b"\xef\xbb\xbf" + LEAST.encode())).rig.name == "r"


def test_windows_line_ends_do_not_matter(tmp_path):
    path = written(tmp_path, WHOLE.replace("\n", "\r\n"))
    assert read_setup(path).rig.name == "Rig by the window"
    assert "rig.toml, line 18: [rim]" not in complaint(
        written(tmp_path, WHOLE.replace("\n", "\r\n").replace("air_c = 21.5", "air_c = 99"))
    )


# --- mistakes, each with the line and key it is told under ----------------------------------

MISTAKES: list[Any] = [
    # unknown keys and sections
    ("hold_s = 4.5", "colour = 1", "line 5: [rig] colour: there is no such key here"),
    ("[item]", "[thing]", "line 33: [thing]: there is no such key here"),
    ("mass_sd_g", "mass_sdg", "line 36: [item] mass_sdg: there is no such key here"),
    (
        "count_per_g = -412.5",
        "counts_per_g = -412.5",
        "line 9: [load] counts_per_g: there is no such key here; did you mean count_per_g.",
    ),
    # missing
    ('name = "Rig by the window"\n', "", "line 1: [rig] name: this is missing"),
    ('layout = "tub-on-cell"\n', "", "line 1: [rig] layout: this is missing"),
    ("zero_count = -81920\n", "", "line 7: [load] zero_count: this is missing"),
    ("count_per_g = -412.5\n", "", "line 7: [load] count_per_g: this is missing"),
    ("height_mm = 300\n", "", "line 13: [surface] height_mm: this is missing"),
    ("height_mm = 310.5\n", "", "line 19: [rim] height_mm: this is missing"),
    ("flag_mm = 60\n", "", "line 19: [rim] flag_mm: this is missing"),
    ('name = "Steel washer M8"\n', "", "line 33: [item] name: this is missing"),
    ("mass_g = 1.8\n", "", "line 33: [item] mass_g: this is missing"),
    # wrong types
    ('"Rig by the window"', "5", "line 2: [rig] name: this must be text between quotation marks"),
    ("4.5", '"long"', "line 5: [rig] hold_s: this must be a number, such as 12.5"),
    ("-412.5", "true", "line 9: [load] count_per_g: this must be a number, not true or false"),
    ("-81920", "[1]", "line 8: [load] zero_count: this must be a number"),
    ("-81920", "2025-11-25", "line 8: [load] zero_count: this must be a number"),
    ("-81920", "{ a = 1 }", "line 8: [load] zero_count: this must be a number"),
    # choices
    ('"tub-on-cell"', '"sideways"', "line 3: [rig] layout: this must be 'feed-tray' or 'tub-on"),
    ('unit = "us"', 'unit = "cm"', "line 16: [surface] unit: this must be 'um' or 'us'"),
    ('"serial:/dev/ttyACM0"', '"usb"', 'line 4: [rig] source: this must be "serial:" and a port'),
    ('"serial:/dev/ttyACM0"', '"serial:"', "line 4: [rig] source: this must be"),
    ('"serial:/dev/ttyACM0"', '"gpio "', "line 4: [rig] source: this must be"),
    # numbers that cannot be
    ("-412.5", "0", "line 9: [load] count_per_g: this must not be 0"),
    ("-412.5", "-0.0", "line 9: [load] count_per_g: this must not be 0"),
    ("-412.5", "nan", "line 9: [load] count_per_g: this must be an ordinary number"),
    ("-81920", "inf", "line 8: [load] zero_count: this must be an ordinary number"),
    ("zero_count_sd = 12", "zero_count_sd = -1", "line 10: [load] zero_count_sd: this must be 0"),
    ("count_per_g_sd = 0.4", "count_per_g_sd = -1", "line 11: [load] count_per_g_sd: this must"),
    ("hold_s = 4.5", "hold_s = 0", "line 5: [rig] hold_s: this must be above 0"),
    ("hold_s = 4.5", "hold_s = -1", "line 5: [rig] hold_s: this must be above 0"),
    ("hold_s = 4.5", "hold_s = nan", "line 5: [rig] hold_s: this must be"),
    ("height_mm = 300", "height_mm = 0", "line 14: [surface] height_mm: this must be above 0"),
    ("height_mm = 310.5", "height_mm = -3", "line 20: [rim] height_mm: this must be above 0"),
    ("flag_mm = 60", "flag_mm = -0.1", "line 21: [rim] flag_mm: this must be 0 or more"),
    ("height_mm_sd = 0.5", "height_mm_sd = nan", "line 15: [surface] height_mm_sd: this must be"),
    ("air_c = 21.5", "air_c = 30.1", "line 17: [surface] air_c: this must be 30 or less"),
    ("air_c = 19", "air_c = -0.1", "line 24: [rim] air_c: this must be 0 or more"),
    ("air_c = 19", "air_c = nan", "line 24: [rim] air_c: this must be"),
    ("mass_g = 1.8", "mass_g = 0", "line 35: [item] mass_g: this must be above 0"),
    ("mass_sd_g = 0.05", "mass_sd_g = -1", "line 36: [item] mass_sd_g: this must be 0 or more"),
    # texts
    ('"Steel washer M8"', '""', "line 34: [item] name: this must"),
    ('"Steel washer M8"', '"  "', "line 34: [item] name: this must be one line of plain words"),
    ('"Steel washer M8"', '"a\\nb"', "line 34: [item] name: this must be one line of plain words"),
    ('"Steel washer M8"', f'"{"x" * 41}"', "line 34: [item] name: this may have 40 characters"),
    ('"Rig by the window"', f'"{"x" * 61}"', "line 2: [rig] name: this may have 60 characters"),
    # the tub
    ("[90, 12000.5]", "[90, 4000]", "line 27: [tub] pours: The pours must be two or more"),
    ("[90, 12000.5]", "[40, 12000]", "line 27: [tub] pours: The pours must be two or more"),
    ("[90, 12000.5]", "[90]", "line 27: [tub] pours row 3 number 2: this is missing"),
    ("[90, 12000.5]", "[90, 12000, 1]", "line 27: [tub] pours row 3: there are 3 numbers here"),
    ("[90, 12000.5]", "90", "line 27: [tub] pours row 3: this must be a list"),
    ("[0, 0]", "[0, -1]", "line 27: [tub] pours row 1 number 2: this must be 0 or more"),
    ("[0, 0]", "[-1, 0]", "line 27: [tub] pours row 1 number 1: this must be 0 or more"),
    ("[0, 0]", "[nan, 0]", "line 27: [tub] pours row 1 number 1: this must be"),
    ("\n[item]", "area_mm2 = 5\n[item]", "line 26: [tub]: give either pours or area_mm2"),
    ("\n[item]", "area_mm2 = -5\n[item]", "line 32: [tub] area_mm2: this must be above 0"),
]


@pytest.mark.parametrize(("old", "new", "told"), MISTAKES)
def test_a_mistake_is_told_with_its_line_and_key(tmp_path, old, new, told):
    assert f"rig.toml, {told}" in wrong(tmp_path, old, new)


def test_a_missing_section_is_told(tmp_path):
    assert "rig.toml: [load]: this is missing" in complaint(
        written(tmp_path, LEAST.split("[load]")[0])
    )
    assert "[rig]: this is missing" in complaint(written(tmp_path, ""))


def test_neither_pours_nor_area_is_told(tmp_path):
    assert "line 7: [tub]: give either pours or area_mm2" in complaint(
        written(tmp_path, LEAST + "[tub]\n")
    )


def test_one_pour_is_no_table(tmp_path):
    assert "line 8: [tub] pours: The pours must be two or more" in complaint(
        written(tmp_path, LEAST + "[tub]\npours = [[0, 0]]\n")
    )


def test_a_value_where_a_section_belongs_is_told(tmp_path):
    assert "line 1: [item]: this must be a section" in complaint(
        written(tmp_path, "item = 3\n" + LEAST)
    )


def test_a_key_above_the_headings_is_found(tmp_path):
    assert "line 2: [hold_s]: there is no such key here" in complaint(
        written(tmp_path, "# mine\nhold_s = 3\n" + LEAST)
    )


def test_a_number_in_quotation_marks_is_taken_as_the_number(tmp_path):
    # Kinder than a refusal, and it can mean nothing else.
    assert read_setup(written(tmp_path, LEAST.replace("100", '"100"'))).load.count_per_g == 100


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[rig\n", "line 1: a heading or a list needs its closing square bracket"),
        ("[rig]\nhold_s = 4,5\n", "line 2: something is left over after the value"),
        ("[rig]\nname = Rig\n", "line 2: a value is missing or not understood"),
        ('[rig]\nname = "Rig\nhold_s = 4\n', "line 2: a text needs its closing quotation mark"),
        ('[rig]\nname = "a\x01b"\n', "line 2: a character that cannot be seen stands here"),
        ("rig = { hold_s = 1", "at the end: a { needs its closing }"),
        ("[]\n", "line 1: a key is written with a-z, 0-9, _ and -"),
        ("[rig]\nhold_s\n", "line 2: a key needs = and a value after it"),
        ("[rig]\nhold_s =\n", "line 2: a value is missing"),
        ("[rig]\n= 5\n", "line 2: this is neither key = value nor a [heading]"),
        ("[rig]\nhold_s = 1\nhold_s = 2\n", "line 3: this key is written twice"),
        ("[rig]\n[load]\n[rig]\n", "line 3: this section is written twice"),
        ("[tub]\npours = [[0, 0]\n", "at the end: a list needs"),
        ("[rig]\nname = 'Rig", "at the end: a text needs its closing quotation mark"),
        ('[rig]\nname = "C:\\path"\n', "line 2: write \\\\ for a backslash"),
        ("[rig]\nhold_s = " + "9" * 5000, "at the end: a number has too many digits"),
        ("a = " + "[" * 5000, "at the end: brackets stand inside brackets too many times"),
    ],
)
def test_broken_toml_is_told_in_words(tmp_path, text, told):
    assert f"rig.toml, {told}" in complaint(written(tmp_path, text))


def test_a_file_that_is_not_utf8_is_told(tmp_path):
    path = written(tmp_path, LEAST.replace('"r"', '"Gefäß"').encode("latin-1"))
    assert complaint(path) == ("rig.toml is not UTF-8 text. Save it as plain text, encoding UTF-8.")


def test_a_file_that_is_not_there_is_told_with_its_place(tmp_path):
    message = complaint(tmp_path / "none.toml")
    assert str(tmp_path / "none.toml") in message
    assert "Check the name and where the file is." in message


def test_a_folder_in_place_of_the_file_is_told(tmp_path):
    assert str(tmp_path) in complaint(tmp_path)
