"""Known values: what a person puts on, pours or reads from a ruler, and how sure that is. Pure."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from math import isfinite, sqrt

from rig.errors import OutOfRange
from rig.physics.buoyancy import water_reads_g
from rig.physics.coins import COINS, coin_sd
from rig.physics.mass_classes import largest_error_g
from rig.physics.water import ROOM_C

NOTHING = "nothing"
EXAMPLES = "200 g +- 0.1 g; M2 500 g; 12 x EUR 2 euro; 1000 ml +- 5 ml water at 21 C"
_NUMBER = r"(\d+(?:[.,]\d+)?)"
_MASS = re.compile(rf"{_NUMBER} ?(kg|g)(?: ?(?:\+-|±) ?{_NUMBER} ?(kg|g|mg))?", re.ASCII)
_CLASS = re.compile(rf"(M[123]) {_NUMBER} ?(kg|g)", re.IGNORECASE | re.ASCII)
_WATER = re.compile(
    rf"{_NUMBER} ?(ml|l)(?: ?(?:\+-|±) ?{_NUMBER} ?(ml|l))? (?:of )?water(?: at {_NUMBER} ?C)?",
    re.IGNORECASE | re.ASCII,
)
_TIMES = re.compile(r"(\d{1,4}) ?x ?(.+)", re.IGNORECASE)
_IN_G = {"kg": 1000.0, "g": 1.0, "mg": 0.001}
_IN_ML = {"l": 1000.0, "ml": 1.0}
_BY_NAME = {name.lower(): (name, mass_g) for name, mass_g in COINS.items()}


@dataclass(frozen=True, slots=True)
class Piece:
    """One weight, coin, jug or ruler: `value` each, off by the same `sd` wherever it is used."""

    name: str
    value: float
    sd: float


@dataclass(frozen=True)
class Known:
    """A known value made of pieces: so many of each. `own_sd` is anew each time it is read."""

    words: str
    parts: tuple[tuple[float, Piece], ...] = ()
    own_sd: float = 0.0

    @cached_property
    def value(self) -> float:
        """The sum, in the unit of the pieces."""
        return sum(count * piece.value for count, piece in self.parts)

    @property
    def sd(self) -> float:
        """Standard uncertainty; pieces of one name are off together, others on their own."""
        together = [count * piece.sd for piece, count in counted(self.parts)]
        return sqrt(sum(sd**2 for sd in together) + self.own_sd**2)


def counted(parts: Iterable[tuple[float, Piece]]) -> list[tuple[Piece, float]]:
    """Return each piece once, with how many there are."""
    counts: dict[str, tuple[Piece, float]] = {}
    for count, piece in parts:
        before = counts.get(piece.name, (piece, 0.0))[1]
        counts[piece.name] = piece, before + count
    return list(counts.values())


def no_load() -> Known:
    """Nothing on the cell."""
    return Known(NOTHING)


def mass(text: str) -> Known:
    """Return the mass that a person wrote [g].

    One or more of these, with + between them, and a number and x before any: a mass with the
    largest error it may have; a weight of class M1, M2 or M3; a coin; water by volume and
    temperature (20 deg C if not given), of which air carries its part. "nothing" is none.

    Raises:
        OutOfRange: it is none of these, or says no tolerance.
    """
    words = " ".join(text.split())
    if words.lower() in (NOTHING, "0", "0 g"):
        return no_load()
    terms = re.split(r" \+ |(?<=\w)\+(?=\w)", words)
    return Known(words, tuple(_term(term.strip()) for term in terms))


def _term(term: str) -> tuple[float, Piece]:
    times = _TIMES.fullmatch(term)
    count, one = (float(times[1]), times[2].strip()) if times else (1.0, term)
    piece = _weight(one) or _of_class(one) or _coin(one) or _water(one)
    if piece is None or not count or not (isfinite(piece.value) and piece.value > 0):
        raise OutOfRange(f'"{term}" is no known mass.', f"Write it like one of these: {EXAMPLES}.")
    return count, piece


def _weight(one: str) -> Piece | None:
    found = _MASS.fullmatch(one)
    if found is None:
        return None
    if found[3] is None:
        raise OutOfRange(
            f'"{one}" does not say how sure it is.', f"Add by how much it may be off: {one} +- 1 g."
        )
    mass_g = _number(found[1]) * _IN_G[found[2]]
    return Piece(one, mass_g, _number(found[3]) * _IN_G[found[4]] / sqrt(3))


def _of_class(one: str) -> Piece | None:
    found = _CLASS.fullmatch(one)
    if found is None:
        return None
    nominal_g = _number(found[2]) * _IN_G[found[3].lower()]
    return Piece(one, nominal_g, largest_error_g(found[1].upper(), nominal_g) / sqrt(3))


def _coin(one: str) -> Piece | None:
    found = _BY_NAME.get(one.lower())
    return Piece(found[0], found[1], coin_sd(found[1])) if found else None


def _water(one: str) -> Piece | None:
    found = _WATER.fullmatch(one)
    if found is None:
        return None
    if found[3] is None:
        raise OutOfRange(
            f'"{one}" does not say how sure it is.',
            "Add by how much the volume may be off: 1000 ml +- 10 ml water.",
        )
    water_c = _number(found[5]) if found[5] else ROOM_C
    reads_g = water_reads_g(_number(found[1]) * _IN_ML[found[2].lower()], water_c)
    off_g = water_reads_g(_number(found[3]) * _IN_ML[found[4].lower()], water_c)
    return Piece(one, reads_g, off_g / sqrt(3))


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def height(mm: float, ruler_mm: float) -> Known:
    """Return a height or distance read from a ruler [mm].

    Half of the doubt is the ruler's own (its zero, its tilt), the same for all; half is anew with
    each look (our own choice).

    Args:
        ruler_mm: how far a reading may be off [mm].
    """
    sd = ruler_mm / sqrt(3) / sqrt(2)
    parts = ((1.0, Piece("height", mm, 0.0)), (1.0, Piece("ruler", 0.0, sd)))
    return Known(f"{mm:g} mm", parts, sd)


def poured(jugs: float, jug_ml: float, off_ml: float) -> Known:
    """Return the water after so many jugs, full or parts of one [ml].

    Args:
        off_ml: how far one jug may be off, each time alike [ml].
    """
    return Known(f"{jugs * jug_ml:g} ml", ((jugs, Piece("jug", jug_ml, off_ml / sqrt(3))),))
