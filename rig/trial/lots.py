"""Additions as somebody says they were: put together, split, or counted by hand.

What the scale weighed is never touched. Each addition told is a row of lots. A lot is a share of
one weighed addition, or some items counted by hand in place of such shares; so it can always be
said how many of the items lay in the boat at any moment, and which of them were only weighed.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import sqrt

from rig.errors import CorrectionUnfit
from rig.trial.aboard import total_items
from rig.trial.counting import Count
from rig.trial.events import Addition

MOST_ITEMS = 9999


@dataclass(frozen=True, slots=True)
class Share:
    """A part, above 0 and up to 1, of one weighed addition."""

    weighed: int
    part: Fraction


@dataclass(frozen=True, slots=True)
class Lot:
    """Some items: `counted` by hand, or as one share was weighed."""

    shares: tuple[Share, ...]
    counted: int | None = None


@dataclass(frozen=True, slots=True)
class Lots:
    """The weighed additions, oldest first, and what is told of them. k counts from 1."""

    weighed: tuple[Addition, ...]
    told: tuple[tuple[Lot, ...], ...]

    @classmethod
    def of(cls, weighed: Sequence[Addition]) -> "Lots":
        """As they were weighed."""
        told = tuple((Lot((Share(i, Fraction(1)),)),) for i in range(len(weighed)))
        return cls(tuple(weighed), told)

    @property
    def by_hand(self) -> bool:
        """Whether anything was counted by hand."""
        return any(lot.counted is not None for lots in self.told for lot in lots)

    def additions(self) -> tuple[Addition, ...]:
        """The additions told. Two that were one came at the moment of the first."""
        return tuple(self._addition(lots) for lots in self.told)

    def merged(self, k: int) -> "Lots":
        """Addition k and the one after it were one. Raises CorrectionUnfit."""
        lots = self._at(k)
        if k == len(self.told):
            raise CorrectionUnfit(
                f"No addition comes after number {k}.", "Choose the first of the two to join."
            )
        return self._with(k, 2, (*lots, *self._at(k + 1)))

    def split(self, k: int, items: int) -> "Lots":
        """Its first so many items were one addition, the rest another. Raises CorrectionUnfit."""
        lots = self._at(k)
        there = self._items(lots)
        if there is None:
            raise CorrectionUnfit(
                f"Nobody knows how many items addition {k} was.", "Set its count first."
            )
        if there < 2:
            raise CorrectionUnfit(
                f"Addition {k} cannot be split: it is {_items_words(there)}.",
                "Set its count first.",
            )
        if not 0 < items < there:
            raise CorrectionUnfit(
                f"Addition {k} is {there} items: {items} cannot be split off.",
                f"Give a number from 1 to {there - 1}.",
            )
        first: list[Lot] = []
        rest = list(lots)
        while rest and items > 0:
            lot = rest.pop(0)
            size = self._lot_items(lot) or 0
            if size > items:
                lot, left = _cut(lot, items, size)
                rest.insert(0, left)
            first.append(lot)
            items -= size
        return self._with(k, 1, tuple(first), tuple(rest))

    def counted(self, k: int, items: int) -> "Lots":
        """Addition k was so many items, whatever the scale says. Raises CorrectionUnfit."""
        if not 0 <= items <= MOST_ITEMS:
            raise CorrectionUnfit(
                f"{items} items are no count.", f"Give a whole number from 0 to {MOST_ITEMS}."
            )
        shares = _gathered(share for lot in self._at(k) for share in lot.shares)
        return self._with(k, 1, (Lot(shares, items),))

    def aboard(self, then: Sequence[Addition]) -> tuple[int, list[Addition]]:
        """What was aboard at a moment: items counted by hand, and what was only weighed.

        A count covers a whole addition; where only a part of it was aboard, its weight counts.

        Args:
            then: what had been weighed by that moment.
        """
        known = shared(self.weighed, then)
        by_hand, left = 0, list[Share]()
        for lot in (lot for lots in self.told for lot in lots):
            if lot.counted is not None and all(share.weighed < known for share in lot.shares):
                by_hand += lot.counted
            else:
                left += [share for share in lot.shares if share.weighed < known]
        weighed = [self._weighed(share) for share in _gathered(left)]
        return by_hand, weighed + list(then[known:])

    def items_aboard(self, then: Sequence[Addition]) -> int | None:
        """How many items that is; None where some are neither counted nor known by weight."""
        by_hand, weighed = self.aboard(then)
        items = total_items(weighed)
        return None if items is None else by_hand + items

    def count_aboard(
        self, then: Sequence[Addition], count: Callable[[Sequence[Addition]], Count | None]
    ) -> Count | None:
        """How many items that is, and how sure: what was counted by hand is sure.

        Args:
            count: the same for what was only weighed; None if nobody said what an item weighs.
        """
        by_hand, weighed = self.aboard(then)
        found = count(weighed) if weighed else Count(0, 0, 0, 1.0)
        if found is None:
            return None
        return Count(found.items + by_hand, found.low + by_hand, found.high + by_hand, found.p)

    def _at(self, k: int) -> tuple[Lot, ...]:
        if not 1 <= k <= len(self.told):
            there = f"from 1 to {len(self.told)}" if self.told else "another trial: it has none"
            raise CorrectionUnfit(f"There is no addition {k}.", f"Choose one {there}.")
        return self.told[k - 1]

    def _with(self, k: int, number: int, *told: tuple[Lot, ...]) -> "Lots":
        """With others in the place of so many additions from k on."""
        return replace(self, told=self.told[: k - 1] + told + self.told[k - 1 + number :])

    def _lot_items(self, lot: Lot) -> int | None:
        if lot.counted is not None:
            return lot.counted
        return self._weighed(lot.shares[0]).items

    def _items(self, lots: tuple[Lot, ...]) -> int | None:
        each = [self._lot_items(lot) for lot in lots]
        return None if None in each else sum(items for items in each if items is not None)

    def _weighed(self, share: Share) -> Addition:
        addition = self.weighed[share.weighed]
        items = None if addition.items is None else round(addition.items * share.part)
        return replace(addition, mass_g=addition.mass_g * float(share.part), items=items)

    def _addition(self, lots: tuple[Lot, ...]) -> Addition:
        shares = _gathered(share for lot in lots for share in lot.shares)
        first, *more = (self._weighed(share) for share in shares)
        if not more:
            return replace(first, items=self._items(lots))
        weighed = (first, *more)
        return Addition(
            at_s=first.at_s,
            mass_g=sum(addition.mass_g for addition in weighed),
            items=self._items(lots),
            mass_g_sd=sqrt(sum(addition.mass_g_sd**2 for addition in weighed)),
        )


def shared(one: Sequence[Addition], other: Sequence[Addition]) -> int:
    """How many additions two lists begin with alike."""
    pairs = zip(one, other, strict=False)
    return next((i for i, (a, b) in enumerate(pairs) if a != b), min(len(one), len(other)))


def _gathered(shares: Iterable[Share]) -> tuple[Share, ...]:
    """Shares of the same weighed addition put together, oldest first."""
    parts: dict[int, Fraction] = {}
    for share in shares:
        parts[share.weighed] = parts.get(share.weighed, Fraction(0)) + share.part
    return tuple(Share(i, part) for i, part in sorted(parts.items()))


def _cut(lot: Lot, items: int, size: int) -> tuple[Lot, Lot]:
    """A lot in two: the first so many of its items, and the rest."""
    first = Fraction(items, size)
    one, rest = (
        tuple(Share(share.weighed, share.part * part) for share in lot.shares)
        for part in (first, 1 - first)
    )
    if lot.counted is None:
        return Lot(one), Lot(rest)
    return Lot(one, items), Lot(rest, lot.counted - items)


def _items_words(items: int) -> str:
    return "1 item" if items == 1 else f"{items} items"
