"""What really happened in one trial, on the clock that a reader of the recording can know."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from rig.simulator.bench import Bench
from rig.simulator.hands import Landed

HOLD_SLACK_S = 0.4  # a hold missed or made by less than this may honestly be judged either way
_EVERY_S = 0.1
_NEAR_FULL = 0.88  # share of the capacity from which full and tipped over look alike
_LEAK_ML = 0.08  # share of the capacity that water inside must make up to be noticed
_AT_ONCE_S = 3.0  # going down so soon after an addition looks as if the addition did it


@dataclass
class Diary:
    """Looks at a bench after every row of one trial."""

    start_s: float = 0.0
    rows: list[tuple[float, float, float]] = field(default_factory=list)
    _next_s: float = 0.0

    def look(self, bench: Bench) -> None:
        """Note load aboard and true freeboard, waves left out, ten times a second."""
        vessel, rim_mm = bench.world.vessel, bench.world.rim_mm
        if bench.now_s < self._next_s or vessel is None or rim_mm is None:
            return
        self._next_s = bench.now_s + _EVERY_S - 1e-6
        self.rows.append((bench.now_s, vessel.load_g, rim_mm - bench.world.level_mm))


class SeenClock:
    """Bench time to seconds since the start mark, as the board's clock counts them.

    The silence of a reset is in nobody's count: the board's clock begins anew after it.
    """

    def __init__(self, start_s: float, unseen: Sequence[tuple[float, float]]) -> None:
        self._start_s, self._unseen = start_s, unseen

    def at(self, bench_s: float) -> float:
        lost_s = sum(min(max(bench_s - a, 0.0), b - a) for a, b in self._unseen)
        return bench_s - self._start_s - lost_s


@dataclass(frozen=True, slots=True)
class Carried:
    """A load that stayed aboard, unchanged or with more on top, for a while."""

    load_g: float
    items: int
    from_s: float
    to_s: float


def carried(
    additions: Sequence[Landed], end_s: float, breaks: Sequence[tuple[float, float]] = ()
) -> list[Carried]:
    """Return every stretch between additions; `breaks` cut stretches in two."""
    stretches: list[Carried] = []
    load_g, items = 0.0, 0
    ends = [*(later.at_s for later in additions[1:]), end_s]
    for addition, until_s in zip(additions, ends, strict=True):
        load_g, items = load_g + addition.mass_g, items + addition.items
        cuts = [addition.last_s, *(t for cut in breaks for t in cut), min(until_s, end_s)]
        inside = [t for t in cuts if addition.last_s <= t <= min(until_s, end_s)]
        for from_s, to_s in zip(inside[::2], inside[1::2], strict=False):
            stretches.append(Carried(load_g, items, from_s, to_s))
    return stretches


def best(stretches: Sequence[Carried], hold_s: float) -> tuple[float, int]:
    """Return the largest load carried for so long, and its items; (0, 0) for none."""
    held = [(c.load_g, c.items) for c in stretches if c.to_s - c.from_s >= hold_s]
    return max(held, default=(0.0, 0))


def truth_of(bench: Bench, diary: Diary) -> dict[str, Any]:
    """Return the truth of a trial that has ended; the keys are told in `mixed.py`."""
    vessel, hands = bench.world.vessel, bench.hands
    if vessel is None or hands is None:
        raise ValueError("a truth needs a trial")
    clock = SeenClock(diary.start_s, bench.unseen)
    gone_s = vessel.gone_at_s
    end_s = bench.now_s if gone_s is None else gone_s
    mishaps, hold_s = hands.mishaps, bench.setup.rig.hold_s
    stretches = carried(hands.additions, end_s)
    held_g, held_items = best(stretches, hold_s)
    return {
        "boat": vessel.boat.label,
        "outcome": vessel.fortune,
        "outcome_also": _outcome_also(bench, end_s),
        "held_g": round(held_g, 4),
        "held_items": held_items,
        "held_also": _held_also(bench, clock, end_s),
        "sunk_at_s": None if gone_s is None else round(clock.at(gone_s), 3),
        "ends_s": round(clock.at(bench.now_s), 3),
        "additions": [
            {
                "at_s": round(clock.at(a.at_s), 3),
                "last_s": round(clock.at(a.last_s), 3),
                "mass_g": round(a.mass_g, 4),
                "items": a.items,
            }
            for a in hands.additions
        ],
        "lent": [
            {
                "at_s": round(clock.at(lent.at_s), 3),
                "back_s": round(clock.at(back_s), 3),
                "mass_g": round(lent.mass_g, 4),
            }
            for lent, back_s in mishaps.returned
        ],
        "dropped": [
            {"at_s": round(clock.at(d.at_s), 3), "mass_g": round(d.mass_g, 4), "into": d.where}
            for d in mishaps.dropped
        ],
        "capacity_g": round(vessel.capacity_g, 4),
        "true_capacity_g": round(vessel.true_capacity_g, 4),
        "plateaus": _plateaus(diary, clock, stretches),
        "track": [(round(clock.at(t), 3), round(g, 4), round(mm, 4)) for t, g, mm in diary.rows],
    }


def _plateaus(
    diary: Diary, clock: SeenClock, stretches: Sequence[Carried]
) -> list[dict[str, float]]:
    told = []
    for stretch in stretches:
        rows = [mm for t, _, mm in diary.rows if stretch.from_s <= t < stretch.to_s]
        if rows:
            told.append(
                {
                    "at_s": round(clock.at(stretch.from_s), 3),
                    "until_s": round(clock.at(stretch.to_s), 3),
                    "load_g": round(stretch.load_g, 4),
                    "freeboard_mm": round(sum(rows) / len(rows), 4),
                }
            )
    return told


def _held_also(bench: Bench, clock: SeenClock, end_s: float) -> list[tuple[float, int]]:
    """Other answers that the recording leaves open."""
    hands, hold_s = bench.hands, bench.setup.rig.hold_s
    if hands is None:
        return []
    loans = [(lent.at_s, back_s) for lent, back_s in hands.mishaps.returned]
    open_to = set()
    for breaks in ((), loans):
        for stretch_s in (hold_s - HOLD_SLACK_S, hold_s, hold_s + HOLD_SLACK_S):
            stretches = carried(hands.additions, end_s, breaks)
            seen = [
                Carried(c.load_g, c.items, clock.at(c.from_s), clock.at(c.to_s)) for c in stretches
            ]
            open_to |= {best(stretches, stretch_s), best(seen, stretch_s)}
    return sorted((round(g, 4), items) for g, items in open_to)


def _outcome_also(bench: Bench, end_s: float) -> list[str]:
    """Other outcomes that the numbers of the trial cannot be told from."""
    vessel, hands = bench.world.vessel, bench.hands
    if vessel is None or hands is None or vessel.gone_at_s is None:
        return []
    also = []
    since_s = end_s - max((a.at_s for a in hands.additions if a.at_s <= end_s), default=0.0)
    if vessel.fortune == "heeled" and vessel.load_g > _NEAR_FULL * vessel.capacity_g:
        also.append("swamped")  # the addition that tipped it would have filled it, or nearly
    if vessel.fortune == "leaked":
        if vessel.inside_ml < _LEAK_ML * vessel.capacity_g or (
            vessel.load_g > _NEAR_FULL * vessel.capacity_g
        ):
            also.append("swamped")
        if since_s < _AT_ONCE_S and bench.setup.rim is None:
            also.append("heeled")  # only a rim gauge sees a boat sink lower at constant load
    return also
