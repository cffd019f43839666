"""Air: how fast an echo travels."""

from functools import lru_cache
from math import exp

from rig.errors import OutOfRange

ROOM_C = 20.0
ROOM_HUMIDITY = 0.5
SEA_LEVEL_PA = 101_325.0
CO2_FRACTION = 0.0004


def speed_of_sound(
    air_c: float, humidity: float = ROOM_HUMIDITY, pressure_pa: float = SEA_LEVEL_PA
) -> float:
    """Return the speed of sound in air [m/s].

    Args:
        air_c: Air temperature, 0 to 30 inclusive [deg C].
        humidity: Relative humidity, 0 to 1 inclusive.
        pressure_pa: 75 000 to 102 000 inclusive [Pa].

    Raises:
        OutOfRange: outside the range of the fit.

    Source:
        O. Cramer, J. Acoust. Soc. Am. 93 (1993) 2510-2516, eq. (15) and Table III;
        water vapour after R.S. Davis (1992) as given there. Stated within 300 ppm.
    """
    inside = 0 <= air_c <= 30 and 0 <= humidity <= 1 and 75_000 <= pressure_pa <= 102_000
    if not inside:
        raise OutOfRange(
            f"Air at {air_c:g} deg C, {humidity:.0%} and {pressure_pa:g} Pa is outside the"
            " formula's 0 to 30 deg C, 0 to 100 %, 75000 to 102000 Pa.",
            "Put the room's air temperature into the set-up as air_c.",
        )
    t, p, xc = air_c, pressure_pa, CO2_FRACTION
    kelvin = t + 273.15
    saturated_pa = exp(
        1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin
    )
    enhancement = 1.00062 + 3.14e-8 * p + 5.6e-7 * t**2
    xw = humidity * enhancement * saturated_pa / p
    return (
        331.5024
        + 0.603055 * t
        - 0.000528 * t**2
        + (51.471935 + 0.1495874 * t - 0.000782 * t**2) * xw
        + (-1.82e-7 + 3.73e-8 * t - 2.93e-10 * t**2) * p
        + (-85.20931 - 0.228525 * t + 5.91e-5 * t**2) * xc
        - 2.835149 * xw**2
        - 2.15e-13 * p**2
        + 29.179762 * xc**2
        + 0.000486 * xw * p * xc
    )


def echo_distance_mm(echo_us: float, air_c: float) -> float:
    """Return the distance to what sent an echo back [mm].

    Args:
        echo_us: time there and back [us].
        air_c: as for `speed_of_sound`, at half humidity.

    Raises:
        OutOfRange: as `speed_of_sound`.
    """
    return echo_us * _room_speed(air_c) / 2000


@lru_cache(maxsize=64)  # every echo asks, at one and the same temperature
def _room_speed(air_c: float) -> float:
    return speed_of_sound(air_c)
