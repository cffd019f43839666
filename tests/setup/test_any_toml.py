"""Whatever a file holds, reading it gives a set-up or one SetupInvalid, and nothing else."""

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rig.errors import SetupInvalid
from rig.physics.hulls import FAMILIES
from rig.setup import RigSetup, boat_from_dict, read_boats, read_setup
from rig.setup.tomlfile import validated

KNOWN = [
    *("rig", "load", "surface", "rim", "tub", "item", "boat", "name", "layout", "source"),
    *("hold_s", "zero_count", "count_per_g", "height_mm", "flag_mm", "unit", "air_c", "pours"),
    *("area_mm2", "mass_g", "mass_sd_g", "label", "hull", "guess_items", "table", "family"),
    *(measure.key for family in FAMILIES.values() for measure in family.measures),
]
# Names that mean something inside the libraries that check the file.
INNER = ["model_config", "model_fields", "__dict__", "__class__", "__pydantic_extra__", "self"]
KEYS = st.sampled_from([*KNOWN, *INNER]) | st.text(max_size=8)
WORDS = st.sampled_from(["box", "tray", "dish", "feed-tray", "tub-on-cell", "gpio", "um", "us"])
SCALARS = st.one_of(
    st.integers(),
    st.integers(-5, 50),
    st.integers(10**300, 10**320),
    st.floats(),
    st.floats(1, 100),
    st.booleans(),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=40),
    WORDS,
    st.dates(),
    st.times(),
    st.datetimes(timezones=st.just(dt.UTC)),
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=6),
    max_leaves=25,
)
TABLES = st.dictionaries(KEYS, VALUES, max_size=8)


@st.composite
def near_boats(draw: st.DrawFn) -> dict[str, object]:
    """A boat that is right but for a few keys changed, added or taken away."""
    family = FAMILIES[draw(st.sampled_from(list(FAMILIES)))]
    boat: dict[str, object] = {measure.key: measure.example for measure in family.measures}
    boat |= {"label": "A", "hull": family.family, "mass_g": 5}
    for key in draw(st.lists(st.sampled_from(list(boat)), max_size=2)):
        boat.pop(key, None)
    return boat | draw(st.dictionaries(KEYS, VALUES, max_size=3))


@st.composite
def near_setups(draw: st.DrawFn) -> dict[str, object]:
    whole: dict[str, dict[str, object]] = {
        "rig": {"name": "r", "layout": "feed-tray"},
        "load": {"zero_count": 0, "count_per_g": 1},
        "surface": {"height_mm": 300},
        "rim": {"height_mm": 300, "flag_mm": 50},
        "tub": {"pours": [[0, 0], [10, 1000]]},
        "item": {"name": "i", "mass_g": 1},
    }
    section = whole[draw(st.sampled_from(list(whole)))]
    section |= draw(st.dictionaries(st.sampled_from(list(section)) | KEYS, VALUES, max_size=2))
    return whole | draw(st.dictionaries(KEYS, VALUES, max_size=1))


def one_line_at_most(err: SetupInvalid) -> None:
    message = str(err)
    assert message.splitlines() == [message]
    assert message.isprintable()
    assert len(message) < 500


@given(TABLES | near_setups())
def test_any_table_is_a_set_up_or_one_line_of_complaint(table):
    try:
        setup = validated(RigSetup, table, "rig.toml")
    except SetupInvalid as err:
        one_line_at_most(err)
    else:
        assert RigSetup.model_validate_json(setup.model_dump_json()) == setup


@given(TABLES | near_boats())
def test_any_table_is_a_boat_or_one_line_of_complaint(table):
    try:
        boat = boat_from_dict(table)
    except SetupInvalid as err:
        one_line_at_most(err)
    else:
        assert boat_from_dict(boat.as_dict()) == boat


LINES = st.sampled_from(
    ["[rig]", "[[boat]]", "[rig", "name = 'r'", "hull = 'box'", "label = ", "pours = [[0, 0],"]
)
TEXTS = (
    st.lists(LINES | st.text(st.characters(exclude_categories=["Cs"]), max_size=20), max_size=8)
    .map("\n".join)
    .map(str.encode)
)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("any") / "any.toml"


@settings(max_examples=150)
@given(raw=st.binary(max_size=60) | TEXTS)
@pytest.mark.parametrize("read", [read_setup, read_boats])
def test_any_bytes_in_a_file_are_read_or_one_line_of_complaint(path, read, raw):
    path.write_bytes(raw)
    try:
        read(path)
    except SetupInvalid as err:
        one_line_at_most(err)
