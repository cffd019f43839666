"""An HX711 on a load cell: noise, creep, drift with temperature, and words that are wrong."""

from collections import Counter
from collections.abc import Callable
from math import exp, expm1
from random import Random

from rig.physics.hx711 import CODE_HIGH, CODE_LOW, counts_per_gram, noise_counts, signed_code
from rig.simulator.troubles import AmplifierPart

_MINUTE_S = 60.0


def input_noise_g(part: AmplifierPart, rate_hz: float) -> float:
    """Return the standard deviation of one reading by the data sheet [g]; 0 without a cell."""
    if part.capacity_g is None:
        return 0.0
    return noise_counts(rate_hz, part.supply_v) / counts_per_gram(part.capacity_g, part.mv_per_v)


class Creep:
    """The cell's slow yielding: each change of load goes on creeping in the same direction.

    c' = (share x load - c) / creep_s, the first-order lag that cell makers describe; `share` is
    such that `creep_share` of a step has come after one minute. Works both ways, so it also
    comes back after unloading. The cell has yielded to the first load it shows long ago.
    """

    def __init__(self, part: AmplifierPart) -> None:
        self._tau_s = part.creep_s
        self._share = part.creep_share / -expm1(-_MINUTE_S / part.creep_s)
        self._crept_g = 0.0
        self._first: tuple[float, float] | None = None  # its load, and when we last looked

    def at(self, load_g: float, now_s: float) -> float:
        """Return what creep adds to the reading [g]; call it with a time that does not fall."""
        if self._share == 0:
            return 0.0
        first_g, last_s = self._first or (load_g, now_s)
        self._first = (first_g, now_s)
        goal_g = self._share * (load_g - first_g)
        self._crept_g = goal_g + (self._crept_g - goal_g) * exp((last_s - now_s) / self._tau_s)
        return self._crept_g


class WrongWords:
    """Spoils a share of the words, in the ways the amplifier's users report.

    A clock pulse too many or too few shifts the word (doubled, halved); a line that goes high
    too early fills it with ones from the right (smear), wholly so for 2^k - 1 (ones); a first
    bit read wrong, or a turned word, changes the sign; a loose input gives the saturation
    codes; a host that reads too early gets the last word again.
    """

    def __init__(self, share: float, rng: Random) -> None:
        self._share, self._rng = share, rng
        self._last = 0
        self.given: Counter[str] = Counter()  # by kind

    def spoil(self, word: int) -> int:
        """Return the word as it arrives."""
        if self._share and self._rng.random() < self._share:
            kind = self._rng.choice(list(WRONG))
            self.given[kind] += 1
            word = self._last if kind == "repeat" else WRONG[kind](word, self._rng)
        self._last = word
        return word


def _signed(bits: int) -> int:
    """What is left of a word in 24 bits."""
    return signed_code(bits & 0xFFFFFF)


WRONG: dict[str, Callable[[int, Random], int]] = {
    "ones": lambda word, rng: 2 ** rng.randint(1, 23) - 1,
    "smear": lambda word, rng: _signed(word | (2 ** rng.randint(1, 23) - 1)),
    "doubled": lambda word, rng: _signed(word << 1),
    "halved": lambda word, rng: word >> 1,
    "sign": lambda word, rng: _signed(rng.choice((-word, word ^ 0x800000))),
    "saturated": lambda word, rng: rng.choice((CODE_LOW, CODE_HIGH)),
    "repeat": lambda word, rng: word,  # `WrongWords` knows the last one
}
