"""Weights of a class: how far one may be off what is written on it.

Source: OIML R 111-1:2004, Table 1, classes M1, M2 and M3.
"""

from typing import Final

from rig.errors import OutOfRange

# nominal mass [g]: largest errors of M1, M2, M3 [mg]
LARGEST_ERRORS_MG: Final[dict[float, tuple[float, float, float]]] = {
    10_000: (500, 1600, 5000),
    5000: (250, 800, 2500),
    2000: (100, 300, 1000),
    1000: (50, 160, 500),
    500: (25, 80, 250),
    200: (10, 30, 100),
    100: (5, 16, 50),
    50: (3, 10, 30),
    20: (2.5, 8, 25),
    10: (2, 6, 20),
    5: (1.6, 5, 16),
    2: (1.2, 4, 12),
    1: (1, 3, 10),
}
CLASSES: Final = ("M1", "M2", "M3")


def largest_error_g(of_class: str, nominal_g: float) -> float:
    """Return how far a weight of a class may be off [g].

    Args:
        of_class: "M1", "M2" or "M3".
        nominal_g: 1 g to 10 kg, in steps of 1, 2, 5 [g].

    Raises:
        OutOfRange: there is no such weight in the table.
    """
    if of_class not in CLASSES or nominal_g not in LARGEST_ERRORS_MG:
        raise OutOfRange(
            f"There is no weight {of_class} of {nominal_g:g} g.",
            "Write the tolerance instead, such as 300 g +- 0.5 g.",
        )
    return LARGEST_ERRORS_MG[nominal_g][CLASSES.index(of_class)] / 1000
