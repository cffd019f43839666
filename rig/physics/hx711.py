"""A load cell behind an HX711: what its data sheet says a count is.

The cell's bridge is fed from the amplifier's own analogue supply, so the supply cancels: code =
V / (0.5 AVDD / gain) x 2^23, with V = sensitivity x AVDD x mass / rated mass.

Source: Avia Semiconductor, HX711 24-bit analog-to-digital converter for weigh scales, data sheet:
full scale +-0.5 AVDD / gain, two's complement codes, input noise and rates.
"""

from typing import Final

from rig.errors import OutOfRange

BITS: Final = 24
CODE_LOW: Final = -(2**23)  # 800000h: the input is at its full scale, or below
CODE_HIGH: Final = 2**23 - 1  # 7FFFFFh: or above
GAINS: Final = (32, 64, 128)
USUAL_GAIN: Final = 128  # channel A after power-up
SUPPLY_V: Final = (2.6, 5.5)
_SLOW_SPS: Final = 10.0
_NOISE_SLOW_NV, _NOISE_FAST_NV = 50.0, 90.0  # rms at gain 128: at 10 and at 80 SPS


def signed_code(word: int) -> int:
    """Return a 24-bit word read as two's complement, the first bit being the sign.

    Raises:
        OutOfRange: the word has more than 24 bits, or is negative already.
    """
    if not 0 <= word < 2**BITS:
        raise OutOfRange(f"{word} is no word of {BITS} bits.", "Hand over the word as it was read.")
    return word - 2**BITS if word > CODE_HIGH else word


def counts_per_gram(rated_g: float, sensitivity_mv_v: float, gain: int = USUAL_GAIN) -> float:
    """Return how many counts a gram makes, by the data sheets of cell and amplifier [1/g].

    A cell's sensitivity is good to some per cent: this says what to expect, a known mass says
    what is.

    Args:
        rated_g: the cell's rated load, above 0 [g].
        sensitivity_mv_v: its output at the rated load, above 0 [mV/V].
        gain: 32, 64 or 128.

    Raises:
        OutOfRange: for any other value.
    """
    if not (rated_g > 0 and sensitivity_mv_v > 0):
        raise OutOfRange(
            f"A cell of {rated_g:g} g and {sensitivity_mv_v:g} mV/V cannot be.",
            "Copy both from the cell's label or data sheet.",
        )
    return sensitivity_mv_v * 1e6 / rated_g / _nv_per_count(1.0, gain)


def noise_counts(rate_hz: float, supply_v: float = 5.0) -> float:
    """Return the standard deviation of one reading at gain 128, by the data sheet [counts].

    The chip knows two rates, 10 and 80 a second: what is not its slow one is its fast one.

    Args:
        supply_v: 2.6 to 5.5 inclusive [V].

    Raises:
        OutOfRange: for another supply.
    """
    if not SUPPLY_V[0] <= supply_v <= SUPPLY_V[1]:
        raise OutOfRange(
            f"The HX711 works from {SUPPLY_V[0]} to {SUPPLY_V[1]} V, not at {supply_v:g} V.",
            "Measure the supply at its pins.",
        )
    noise_nv = _NOISE_SLOW_NV if rate_hz <= _SLOW_SPS else _NOISE_FAST_NV
    return noise_nv / _nv_per_count(supply_v, USUAL_GAIN)


def _nv_per_count(supply_v: float, gain: int) -> float:
    """0.5 AVDD / gain in 2^23 steps."""
    if gain not in GAINS:
        raise OutOfRange(f"The HX711 has no gain of {gain}.", "Take 128, 64 or 32.")
    return 0.5e9 * supply_v / gain / 2**23
