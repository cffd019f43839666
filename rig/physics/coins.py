"""Coins as known masses: what each kind weighs when new, by its published specification.

Sources: United States: 31 U.S.C. 5112 and the Mint's coin specifications; euro: Council Regulation
(EU) 729/2014, Annex I; United Kingdom: the Royal Mint's specifications under the Coinage Act 1971.
"""

from math import sqrt
from typing import Final

# In grams, by the name that a person types.
COINS: Final[dict[str, float]] = {
    "EUR 1 cent": 2.30,
    "EUR 2 cent": 3.06,
    "EUR 5 cent": 3.92,
    "EUR 10 cent": 4.10,
    "EUR 20 cent": 5.74,
    "EUR 50 cent": 7.80,
    "EUR 1 euro": 7.50,
    "EUR 2 euro": 8.50,
    "US cent": 2.500,  # from 1983 on; in 1982 and before also 3.11 g
    "US nickel": 5.000,
    "US dime": 2.268,
    "US quarter": 5.670,
    "US half dollar": 11.340,
    "US dollar": 8.1,
    "GB 1p": 3.56,
    "GB 2p": 7.12,
    "GB 5p": 3.25,
    "GB 10p": 6.50,
    "GB 20p": 5.00,
    "GB 50p": 8.00,
    "GB 1 pound": 8.75,  # with twelve sides, from 2017 on
    "GB 2 pound": 12.00,
}

# How far all coins of one kind in a purse may be off together, wear and dirt included, as a
# largest part: our own choice. New ones are struck to 1.5-4 % each where a tolerance is published
# (US cent 0.10 g, nickel 0.194 g; 31 U.S.C. 5113), and those errors average out over many.
WORN_PART: Final = 0.01


def coin_sd(mass_g: float) -> float:
    """Return the standard uncertainty of a coin's mass, the same for all of its kind [g].

    Source: a largest error with nothing else known is a rectangle, JCGM 100:2008 (GUM), 4.3.7.
    """
    return WORN_PART * mass_g / sqrt(3)
