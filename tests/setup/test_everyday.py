"""The table of everyday items beside the published figures."""

from math import pi

import pytest

from rig.errors import RigError
from rig.setup.everyday import (
    HAZARDS,
    SMALL_BALL_MM,
    SMALL_PART_MM,
    WATER,
    everyday_items,
    find_item,
)

# mass [g], diameter [mm]: 31 U.S.C. 5112(a) and US Mint coin specifications (cent 2.500, nickel
# 5.000, dime 2.268, quarter 5.670); Council Regulation (EC) 975/98 (2 euro 8.50, 1 euro 7.50, 50
# cent 7.80); Royal Mint (2p 7.12); ISO 7089 computed at nominal size, less 6.5 % (-15 to +2 %)
PUBLISHED = {
    "US cent": (2.500, 19.05),
    "US nickel": (5.000, 21.21),
    "US dime": (2.268, 17.91),
    "US quarter": (5.670, 24.26),
    "euro coin 2 euro": (8.50, 25.75),
    "euro coin 1 euro": (7.50, 23.25),
    "euro coin 50 cent": (7.80, 24.25),
    "UK 2p": (7.12, 25.9),
    "steel ball 10 mm": (4.098, 10.0),  # a ball maker's table, balls in a kilogram
}


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_masses_and_sizes(name):
    item = find_item(name)
    assert (item.mass_g, item.size_mm) == PUBLISHED[name]


@pytest.mark.parametrize(
    ("name", "bore_mm", "outer_mm", "thick_mm"),
    [("M6", 6.4, 12, 1.6), ("M8", 8.4, 16, 1.6), ("M10", 10.5, 20, 2), ("M12", 13, 24, 2.5)],
)
def test_washers_are_rings_of_steel(name, bore_mm, outer_mm, thick_mm):
    # ISO 7089 dimensions; the nominal ring lies at the heavy end of real washers
    ring_g = pi / 4 * (outer_mm**2 - bore_mm**2) * thick_mm * 7.85 / 1000
    item = find_item(f"steel washer {name}")
    assert item.low_g == pytest.approx(0.85 * ring_g, rel=2e-3)
    assert item.high_g == pytest.approx(1.02 * ring_g, rel=2e-3)
    assert item.low_g < item.mass_g < item.high_g


@pytest.mark.parametrize("diameter_mm", [14, 16, 20, 25])
def test_marbles_are_balls_of_glass(diameter_mm):
    item = find_item(f"glass marble {diameter_mm}")
    assert item.mass_g == pytest.approx(pi / 6 * diameter_mm**3 * 2.5 / 1000, rel=1e-3)
    small_g = pi / 6 * (diameter_mm - 0.5) ** 3 * 2.46 / 1000
    assert item.low_g == pytest.approx(small_g, rel=1e-3)


@pytest.mark.parametrize("item", everyday_items(), ids=lambda item: item.name)
def test_every_row_is_whole(item):
    assert 0 < item.low_g < item.mass_g < item.high_g
    assert item.water in WATER and set(item.hazards) <= set(HAZARDS)
    assert item.source and item.how
    small = SMALL_BALL_MM if item.shape == "ball" else SMALL_PART_MM
    assert item.size_mm > small or "choking" in item.hazards
    assert 0.002 * item.mass_g < item.wet_g < 0.2 * item.mass_g
    assert 0.5 < item.bulk_g_ml < 6


def test_a_wet_ball_carries_a_film():
    # 4 pi r^2 x 0.05 mm: a marble of 16 mm carries 0.040 g
    assert find_item("glass marble 16").wet_g == pytest.approx(pi * 16**2 * 0.05 / 1000)


def test_names_are_found_by_their_words():
    assert find_item("washer m8").name == "steel washer M8"
    with pytest.raises(RigError, match="--weighed"):
        find_item("feather")
    with pytest.raises(RigError, match="several things"):
        find_item("marble")
    assert len({item.name for item in everyday_items()}) == len(everyday_items())
