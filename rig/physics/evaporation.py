"""How fast still water indoors dries away. Published formulas differ by a factor of two."""

from dataclasses import dataclass
from math import exp

from rig.errors import OutOfRange

STILL_AIR_M_S = 0.0
SEA_LEVEL_PA = 101_325.0
UNDISTURBED = 0.74  # of Carrier's formula; Smith, Lof and Jones, ASHRAE Trans. 104 (1998) pt 1A
_DRY_AIR_J_KG_K = 287.055  # gas constant of dry air: ASHRAE Handbook - Fundamentals (from memory)


@dataclass(frozen=True, slots=True)
class Evaporation:
    """What dries away in an hour, from the mildest to the strongest published figure [mm/h]."""

    low_mm_h: float
    high_mm_h: float


def saturated_kpa(temp_c: float) -> float:
    """Return the pressure of saturated vapour over water [kPa].

    Args:
        temp_c: 0 to 40 inclusive [deg C].

    Raises:
        OutOfRange: outside that range.

    Source:
        Magnus form of the WMO CIMO guide (WMO-No. 8); 0.1 to 0.3 % below IAPWS from 5 to 40 C.
    """
    if not 0 <= temp_c <= 40:
        raise OutOfRange(
            f"{temp_c:g} deg C is outside the vapour formula's 0 to 40.",
            "Give the temperature of the room and of the water in deg C.",
        )
    return 0.6112 * exp(17.62 * temp_c / (243.12 + temp_c))


def carrier_kg_h_m2(
    water_c: float, air_c: float, humidity: float, air_m_s: float = STILL_AIR_M_S
) -> float:
    """Return Carrier's rate [kg/(h m2)]; below 0 where vapour settles on cold water.

    Args:
        water_c, air_c: 0 to 40 inclusive [deg C].
        humidity: relative, 0 to 1 inclusive.
        air_m_s: speed of the air over the water [m/s].

    Raises:
        OutOfRange: outside these ranges.

    Source:
        W.H. Carrier (1918) as given in ASHRAE Handbook - HVAC Applications, Natatoriums:
        W = A (0.089 + 0.0782 V) (pw - pa) / Y; the SI constants are rounded. On undisturbed
        water 74 % of it was measured (`UNDISTURBED`).
    """
    dryness_kpa = _dryness_kpa(water_c, air_c, humidity)
    return 3600 * (0.089 + 0.0782 * air_m_s) * dryness_kpa / latent_kj_kg(water_c)


def shah_kg_h_m2(water_c: float, air_c: float, humidity: float) -> float:
    """Return Shah's rate for a pool that nobody is in [kg/(h m2)]; 0 where vapour settles.

    Arguments and errors as `carrier_kg_h_m2`.

    Source:
        M.M. Shah, ASHRAE Trans. 120 (2014) pt 2, SE-14-001: the larger of
        35 Dw (Dr - Dw)^(1/3) (Ww - Wr) and 0.00005 (pw - pr), D the dry air's density, W the
        moisture in it, w at the water, r in the room (formulas from memory, they reproduce the
        nine published values).
    """
    dryness_kpa = _dryness_kpa(water_c, air_c, humidity)
    if dryness_kpa <= 0:
        return 0.0
    at_water, at_room = saturated_kpa(water_c) * 1000, humidity * saturated_kpa(air_c) * 1000
    density_w, density_r = _dry_density(at_water, water_c), _dry_density(at_room, air_c)
    moisture_w, moisture_r = _moisture(at_water), _moisture(at_room)
    lift: float = max(0.0, density_r - density_w) ** (1 / 3)
    return max(35 * density_w * lift * (moisture_w - moisture_r), 0.05 * dryness_kpa)


def latent_kj_kg(water_c: float) -> float:
    """Return the heat that evaporates a kilogram of water [kJ/kg].

    Source: straight line through 2489.0 at 5 C and 2406.0 at 40 C, IAPWS-95.
    """
    return 2489.0 - (2489.0 - 2406.0) / 35 * (water_c - 5)


def still_water(
    water_c: float, air_c: float, humidity_low: float = 0.3, humidity_high: float = 0.7
) -> Evaporation:
    """Return what a tub in a room loses, from Shah's rate to Carrier's in full.

    Heated and humid classrooms differ: without a hygrometer take 30 to 70 % (common practice,
    no source). Raises OutOfRange as `carrier_kg_h_m2`.
    """
    low = shah_kg_h_m2(water_c, air_c, humidity_high)  # 1 kg on 1 m2 is 1 mm
    high = carrier_kg_h_m2(water_c, air_c, humidity_low)
    return Evaporation(max(0.0, low), max(0.0, low, high))


def mm_per_day(kg_h_m2: float) -> float:
    """Return a rate as a fall of the level in a day: a kilogram on a square metre is 1 mm."""
    return kg_h_m2 * 24


def _dryness_kpa(water_c: float, air_c: float, humidity: float) -> float:
    """Vapour pressure at the water less that in the room [kPa]."""
    if not 0 <= humidity <= 1:
        raise OutOfRange(
            f"A humidity of {humidity:.0%} cannot be.", "Give 0 to 100 %, as the hygrometer says."
        )
    return saturated_kpa(water_c) - humidity * saturated_kpa(air_c)


def _dry_density(vapour_pa: float, temp_c: float) -> float:
    return (SEA_LEVEL_PA - vapour_pa) / (_DRY_AIR_J_KG_K * (temp_c + 273.15))


def _moisture(vapour_pa: float) -> float:
    return 0.62198 * vapour_pa / (SEA_LEVEL_PA - vapour_pa)
