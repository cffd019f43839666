"""The building guide: its pictures are the generator's, its pins the firmware's, its lines true."""

import importlib.util
import re
import sys
import tomllib
from functools import reduce
from itertools import pairwise
from operator import xor
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

from rig.cli.checks.parts import parts

ROOT = Path(__file__).parents[2]
NOTES = ROOT / "firmware_notes"
GUIDE = (NOTES / "building.md").read_text(encoding="utf-8")


def module(path: Path):
    spec = importlib.util.spec_from_file_location(f"guide_{path.stem}", path)
    loaded = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(loaded)
    return loaded


@pytest.fixture(scope="module")
def draw():
    before = list(sys.path)
    yield module(NOTES / "drawings" / "draw.py")
    sys.path[:] = before
    sys.modules.pop("layouts", None)


def test_the_pictures_are_what_the_generator_makes(draw):
    made = draw.drawings()
    assert {path.name for path in (NOTES / "drawings").glob("*.svg")} == set(made)
    for name, text in made.items():
        assert (NOTES / "drawings" / name).read_text(encoding="utf-8") == text, (
            f"run {draw.__file__}"
        )
        ElementTree.fromstring(text)
        assert f"drawings/{name}" in GUIDE


def sheet(name):
    return tomllib.loads((NOTES / "drawings" / f"{name}.toml").read_text(encoding="utf-8"))


def ends(box):
    """Where a box's pins are, by name (GND may be there twice)."""
    x, y, w, h = box["at"]
    found = [(pin, (x, at)) for pin, at in box.get("left", {}).items()]
    found += [(pin, (x + w, at)) for pin, at in box.get("right", {}).items()]
    found += [(pin, (at, y)) for pin, at in box.get("top", {}).items()]
    return found + [(pin, (at, y + h)) for pin, at in box.get("bottom", {}).items()]


def on(point, path):
    """Whether a point lies on a wire."""
    (x, y) = point
    return any(
        min(a[0], b[0]) <= x <= max(a[0], b[0]) and min(a[1], b[1]) <= y <= max(a[1], b[1])
        for a, b in pairwise(path)
    )


def nets(drawn):
    """Sets of pins that the wires join: ends on ends, or where a dot is."""
    wires = [
        {tuple(point) for point in wire["path"][:: len(wire["path"]) - 1]} for wire in drawn["wire"]
    ]
    for dot in drawn.get("dot", []):
        for joined, wire in zip(wires, drawn["wire"], strict=True):
            if on(dot["at"], wire["path"]):
                joined.add(tuple(dot["at"]))
    groups = []
    for joined in wires:
        touching = [group for group in groups if group & joined]
        groups = [group for group in groups if not group & joined]
        groups.append(joined.union(*touching))
    pins = {}
    for name, box in drawn["box"].items():
        for pin, place in ends(box):
            pins.setdefault(place, f"{name} {pin}")
    return {frozenset(pins[place] for place in group if place in pins) for group in groups}


def test_every_wire_of_the_drawing_joins_what_belongs_together():
    settings = module(NOTES / "firmware" / "settings.py")
    surface, rim = settings.SURFACE_PINS, settings.RIM_PINS
    joined = nets(sheet("wiring"))
    assert joined == {
        frozenset({f"cell {pin}", f"amplifier {pin}"}) for pin in ("E+", "E-", "A+", "A-")
    } | {
        frozenset({"amplifier SCK", f"board GP{settings.CLOCK_PIN}"}),
        frozenset({"amplifier DT", f"board GP{settings.DATA_PIN}"}),
        frozenset({"amplifier GND", "board GND"}),
        frozenset({"surface TRIG", f"board GP{surface[0]}"}),
        frozenset({"surface ECHO", f"board GP{surface[1]}"}),
        frozenset({"rim TRIG", f"board GP{rim[0]}"}),
        frozenset({"rim ECHO", f"board GP{rim[1]}"}),
        frozenset({f"board GP{settings.SERVICE_PIN}"}),
        frozenset({"computer USB", "board USB"}),
        frozenset({"board GND", "surface GND", "rim GND", "water GND"}),
        # joined through the resistor, whose middle is where its two wires meet
        frozenset({"amplifier VCC", "board 3V3", "surface VCC", "rim VCC", "water VCC",
                   "water DATA", f"board GP{settings.WATER_PIN}"}),
    }  # fmt: skip


def test_the_resistors_divide_five_volts_to_what_a_pin_bears(draw):
    words = [note["text"] for note in sheet("divider")["note"]]
    upper, lower = (int(text.split()[0]) for text in words if text.endswith("kΩ"))
    assert 2.6 < 5.0 * lower / (upper + lower) <= 3.6  # a 3.3 V input's usual limits


def test_a_slanted_wire_is_refused(draw):
    with pytest.raises(ValueError, match="right angles"):
        draw._wire([[0, 0], [10, 0], [20, 5]], "#000")


def test_the_guides_table_is_the_tools():
    printed = CliRunner().invoke(parts, []).output
    block = "".join(f"    {line}\n" if line else "\n" for line in printed.splitlines())
    assert block in GUIDE


def test_every_sentence_in_guide_and_protocol_has_its_check_sum():
    found = 0
    for text in (GUIDE, (NOTES / "README.md").read_text(encoding="utf-8")):
        for body, check in re.findall(r"\$(PTRG[^*\n`]*)\*([0-9A-F]{2})\b", text):
            assert reduce(xor, body.encode()) == int(check, 16), body
            found += 1
    assert found >= 5


def test_links_lead_somewhere():
    for text in (GUIDE, (NOTES / "README.md").read_text(encoding="utf-8")):
        for target in re.findall(r"\]\(([^)#]+)\)", text):
            assert (NOTES / target).exists(), target
