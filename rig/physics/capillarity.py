"""Capillarity: how much water a dry rim holds back before the boat fills."""

from math import radians, sin, sqrt
from typing import Final

from rig.errors import OutOfRange
from rig.physics.water import water_density

STANDARD_GRAVITY_M_S2: Final = 9.80665  # CGPM 1901; g itself differs by 0.3 % from pole to equator
DRY_RIM_DEG: Final = (60.0, 90.0)  # clean card, foil, wax: common practice, no source


def surface_tension_mn_m(water_c: float) -> float:
    """Return the surface tension of clean water against its vapour [mN/m].

    Soap lowers it, to about half (from memory): this is the most that clean water can do.

    Args:
        water_c: Water temperature, 0.01 to 100 inclusive [deg C].

    Raises:
        OutOfRange: below 0.01 or above 100.

    Source:
        IAPWS R1-76(2014), Revised Release on Surface Tension of Ordinary Water Substance;
        its own range is wider (from the triple point to the critical point).
    """
    if not 0.01 <= water_c <= 100:
        raise OutOfRange(
            f"The water reads {water_c:g} deg C; surface tension is known here for 0.01 to 100.",
            "Check that the probe is in the tub and not lying in the sun.",
        )
    tau = 1 - (water_c + 273.15) / 647.096
    return 235.8 * float(tau**1.256) * (1 - 0.625 * tau)


def capillary_length_mm(water_c: float) -> float:
    """Return the length below which surface tension outdoes weight [mm].

    sqrt(surface tension / (density x gravity)).

    Args:
        water_c: Water temperature, 0.01 to 40 inclusive [deg C].

    Raises:
        OutOfRange: below 0.01, or above 40, where the density formula ends.

    Source:
        P.-G. de Gennes, F. Brochard-Wyart, D. Quere, Capillarity and Wetting Phenomena,
        Springer 2004, chapter 2.
    """
    weight_mn_mm3 = water_density(water_c) * STANDARD_GRAVITY_M_S2 / 1000  # 1 g/ml = 1e-3 g/mm3
    return sqrt(surface_tension_mn_m(water_c) / 1000 / weight_mn_mm3)


def held_back_mm(water_c: float, contact_deg: float) -> float:
    """Return how high water can stand above a dry, clean, level rim before it spills [mm].

    The height of a wide puddle, 2 lc sin(theta / 2): an upper bound, since a notch, a wet
    spot or a slope loses it.

    Args:
        water_c: Water temperature, 0.01 to 40 inclusive [deg C].
        contact_deg: Angle at which water advances over the rim, 0 (wets it) to 180
            inclusive [degrees]; see `DRY_RIM_DEG`.

    Raises:
        OutOfRange: outside either range.

    Source:
        As `capillary_length_mm`. No published test with boats was found to confirm it.
    """
    if not 0 <= contact_deg <= 180:
        raise OutOfRange(
            f"Water cannot meet a rim at {contact_deg:g} degrees.",
            "Give an angle of 0 to 180; clean card, foil and wax lie at 60 to 90.",
        )
    return 2 * capillary_length_mm(water_c) * sin(radians(contact_deg) / 2)
