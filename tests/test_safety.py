"""safety.md: its short form is what the Desk shows, and it names the standards it leans on."""

import re
from pathlib import Path

import pytest

from rig.physics.water import water_density

TOP = Path(__file__).parents[1]
PAGE = (TOP / "safety.md").read_text(encoding="utf-8")
SHORT = (TOP / "dashboard" / "safety_short.txt").read_text(encoding="utf-8").splitlines()
ITEM = re.compile(r"(?:\d+\.|-) +(.*)")
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in PAGE.splitlines()
    if line.startswith("|") and not line.startswith("| ---")
][1:]


def first_list(page: str) -> list[str]:
    """The first run of list items, and the heading it stands under."""
    lines: list[str] = []
    for line in page.splitlines():
        item = ITEM.fullmatch(line)
        if item:
            lines.append(item[1])
        elif lines:
            break
    return lines


def test_the_page_opens_with_the_short_form():
    headings = [line for line in PAGE.splitlines() if line.startswith("## ")]
    assert headings[0] == "## Before the first trial of the day"
    assert PAGE.index(headings[0]) < PAGE.index(SHORT[0]) < PAGE.index(headings[1])


def test_the_desk_shows_exactly_the_short_form_of_the_page():
    assert first_list(PAGE) == SHORT


def test_the_short_form_is_short():
    assert 6 <= len(SHORT) <= 8
    for line in SHORT:
        assert line == line.strip()
        assert 0 < len(line) <= 115  # two lines on a phone held sideways


@pytest.mark.parametrize(
    "word",
    [
        *("mains", "power bank", "standing water", "1 litre weighs 1 kg", "wipe up", "wash hands"),
        *("mouth", "foil", "glass", "allergies", "jug", "empty the tub"),
    ],
)
def test_the_short_form_covers_every_danger(word):
    assert word in " ".join(SHORT).lower()


@pytest.mark.parametrize(
    "standard",
    [
        *("NFPA 70", "210.8(B)", "UL 943", "29 CFR 1910.304(b)(3)", "IEC 60364-4-41"),
        *("BS 7671, 411.3.3", "IEC 60364-7-701", "IEC 60364-7-702:2010", "IEC 61140"),
        *("IEC 61558-1:2005", "IEC 60335-1:2010", "IEC 62368-1", "IEC 61558-2-6", "IEC 60479-1"),
        *("IEC 60529", "NIOSH Publication 94-110", "ISO 11228-1:2021", "HSE INDG143"),
        *("CPSC Document 5006", "16 CFR 1501", "EN 71-1"),
    ],
)
def test_the_standards_are_named(standard):
    assert any(standard in row[1] for row in ROWS)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[1])
def test_what_is_from_memory_says_to_check_the_edition(row):
    # These figures could not be confirmed by reading a copy or a quotation of the standard.
    unconfirmed = [
        *("NFPA 70 (National Electrical Code), 210.8(B)", "IEC 60364-4-41", "IEC 62368-1"),
        *("IEC 61558-2-6", "IEC 60479-1", "ISO 11228-1", "INDG143", "16 CFR 1501"),
    ]
    from_memory = any(name in row[1] for name in unconfirmed)
    assert ("from memory: check the edition in force" in row[2]) == from_memory


def test_both_editions_of_the_uk_rule_are_told_apart():
    [told] = [row[2] for row in ROWS if row[1] == "BS 7671, 411.3.3"]
    assert "20 A in the 2008 edition" in told and "32 A in the 2018 edition" in told


def test_it_defers_to_those_who_are_responsible():
    decides = PAGE.split("## Who decides")[1].split("## 1.")[0]
    words = " ".join(decides.split())
    for first in ("electrical and safety rules", "local codes", "licensed", "come first"):
        assert first in words


def test_what_hurts_most_comes_first():
    order = re.findall(r"^## \d\. (.*)$", PAGE, re.MULTILINE)
    assert order[:3] == [
        "Mains power near water",
        "Standing water and small children",
        "Small parts",
    ]


def test_a_litre_does_weigh_a_kilogram():
    # To the two figures a person lifting it cares about, at any temperature of a classroom.
    assert all(round(water_density(c), 2) == 1.0 for c in range(0, 31))
    assert "a tub of 12 litres weighs 12 kg" in PAGE
