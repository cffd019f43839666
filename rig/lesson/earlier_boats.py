"""What boats of earlier classes carried; of those that never sank only a lower bound is known."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from rig.errors import OutOfRange


@dataclass(frozen=True, slots=True)
class EarlierBoat:
    """The largest load a boat carried. Not `sank`: items or time ran out, it might carry more."""

    items: float
    sank: bool


@dataclass(frozen=True, slots=True)
class Survival:
    """Kaplan-Meier: the share of boats that carry more than so many items.

    All tuples are of one length: the loads at which something happened, and there the share with
    its 95 % interval (log-log, Greenwood).
    """

    items: tuple[float, ...]
    share: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


def kaplan_meier(boats: Sequence[EarlierBoat]) -> Survival:
    """Return the share that carry more than a load, by Kaplan-Meier; the work is scipy's.

    Raises:
        OutOfRange: no boat, or none that sank: nothing but a lower bound is known then.

    Source:
        E.L. Kaplan and P. Meier, J. Am. Stat. Assoc. 53 (1958) 457-481.
    """
    from scipy.stats import CensoredData, ecdf

    if not any(boat.sank for boat in boats):
        raise OutOfRange("No boat of these sank.", "Lay out more items, or use a dry run.")
    kept = CensoredData(
        uncensored=[boat.items for boat in boats if boat.sank],
        right=[boat.items for boat in boats if not boat.sank],
    )
    found = ecdf(kept).sf
    bounds = _interval(found)
    return Survival(
        tuple(map(float, found.quantiles)),
        tuple(map(float, found.probabilities)),
        tuple(low if low == low else 0.0 for low in map(float, bounds.low.probabilities)),
        tuple(high if high == high else 1.0 for high in map(float, bounds.high.probabilities)),
    )


def _interval(found: Any) -> Any:
    """Greenwood's formula divides by 0 where a share is 0 or 1: nothing is known there."""
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        return found.confidence_interval(confidence_level=0.95, method="log-log")


def boats_from_text(text: str) -> list[EarlierBoat]:
    """Return boats written as "52 61 80+ 44"; the + marks one that never sank.

    Raises OutOfRange, naming the word.
    """
    boats = []
    for word in re.split(r"[\s,;]+", text.strip()):
        match = re.fullmatch(r"(\d{1,5}(?:\.\d+)?)(\+?)", word)
        if match is None:
            raise OutOfRange(
                f'"{word}" is no result.', "Write items, with + for a boat that never sank: 52 80+."
            )
        boats.append(EarlierBoat(float(match[1]), not match[2]))
    return boats


def based_on(boats: Sequence[EarlierBoat]) -> str:
    """Return "based on 14 boats, 3 of them never sank"."""
    if not boats:
        return "based on no boats yet"
    afloat = sum(not boat.sank for boat in boats)
    many = "1 boat" if len(boats) == 1 else f"{len(boats)} boats"
    if not afloat:
        return f"based on {many}, all of them sank" if len(boats) > 1 else f"based on {many}"
    if len(boats) == 1:
        return "based on 1 boat, and it never sank"
    if afloat == len(boats):
        return f"based on {many}, none of them ever sank"
    return f"based on {many}, {afloat} of them never sank"
