"""How far a scale may be off at a load, in the manner of a legal one of ordinary accuracy.

Source: OIML R 76-1:2006, Table 6 (largest permissible errors on initial verification), class III.
The rig is no legal scale and has no class: the bands are a measure that many have agreed on.
"""

from math import floor, log10
from typing import Final

from rig.errors import OutOfRange

# class III: up to so many scale intervals e, so many e
BANDS: Final = ((500.0, 0.5), (2000.0, 1.0), (10_000.0, 1.5))


def largest_error_g(load_g: float, e_g: float) -> float:
    """Return the largest permissible error at a load [g].

    Args:
        load_g: [g]; its sign does not matter.
        e_g: the scale interval, above 0 [g].

    Raises:
        OutOfRange: more than 10 000 intervals, where the table ends; or no interval.
    """
    if not e_g > 0:
        raise OutOfRange(f"A scale interval of {e_g:g} g cannot be.", "Give one above 0.")
    for most, errors in BANDS:
        if abs(load_g) <= most * e_g * (1 + 1e-12):
            return errors * e_g
    raise OutOfRange(
        f"{load_g:g} g are more than {BANDS[-1][0]:.0f} intervals of {e_g:g} g.",
        "Take a smaller mass, or a coarser interval.",
    )


def interval_at_least(limit_g: float) -> float:
    """Return the smallest interval 1, 2 or 5 x 10^k that is not below a limit above 0 [g]."""
    return min(step for step in _steps(limit_g) if step >= limit_g * (1 - 1e-9))


def interval_at_most(limit_g: float) -> float:
    """Return the largest interval 1, 2 or 5 x 10^k that is not above a limit above 0 [g]."""
    return max(step for step in _steps(limit_g) if step <= limit_g * (1 + 1e-9))


def _steps(limit_g: float) -> list[float]:
    if not limit_g > 0:
        raise OutOfRange(f"{limit_g:g} g has no scale interval.", "Give a mass above 0.")
    power = floor(log10(limit_g))
    return [float(f"{digit}e{power + more}") for more in (-1, 0, 1) for digit in (1, 2, 5)]
