"""What a rig can show, against figures worked out by hand from Archimedes and the data sheet."""

import re
import tomllib
from math import sqrt
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from rig.physics.hulls import FAMILIES
from rig.setup import Boat, RigSetup
from rig.setup.findings import (
    LEAST_FALL_MM,
    FreeboardFinding,
    ItemFinding,
    LevelFinding,
    SinkingFinding,
    TubUnknown,
)
from rig.setup.fitness import (
    LOOK_S,
    Readings,
    findings,
    warnings_before_class,
)
from rig.trial import sinking

BOX = Boat("Group 3", FAMILIES["box"](length_mm=150.0, beam_mm=100.0, depth_mm=40.0), 20.0)
ECHO: dict[str, Any] = {"height_mm": 400, "unit": "us"}
LIGHT: dict[str, Any] = {"height_mm": 400, "unit": "um"}
RIM: dict[str, Any] = {"height_mm": 400, "flag_mm": 60, "unit": "us"}
ITEM: dict[str, Any] = {"name": "washer", "mass_g": 2.5}


def rig(count_per_g: float = -429.5, **parts: Any) -> RigSetup:
    return RigSetup.model_validate(
        {
            "rig": {"name": "r", "layout": "feed-tray", "hold_s": 5.0},
            "load": {"zero_count": 0, "count_per_g": count_per_g},
            **parts,
        }
    )


def the(kind: type, setup: RigSetup, *boats: Boat, readings: Readings | None = None) -> Any:
    """The one finding of its kind, in water of 1 g/ml."""
    found = findings(setup, boats, readings, density_g_ml=1.0)
    (one,) = [finding for finding in found if isinstance(finding, kind)]
    return one


def test_25_g_raise_a_tub_of_600_cm2_by_0_417_mm() -> None:
    """25 ml over 60000 mm2 (Archimedes)."""
    level = the(LevelFinding, rig(surface=ECHO, tub={"area_mm2": 60_000}, item=ITEM))
    assert [(r.items, r.load_g) for r in level.rises] == [(1, 2.5), (5, 12.5), (10, 25)]
    assert [r.level_mm for r in level.rises] == pytest.approx([0.0417, 0.2083, 0.4167], abs=5e-5)


@pytest.mark.parametrize(
    ("gauge", "told_mm", "items"),
    # two means of 50 readings: 2 x sd x sqrt(2 / 50) = 0.4 sd; usual sd: common practice, no source
    [(ECHO, 0.4, 10), (LIGHT, 0.2, 5)],
)
def test_what_two_holds_tell_apart_by_hand(
    gauge: dict[str, Any], told_mm: float, items: int
) -> None:
    level = the(LevelFinding, rig(surface=gauge, tub={"area_mm2": 60_000}, item=ITEM))
    assert level.level_2sd_mm == pytest.approx(told_mm)
    # 0.4 mm x 60000 mm2 = 24 ml: ten items of 2.5 g, not nine; 12 ml: five, not four
    assert (level.least_items, level.least_g) == (items, 2.5 * items)
    assert level.ok and not level.coarse


def test_a_longer_hold_tells_more_apart() -> None:
    """Four times as long, half the noise."""
    setup = rig(surface=ECHO, tub={"area_mm2": 60_000})
    part = setup.rig.model_copy(update={"hold_s": 20.0})
    level = the(LevelFinding, setup.model_copy(update={"rig": part}))
    assert level.level_2sd_mm == pytest.approx(0.2)


def test_twice_that_is_what_random_readings_scatter_by() -> None:
    """numpy draws the readings; its own standard deviation of 40 000 differences."""
    holds = np.random.default_rng(3).normal(0.0, 0.8, (40_000, 2, 40)).mean(axis=2)
    scatter_mm = float((holds[:, 0] - holds[:, 1]).std())
    readings = Readings(surface_mm_sd=0.8, rate_hz=8.0)
    level = the(LevelFinding, rig(surface=ECHO, tub={"area_mm2": 60_000}), readings=readings)
    assert level.level_2sd_mm == pytest.approx(2 * scatter_mm, rel=0.02)


def test_a_tub_too_wide_for_the_gauge() -> None:
    setup = rig(surface=ECHO, tub={"area_mm2": 200_000}, item=ITEM)
    level = the(LevelFinding, setup)
    assert level.coarse and not level.ok
    assert level.least_items == 32  # 80 ml / 2.5 g
    assert level.tub_area_enough_mm2 == pytest.approx(62_500)  # 25 ml / 0.4 mm
    assert level.says == (
        "The surface gauge is too coarse for this tub: the water rises 0.01 mm for 1 item (2.5 g),"
        " 0.06 mm for 5 items (12.5 g), 0.12 mm for 10 items (25.0 g);"
        " the surface gauge tells 0.40 mm apart at best."
    )
    assert level.do == (
        "Use a tub of 625 cm2 or less, fit a rim gauge, or add 32 items (80.0 g) or more at a time."
    )
    with_rim = the(LevelFinding, setup.model_copy(update={"rim": rig(rim=RIM).rim}))
    assert with_rim.coarse and with_rim.ok and "rim gauge makes up for it" in with_rim.says


def test_without_an_item_it_speaks_of_grams() -> None:
    level = the(LevelFinding, rig(surface=ECHO, tub={"area_mm2": 60_000}))
    assert (level.least_items, level.ok) == (None, True)
    assert level.least_g == pytest.approx(24)
    assert "0.42 mm for 25.0 g" in level.says and "item" not in level.says
    wider = the(LevelFinding, rig(surface=ECHO, tub={"area_mm2": 63_000}))
    assert not wider.ok and "add 25.2 g or more" in wider.do


def test_a_tapering_tub_counts_where_it_is_widest() -> None:
    """Rows 50 mm apart hold 2.5 and 3 l: 50000 and 60000 mm2."""
    pours = [[0, 0], [50, 2500], [100, 5500]]
    level = the(LevelFinding, rig(surface=ECHO, tub={"pours": pours}, item=ITEM))
    assert level.tub_area_mm2 == pytest.approx(60_000)


def test_water_of_another_density() -> None:
    setup = rig(surface=ECHO, tub={"area_mm2": 60_000}, item=ITEM)
    (level,) = [
        f for f in findings(setup, density_g_ml=0.8) if isinstance(f, LevelFinding)
    ]  # 25 g displace 31.25 ml
    assert level.rises[-1].level_mm == pytest.approx(31.25 / 60)
    assert level.least_items == 8  # 24 ml x 0.8 g/ml = 19.2 g
    assert level.tub_area_enough_mm2 == pytest.approx(31.25e3 / 0.4)
    (usual,) = [f for f in findings(setup) if isinstance(f, LevelFinding)]
    assert usual.rises[-1].level_mm == pytest.approx(25 / 0.9982067 / 60, rel=1e-6)  # Tanaka 2001


@pytest.mark.parametrize(
    ("area_mm2", "told_mm", "ok"), [(60_000, 1.6, True), (160_000, 4.27, False)]
)
def test_freeboard_by_displacement(area_mm2: float, told_mm: float, ok: bool) -> None:
    """The draft of a box of 15000 mm2 changes by area / 15000 for each mm of level."""
    found = the(FreeboardFinding, rig(surface=ECHO, tub={"area_mm2": area_mm2}), BOX)
    assert found.freeboard_2sd_mm == pytest.approx(told_mm, abs=0.005)
    assert (found.boat, found.by_rim_gauge, found.ok) == ("Group 3", False, ok)
    assert found.tub_area_enough_mm2 == pytest.approx(150_000)  # 4 mm x 15000 mm2 / 0.4 mm
    if not ok:
        assert "4.3 mm at best, too coarse for a wall of 40 mm" in found.says
        assert found.do == "Use a tub of 1500 cm2 or less, or fit a rim gauge."


def test_a_flared_boat_counts_at_its_rim() -> None:
    tray = FAMILIES["tray"](
        length_mm=150.0, beam_mm=100.0, bottom_length_mm=75.0, bottom_beam_mm=50.0, depth_mm=40.0
    )
    setup = rig(surface=ECHO, tub={"area_mm2": 60_000})
    found = the(FreeboardFinding, setup, Boat("Tray", tray, 20.0))
    assert found.freeboard_2sd_mm == pytest.approx(1.6)


def test_freeboard_by_the_rim_gauge_does_not_ask_the_tub() -> None:
    """Rim less level: noise of both, sqrt(1 + 0.25) mm; the rim alone 1 mm; times 0.4."""
    both = the(FreeboardFinding, rig(surface=LIGHT, rim=RIM, tub={"area_mm2": 900_000}), BOX)
    assert both.freeboard_2sd_mm == pytest.approx(0.4 * sqrt(1.25))
    assert both.ok and both.by_rim_gauge
    alone = the(FreeboardFinding, rig(rim=RIM), BOX)
    assert alone.freeboard_2sd_mm == pytest.approx(0.4)
    noisy = the(FreeboardFinding, rig(rim=RIM), BOX, readings=Readings(rim_mm_sd=11.0))
    assert not noisy.ok and noisy.do.startswith("Build higher walls")


def test_the_fall_of_the_water_when_a_full_boat_goes_down() -> None:
    """600 ml afloat; sunk, 600 g of 2.5 g/ml displace 240 ml, of 8 g/ml 75 ml; over 60000 mm2.

    Half a second has 5 readings: 6 x 1 mm / sqrt(5).
    """
    found = the(SinkingFinding, rig(surface=ECHO, tub={"area_mm2": 60_000}), BOX)
    assert (found.fall_light_mm, found.fall_heavy_mm) == pytest.approx((6.0, 8.75))
    assert found.needed_mm == pytest.approx(2.6833, abs=1e-4)
    assert found.ok and not found.coarse


def test_a_steel_cargo_as_in_the_textbook() -> None:
    """OpenStax College Physics 2e, Example 11.8: 1.00e7 kg of steel (7.8) sunk displace 1.28e3 m3.

    Afloat they displace 1.00e4 m3 of the same water; ours is steel of 8.0, 0.4 % more of a fall.
    """
    path = Path(__file__).parents[1] / "reference" / "textbook_buoyancy.toml"
    examples = {e["id"]: e for e in tomllib.loads(path.read_text())["example"]}
    steel = examples["steel_sunk"]
    afloat_m3 = steel["inputs"]["mass_kg"] / steel["inputs"]["rho_water"]
    part = 1 - float(steel["published"]["volume_m3"]) / afloat_m3
    found = the(SinkingFinding, rig(surface=ECHO, tub={"area_mm2": 60_000}), BOX)
    assert found.fall_heavy_mm * 60 / 600 == pytest.approx(part, rel=0.005)


def test_a_sinking_that_hides_in_the_noise() -> None:
    setup = rig(surface=ECHO, tub={"area_mm2": 200_000})
    found = the(SinkingFinding, setup, BOX)
    assert found.coarse and not found.ok
    assert found.says == (
        "Group 3: the surface gauge may miss the sinking: the water falls 1.8 to 2.6 mm when it"
        " goes down full; the surface gauge is sure of a fall of 2.7 mm."
    )
    # 360 ml / 2.683 mm
    assert found.do == 'Use a tub of 1341 cm2 or less, fit a rim gauge, or tap "sunk" yourself.'
    with_rim = the(SinkingFinding, rig(surface=ECHO, rim=RIM, tub={"area_mm2": 200_000}), BOX)
    assert with_rim.ok and with_rim.coarse and "makes up for it" in with_rim.says


def test_the_finest_gauge_still_wants_the_fall_the_engine_wants() -> None:
    readings = Readings(surface_mm_sd=0.01)
    found = the(SinkingFinding, rig(surface=ECHO, tub={"area_mm2": 60_000}), BOX, readings=readings)
    assert found.needed_mm == LEAST_FALL_MM == sinking.LEAST_FALL_MM
    assert sinking.CONFIRM_S / 2 == LOOK_S


# Avia Semiconductor, HX711 data sheet: input noise at gain 128 is 50 nV rms at 10 SPS, 90 nV at
# 80 SPS; full scale +-0.5 AVDD / gain. Counts per gram = mV/V x 1e-3 x 2 x 128 x 2^23 / capacity.
# capacity_g, mV/V, counts per gram, g rms at 10/s, g rms at 80/s
DATA_SHEET = [
    (1000, 1.0, 2147.483648, 0.01, 0.018),
    (1000, 2.0, 4294.967296, 0.005, 0.009),
    (5000, 1.0, 429.4967296, 0.05, 0.09),
    (5000, 2.0, 858.9934592, 0.025, 0.045),
    (20000, 1.0, 107.3741824, 0.2, 0.36),
    (20000, 2.0, 214.7483648, 0.1, 0.18),
]


@pytest.mark.parametrize(("_capacity", "_mv", "count_per_g", "slow_g", "fast_g"), DATA_SHEET)
def test_the_amplifiers_noise_in_grams(
    _capacity: int, _mv: float, count_per_g: float, slow_g: float, fast_g: float
) -> None:
    slow = the(ItemFinding, rig(-count_per_g, item=ITEM))  # a cell may be wired either way round
    fast = the(ItemFinding, rig(count_per_g, item=ITEM), readings=Readings(rate_hz=80))
    assert (slow.noise_g, fast.noise_g) == pytest.approx((slow_g, fast_g))
    # 50 and 400 readings to a hold
    assert slow.load_2sd_g == pytest.approx(2 * slow_g / 5)
    assert fast.load_2sd_g == pytest.approx(2 * fast_g * sqrt(2) / 20)


@pytest.mark.parametrize(("item_g", "ok"), [(0.17, True), (0.15, False)])
def test_an_item_counts_when_the_noise_is_within_half_of_it(item_g: float, ok: bool) -> None:
    """A cell of 20 kg and 1 mV/V: 0.2 g rms, two holds tell 0.08 g apart."""
    found = the(ItemFinding, rig(107.3741824, item={"name": "clip", "mass_g": item_g}))
    assert found.ok is ok
    if not ok:
        assert "0.08 g apart" in found.says and "too coarse" in found.says
        assert found.do.startswith("Use items of 0.2 g or more")


def test_a_surface_gauge_over_an_unknown_tub() -> None:
    found = findings(rig(surface=ECHO), [BOX])
    assert [type(f) for f in found] == [TubUnknown] and not found[0].ok
    assert "area_mm2" in found[0].do
    with_rim = findings(rig(surface=ECHO, rim=RIM), [BOX])
    assert [type(f) for f in with_rim] == [TubUnknown, FreeboardFinding]
    assert all(f.ok for f in with_rim)


def test_a_rig_with_a_load_cell_only_has_nothing_to_be_coarse() -> None:
    assert findings(rig(), [BOX]) == [] and warnings_before_class(rig(), [BOX]) == []


def test_the_desk_gets_what_is_too_coarse_and_nothing_else() -> None:
    setup = rig(surface=ECHO, tub={"area_mm2": 200_000}, item=ITEM)
    lines = warnings_before_class(setup, [BOX])
    assert len(lines) == 3
    assert lines[0].startswith("The surface gauge is too coarse for this tub: the water rises")
    assert [line.split(":")[0] for line in lines[1:]] == ["Group 3", "Group 3"]
    assert all(" mm" in line and "Use a tub of" in line for line in lines)
    fine = rig(surface=ECHO, tub={"area_mm2": 60_000}, item=ITEM)
    assert warnings_before_class(fine, [BOX]) == []
    assert warnings_before_class(fine, [BOX], Readings(surface_mm_sd=3.0)) != []


@given(
    area_mm2=st.floats(15_000, 900_000),
    noise_mm=st.floats(0.05, 5),
    item_g=st.floats(0.2, 50),
    hold_s=st.floats(0.05, 30),
)
def test_who_takes_the_tub_that_is_advised_is_helped(
    area_mm2: float, noise_mm: float, item_g: float, hold_s: float
) -> None:
    """And every finding can be said, whatever the numbers."""
    readings = Readings(surface_mm_sd=noise_mm)

    def look(area: float) -> list[Any]:
        setup = rig(surface=ECHO, tub={"area_mm2": area}, item={"name": "i", "mass_g": item_g})
        part = setup.rig.model_copy(update={"hold_s": hold_s})
        return list(findings(setup.model_copy(update={"rig": part}), [BOX], readings))

    for before in look(area_mm2):
        advised = re.search(r"tub of (\d+) cm2", before.as_dict()["do"])
        if advised:
            area = 100 * float(advised[1])
            assert 15_000 <= area < area_mm2
            (after,) = [f for f in look(area) if f.about == before.about]
            assert after.ok and not before.ok


@given(noise_mm=st.floats(0.3, 3), area_mm2=st.floats(60_000, 500_000))
def test_who_adds_as_many_as_advised_sees_the_rise(noise_mm: float, area_mm2: float) -> None:
    readings = Readings(surface_mm_sd=noise_mm)
    setup = rig(surface=ECHO, tub={"area_mm2": area_mm2}, item=ITEM)
    level = the(LevelFinding, setup, readings=readings)
    assume(level.coarse)
    one_mm = level.rises[0].level_mm
    assert (level.least_items - 1) * one_mm < level.level_2sd_mm
    assert level.least_items * one_mm >= level.level_2sd_mm * (1 - 1e-9)
