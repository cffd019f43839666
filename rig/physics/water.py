"""Fresh water."""

from rig.errors import OutOfRange

ROOM_C = 20.0  # used where a rig has no thermometer; 10 degrees more lower the density by 0.3 %


def water_density(water_c: float) -> float:
    """Return the density of air-free fresh water at one atmosphere [g/ml].

    Args:
        water_c: Water temperature, 0 to 40 inclusive [deg C].

    Raises:
        OutOfRange: below 0 or above 40, where the formula was not fitted.

    Source:
        Tanaka et al., Metrologia 38 (2001) 301-309, eq. (1);
        doi:10.1088/0026-1394/38/4/3.
    """
    if not 0 <= water_c <= 40:
        raise OutOfRange(
            f"The water reads {water_c:g} deg C; the density formula covers 0 to 40.",
            "Check that the probe is in the tub and not lying in the sun.",
        )
    a1, a2, a3, a4, a5 = -3.983035, 301.797, 522_528.9, 69.34881, 0.999974950
    return a5 * (1 - (water_c + a1) ** 2 * (water_c + a2) / (a3 * (water_c + a4)))
