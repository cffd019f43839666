"""Which cell and which gauge: against published figures and plane geometry.

Counts and noise: computed from the HX711 data sheet (Avia Semiconductor: full scale
+-0.5 AVDD / gain, input noise 50 nV rms at 10 a second and 90 at 80, AVDD 5 V, gain 128).
"""

import pytest

from rig.errors import OutOfRange
from rig.setup.parts import Plan, parts_table, spot_mm

# rated g: counts/g, noise g rms at 10 a second, at 80; cells of 1 mV/V
DATA_SHEET = {
    1000: (2147.483648, 0.01, 0.018),
    5000: (429.4967296, 0.05, 0.09),
    20000: (107.3741824, 0.2, 0.36),
}


@pytest.mark.parametrize("rated_g", DATA_SHEET)
def test_counts_and_noise_are_the_data_sheets(rated_g):
    (cell,) = parts_table(Plan(supply_v=5.0), [rated_g]).cells
    told = (cell.counts_per_g, cell.noise_10_g, cell.noise_80_g)
    assert told == pytest.approx(DATA_SHEET[rated_g])


def test_a_lower_supply_leaves_the_counts_and_raises_the_noise():
    (low,), (high,) = (parts_table(Plan(supply_v=v), [5000]).cells for v in (2.7, 5.0))
    assert low.counts_per_g == high.counts_per_g
    assert low.noise_10_g == pytest.approx(high.noise_10_g * 5.0 / 2.7)


def test_the_smallest_cell_that_carries_it_is_taken():
    plan = Plan(tray_g=200, most_g=600, item_g=2.5)
    table = parts_table(plan, [5000, 1199, 1200, 50_000])
    assert [(c.rated_g, c.feed_tray) for c in table.cells] == [
        (1199, "too small"), (1200, "take this"), (5000, "carries it"), (50_000, "carries it"),
    ]  # fmt: skip


def test_the_tub_bears_its_water_too():
    plan = Plan(tub_length_mm=1000, tub_width_mm=100, water_mm=100, tub_g=1, boat_g=2, most_g=3,
                boat_beam_mm=50)  # fmt: skip
    # 10 l of water at 20 deg C: 998.2 g each (IAPWS-95, Wagner and Pruss 2002: 0.998207 g/ml)
    assert parts_table(plan).tub_bears_g == pytest.approx(9982.07 + 6, abs=0.1)


def test_too_coarse_for_the_item():
    # a difference of two means of 50 readings: 2 sqrt(2/50) = 0.4 of the noise, 0.2 g at 5 V
    plan = Plan(item_g=0.33, supply_v=5.0)
    (cell,) = parts_table(plan, [20_000]).cells
    assert cell.told_g == pytest.approx(0.08) and cell.feed_tray == "take this"
    (cell,) = parts_table(Plan(item_g=0.31, supply_v=5.0), [20_000]).cells
    assert cell.feed_tray == "too coarse"


def test_the_level_rises_by_the_volume_over_the_area():
    """Archimedes: 100 g displace 100.18 ml of water at 20 deg C."""
    table = parts_table(Plan(tub_length_mm=500, tub_width_mm=200))
    assert table.level[0].rise_mm_per_100_g == pytest.approx(1.0018, abs=1e-4)
    echo, light = table.level
    assert echo.told_g == pytest.approx(echo.told_mm / 1.0018 * 100, rel=1e-4)
    assert light.told_mm == pytest.approx(echo.told_mm / 2)  # 0.5 mm of noise, not 1


@pytest.mark.parametrize(("angle_deg", "width_mm"), [(90, 200.0), (60, 115.470), (15, 26.330)])
def test_the_spot_is_a_cones_width(angle_deg, width_mm):
    """tan 45 = 1, tan 30 = 1/sqrt 3, tan 7.5 = 0.131652 (tables)."""
    assert spot_mm(100, angle_deg) == pytest.approx(width_mm, abs=0.001)


def test_what_a_gauge_sees():
    echo, light = parts_table(Plan(gauge_mm=300, flag_mm=80, wall_mm=40, flag_side_mm=60)).spots
    # 2 tan 7.5 deg = 0.263305; 2 tan 12.5 deg = 0.443389 (tables)
    assert (echo.on_water_mm, echo.on_flag_mm) == pytest.approx((78.99, 57.93), abs=0.01)
    assert light.on_flag_mm == pytest.approx(97.55, abs=0.01)
    assert echo.flag_fills and not light.flag_fills
    assert echo.flag_gap_mm == 180 and echo.flag_in_sight


def test_a_flag_in_the_blind_zone_is_named():
    """A 40 kHz module hears nothing nearer than 2 cm (its data sheet: range 2 to 400 cm)."""
    for gauge_mm, seen in ((140, True), (139, False)):
        assert parts_table(Plan(gauge_mm=gauge_mm)).spots[0].flag_in_sight is seen


def test_a_narrow_tub_has_no_room_for_the_surface_gauge():
    narrow = Plan(tub_length_mm=300, tub_width_mm=200, boat_length_mm=150, boat_beam_mm=100)
    assert [s.surface_has_room for s in parts_table(narrow).spots] == [False, False]
    assert [s.surface_has_room for s in parts_table(Plan()).spots] == [True, True]


@pytest.mark.parametrize(
    "bad",
    [
        {"item_g": 0.0},
        {"water_mm": float("nan")},
        {"boat_length_mm": 600.0},
        {"gauge_mm": 110.0},
        {"supply_v": 9.0},
    ],
)
def test_what_cannot_be_is_refused(bad):
    with pytest.raises(OutOfRange):
        parts_table(Plan(**bad))
