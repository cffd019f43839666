"""Fisher's F: how likely a ratio of two variances is by chance alone. Pure."""

from math import exp, isfinite, lgamma, log, log1p

from rig.errors import OutOfRange

_ENOUGH = 1e-15
_TINY = 1e-300


def f_tail(f: float, df1: float, df2: float) -> float:
    """Return the probability that F is larger than `f` by chance, 0 to 1.

    With df1 = 1 it is the two-sided probability of Student's t, for f = t^2.

    Args:
        f: the ratio, 0 or more; infinity has probability 0.
        df1: degrees of freedom above the bar, above 0.
        df2: below the bar, above 0.

    Raises:
        OutOfRange: for other values.

    Source:
        NIST Digital Library of Mathematical Functions: the tail is the regularized incomplete
        beta I_x(df2/2, df1/2) at x = df2 / (df2 + df1 f), which is 8.17.1-8.17.2; its
        continued fraction is 8.17.22, its symmetry 8.17.4 (numbers from memory).
    """
    if not (df1 > 0 and df2 > 0 and f >= 0 and isfinite(df1) and isfinite(df2)):
        raise OutOfRange(
            f"An F of {f:g} with {df1:g} and {df2:g} degrees of freedom cannot be.",
            "Take more points than the curve has coefficients, and some of them twice.",
        )
    if f == 0:
        return 1.0
    if not isfinite(df1 * f):
        return 0.0
    return _beta_part(df2 / (df2 + df1 * f), df1 * f / (df2 + df1 * f), df2 / 2, df1 / 2)


def critical_f(chance: float, df1: float, df2: float) -> float:
    """Return the F that chance exceeds with a probability, 1e-9 to 1 - 1e-9 inclusive.

    Raises:
        OutOfRange: as `f_tail`, and for another probability.
    """
    if not 1e-9 <= chance <= 1 - 1e-9:
        raise OutOfRange(f"A chance of {chance:g} has no F.", "Take one such as 0.05.")
    low, high = 0.0, 1.0
    while f_tail(high, df1, df2) > chance:
        low, high = high, 2 * high
    while high - low > 1e-14 * high:
        middle = (low + high) / 2
        if not low < middle < high:
            break
        low, high = (middle, high) if f_tail(middle, df1, df2) > chance else (low, middle)
    return (low + high) / 2


def _beta_part(x: float, rest: float, a: float, b: float) -> float:
    """I_x(a, b), with `rest` = 1 - x; on the side where the fraction converges quickly."""
    if x > (a + 1) / (a + b + 2):
        return 1.0 - _beta_part(rest, x, b, a)
    if x == 0:
        return 0.0
    log_rest = log(rest) if x > 0.5 else log1p(-x)
    front = a * log(x) + b * log_rest - (lgamma(a) + lgamma(b) - lgamma(a + b))
    return exp(front) / a * _fraction(x, a, b)


def _fraction(x: float, a: float, b: float) -> float:
    """The continued fraction of DLMF 8.17.22, from its top down (Lentz's method)."""
    value, upper, lower = 1.0, 1.0, 0.0
    for step in range(1, 10_000):
        m = step // 2
        if step % 2:
            part = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            part = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        lower = 1 / _not_zero(1 + part * lower)
        upper = _not_zero(1 + part / upper)
        value *= upper * lower
        if abs(upper * lower - 1) < _ENOUGH:
            break
    return 1 / value


def _not_zero(value: float) -> float:
    return value if abs(value) > _TINY else _TINY
