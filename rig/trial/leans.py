"""Which plateaus somebody leaned on: whole items and leans told apart.

Somebody who leans on the table presses for some seconds with the weight of a few items, slowly
at both ends and never quite still. Items come in whole numbers, and quickly. So each row of
plateaus can be explained in several ways, this many items and a lean here or there; every
oddity of an explanation has its price, and the cheapest explanation holds.

The prices are in nats, and are our own estimates (common practice, no source).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil, floor, log, log2, sqrt
from statistics import median

from rig.setup import Item
from rig.trial.load_track import HAND_S, PRESS_G, Plateau

LEAN_G = 8.0  # a body on the table presses with no more (common practice, no source)
SWAY_PART = 0.3  # with so much more or less from plateau to plateau
SWAY_G = 0.5
SURE_ROWS = 40  # so many tell noise to a fifth
LINGERS = 0.1  # items
PRESS_S = 3.5  # a hand stays on the tray for 3 s at the most (common practice, no source)
UNSAID_PART = 0.03  # of an item: what its mass may be wrong by
_BEGINS = 5.0
_TOGETHER = 1.5  # just as items land
_PER_G = 0.15  # small leans are commoner than great ones
_LIFTS = 4.0  # leaning presses down; a table that bends may lift, but seldom does
_AT_ONCE = 1.0  # a lean that begins or ends within half a second, and no item moves
_SLOW = 2.0  # items that take longer than a second to land
_TAKEN = 3.0  # items go aboard more often than they come back
_ODD = 10.0  # one change that is nothing like whole items
_ODD_ITEMS = 1.0  # all of them: the set-up's item is wrong
_FAST_S, _SLOW_S = 0.5, 1.0
_UNEQUAL = 0.8  # most teachers add as many as the last time
_PRESSES = 4.0
_WHOLE = 2.0
_STAYS = 3.0  # a hand that has not gone yet may be none
_NEVER = 100.0
_HOPELESS = 15.0
_KEPT = 24  # explanations followed at a time


@dataclass(frozen=True, slots=True)
class Explained:
    """What one plateau bears: whole items, and `lean_g` of a body or a hand on it [g].

    `leaned`: somebody is on it, so that by itself it cannot be weighed.
    """

    items: int
    lean_g: float = 0.0
    leaned: bool = False


@dataclass(frozen=True, slots=True)
class _Seen:
    """One plateau: mean in items above the first one, its sd, and how restless it is."""

    items: float
    sd: float
    restless: float | None
    rows: int
    way_s: float  # how long the load was under way to it
    from_s: float
    end_s: float
    lasts: bool


@dataclass(frozen=True, slots=True)
class _Story:
    """One explanation so far. `offset`: mean less whole items, when nobody leaned last."""

    price: float = 0.0
    told: tuple[Explained, ...] = ()
    items: int = 0
    offset: float = 0.0
    offset_sd: float = 0.0
    free_items: int = 0
    lean: float = 0.0  # [items]
    lean_since_s: float | None = None
    usual: int = 0  # items of the last addition


def explain(
    plateaus: Sequence[Plateau], item: Item, noise_g: float, presses: float, now_s: float
) -> list[Explained]:
    """Return what each plateau bears, by the cheapest explanation of them all.

    Args:
        noise_g: standard deviation of one reading.
        presses: +1 where a push on the table looks like load aboard, -1 where it looks like
            load taken off.
        now_s: the newest reading; a plateau that lasts ends there.
    """
    return Explainer(item, presses).explain(plateaus, noise_g, now_s)


def _cheapest(stories: list[_Story]) -> list[_Story]:
    """Of those that stand alike the cheapest, less those that can hardly win any more."""
    best: dict[tuple[int, float | None], _Story] = {}
    for story in stories:
        state = (story.items, story.lean_since_s)
        if state not in best or story.price < best[state].price:
            best[state] = story
    found = sorted(best.values(), key=lambda story: story.price)[:_KEPT]
    return [story for story in found if story.price < found[0].price + _HOPELESS]


def _seen(
    plateaus: Sequence[Plateau], number: int, item: Item, noise_g: float, now_s: float
) -> _Seen:
    here = plateaus[number]
    before = plateaus[number - 1] if number else here
    mean_g = here.mean_g - plateaus[0].mean_g
    return _Seen(
        mean_g / item.mass_g,
        (here.noise.sd or noise_g) / sqrt(here.n) / item.mass_g,
        here.noise.sd,
        here.n,
        here.start_s - (before.end_s or here.start_s),
        here.arrived_s,
        now_s if here.end_s is None else here.end_s,
        here.end_s is None,
    )


@dataclass(frozen=True, slots=True)
class _Prices:
    """What each way from one plateau to the next costs."""

    item: Item
    presses: float
    calm_g: float

    def after(self, story: _Story, before: _Seen, here: _Seen) -> list[_Story]:
        """Every way a story can go on."""
        found = [self._free(story, here)]
        reach = LEAN_G / self.item.mass_g
        middle = here.items - story.offset
        for items in range(ceil(middle - reach), floor(middle + reach) + 1):
            found.append(self._leaning(story, before, here, items))
        found.append(self._pressed(story, here))
        return found

    def _free(self, story: _Story, here: _Seen) -> _Story:
        """Nobody leans on the new plateau."""
        leaned = story.lean_since_s is not None
        items = round(here.items - story.offset)
        moved = items - story.items
        sd = self.sd(here.sd, story.offset_sd, items - story.free_items)
        if leaned:  # the way out of a lean may still colour what follows
            sd = max(sd, LINGERS)
        price = min((here.items - story.offset - items) ** 2 / sd**2 / 2, _ODD)
        price += self._moving(story, moved, leaned, here)
        price += max(0.0, self.restless(here))
        if items < 0 or (leaned and here.from_s - (story.lean_since_s or 0.0) > HAND_S):
            price = _NEVER
        return replace(
            story,
            price=story.price + price,
            told=(*story.told, Explained(items)),
            items=items,
            usual=moved if moved > 0 else story.usual,
            free_items=items,
            offset=here.items - items,
            offset_sd=max(here.sd, LINGERS) if leaned else here.sd,
            lean=0.0,
            lean_since_s=None,
        )

    def _leaning(self, story: _Story, before: _Seen, here: _Seen, items: int) -> _Story:
        """Somebody leans on the new plateau, with so many items aboard."""
        lean = here.items - story.offset - items
        moved = items - story.items
        since_s = story.lean_since_s
        if since_s is None:
            price = _BEGINS + self._moving(story, moved, True, here)
            price += _TOGETHER if moved else 0.0
            price += _PER_G * abs(lean) * self.item.mass_g
            price += _LIFTS if lean * self.presses < 0 else 0.0
            since_s = before.end_s
        else:
            sway = SWAY_PART * max(abs(lean), abs(story.lean)) + SWAY_G / self.item.mass_g
            sd = sqrt(self.sd(here.sd, before.sd, moved) ** 2 + sway**2)
            price = (lean - story.lean) ** 2 / sd**2 / 2 + self._moving(story, moved, False, here)
        price += max(0.0, -self.restless(here))
        if items < 0 or here.end_s - since_s > HAND_S + _SLOW_S:
            price = _NEVER
        return replace(
            story,
            price=story.price + price,
            told=(*story.told, Explained(items, lean * self.item.mass_g, leaned=True)),
            items=items,
            usual=moved if moved > 0 else story.usual,
            lean=lean,
            lean_since_s=since_s,
        )

    def _pressed(self, story: _Story, here: _Seen) -> _Story:
        """A hand presses or lifts for a moment; whatever moved, moves afterwards."""
        off = here.items - story.offset - story.items
        moved = round(off)
        sd = self.sd(here.sd, story.offset_sd, moved)
        price = _PRESSES if abs(off) * self.item.mass_g >= PRESS_G else 2 * _PRESSES
        if moved and abs(off - moved) < 2 * sd < 0.3:
            price += _WHOLE  # a hand seldom weighs just so many items
        if here.lasts:
            price += _STAYS
        if here.end_s - here.from_s > PRESS_S:
            price = _NEVER
        told = Explained(story.items, off * self.item.mass_g, leaned=True)
        return replace(story, price=story.price + price, told=(*story.told, told))

    def _moving(self, story: _Story, moved: int, lean_changes: bool, here: _Seen) -> float:
        """Items land fast, leans are slow."""
        price = _TAKEN if moved < 0 else 0.0
        if moved > 0 and story.usual and moved != story.usual:
            price += _UNEQUAL * max(1.0, abs(log2(moved / story.usual)))
        if moved and not lean_changes and here.way_s > _SLOW_S:
            price += _SLOW
        if not moved and lean_changes and here.way_s < _FAST_S:
            price += _AT_ONCE
        return price

    def restless(self, here: _Seen) -> float:
        """Above nought: more restless than a plateau that nobody leans on; below: calmer."""
        if here.restless is None or not self.calm_g:
            return 0.0
        sure = min(1.0, here.rows / SURE_ROWS)
        return sure * min(max(8 * (here.restless / self.calm_g - 1.4), -4.0), 3.0)

    def sd(self, one: float, other: float, moved: int) -> float:
        """Of a difference between two plateaus with so many items between them [items]."""
        spread = self.item.mass_sd_g / self.item.mass_g
        return sqrt(one**2 + other**2 + abs(moved) * spread**2 + UNSAID_PART**2)


class Explainer:
    """Explains one trial's plateaus, again and again as they come; see `explain`.

    What a plateau costs hangs only on those before it, so that of those that have not changed
    since the last time nothing need be worked out again.
    """

    def __init__(self, item: Item, presses: float) -> None:
        self._item, self._presses = item, presses
        self._known: list[tuple[_Seen, _Prices, list[_Story]]] = []

    def explain(self, plateaus: Sequence[Plateau], noise_g: float, now_s: float) -> list[Explained]:
        """Return what each plateau bears."""
        for number in range(len(plateaus)):
            here = _seen(plateaus, number, self._item, noise_g, now_s)
            if number < len(self._known) and self._known[number][0] == here:
                continue
            del self._known[number:]
            self._known.append(self._next(here, noise_g))
        del self._known[len(plateaus) :]
        if not self._known:
            return []
        best = self._known[-1][2][0]
        odd = _odd_items(self._known)
        return list(min(best, odd, key=lambda story: story.price).told)

    def _next(self, here: _Seen, noise_g: float) -> tuple[_Seen, _Prices, list[_Story]]:
        """The cheapest stories up to one more plateau."""
        restless = [seen.restless for seen, _, _ in self._known] + [here.restless]
        calm_g = median([one for one in restless if one is not None] or [noise_g])
        prices = _Prices(self._item, self._presses, calm_g)
        if not self._known:
            return here, prices, [_Story(told=(Explained(0),), offset_sd=here.sd)]
        before, _, stories = self._known[-1]
        new = [new for story in stories for new in prices.after(story, before, here)]
        return here, prices, _cheapest(new)


def _odd_items(known: Sequence[tuple[_Seen, _Prices, list[_Story]]]) -> _Story:
    """Nobody ever leans: the items are not what the set-up says, and fit no whole numbers."""
    items, price, told = 0, _ODD_ITEMS, [Explained(0)]
    for (before, _, _), (here, prices, _) in pairwise(known):
        moved = round(here.items - before.items)
        # that whole items come out near a whole number is worth this much, and is lost here
        price += max(0.0, -log(2.5 * prices.sd(here.sd, before.sd, moved)))
        price += max(0.0, prices.restless(here))
        items += moved
        if items < 0:
            price += _NEVER
        told.append(Explained(items))
    return _Story(price, tuple(told))
