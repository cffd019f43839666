"""Judges one result against one truth of `rig.simulator.mixed`, by the rules written there."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field
from itertools import pairwise
from statistics import fmean, median

COVERS = 1.96  # of a stated standard uncertainty: a 95 % interval
ONE_MOMENT_S = 1.5  # entries of the truth that begin closer together may be told as one
NEAR_S = 4.0  # an entry further than this from every true one is an addition nobody made
MOMENT_S = 1.0
EARLY_S = 3.0  # a sinking told so long before it happened is one that did not happen
CALM_S = 1.0  # left out at the beginning of a plateau, for waves


@dataclass
class Verdict:
    """How one trial was judged. None: there was nothing to judge."""

    number: int
    kinds: list[str]
    gauges: str
    layout: str
    held: bool = False
    additions: bool = False
    additions_strict: bool = False  # a dropped item counted as aboard is wrong here
    outcome: bool = False
    not_sure: bool = False
    false_sinking: bool = False
    moment: bool | None = None
    load_covered: list[bool] = field(default_factory=list)
    load_z: list[float] = field(default_factory=list)
    freeboard_covered: list[bool] = field(default_factory=list)
    freeboard_z: list[float] = field(default_factory=list)
    methods: list[str] = field(default_factory=list)
    error: str = ""
    notes: list[str] = field(default_factory=list)
    trial_s: float = 0.0
    engine_s: float = 0.0


def judge(truth: dict, result, item_g: float) -> Verdict:
    """Return the verdict on a `TrialResult`; None for a trial the engine never ended."""
    verdict = Verdict(truth["number"], truth["kinds"], truth["gauges"], truth["layout"])
    verdict.trial_s = truth["ends_s"]
    if result is None:
        verdict.error = "no result"
        verdict.moment = None if truth["sunk_at_s"] is None else False
        return verdict
    drops = _unseen_drops(truth)
    verdict.held = _held(truth, result, item_g, drops)
    verdict.additions_strict = additions_right(truth["additions"], [], result.additions)
    verdict.additions = verdict.additions_strict or (
        bool(drops) and additions_right(truth["additions"], drops, result.additions)
    )
    _outcome(verdict, truth, result)
    _sinking(verdict, truth, result)
    _coverage(verdict, truth, result, drops)
    return verdict


def additions_right(true: list[dict], drops: list[dict], told) -> bool:
    """Whether each group of true additions is told with its items, and nothing else is.

    A group may be told in as many entries as it has or fewer. `drops`, where the numbers cannot
    tell a dropped item from one aboard, may be told as additions, alone or with a neighbour.
    """
    entries = sorted(true + [{**d, "last_s": d["at_s"], "items": 1} for d in drops], key=_at)
    groups = _groups(entries)
    counts, items = [0] * len(groups), [0] * len(groups)
    for entry in told:
        if entry.items is None:
            return False
        if entry.items == 0:
            return False  # an addition of nothing
        nearest = min(
            range(len(groups)), key=lambda i: _distance(groups[i], entry.at_s), default=None
        )
        if nearest is None or _distance(groups[nearest], entry.at_s) > NEAR_S:
            return False
        counts[nearest] += 1
        items[nearest] += entry.items
    return all(
        1 <= counts[i] <= len(group) and items[i] == sum(e["items"] for e in group)
        for i, group in enumerate(groups)
    )


def _at(entry: dict) -> float:
    return entry["at_s"]


def _groups(entries: list[dict]) -> list[list[dict]]:
    groups: list[list[dict]] = []
    for entry in entries:
        if groups and entry["at_s"] - groups[-1][-1]["last_s"] < ONE_MOMENT_S:
            groups[-1].append(entry)
        else:
            groups.append([entry])
    return groups


def _distance(group: list[dict], at_s: float) -> float:
    return max(group[0]["at_s"] - at_s, at_s - group[-1]["last_s"], 0.0)


def _unseen_drops(truth: dict) -> list[dict]:
    """Dropped items that the load cell cannot tell from items aboard."""
    feed = truth["layout"] == "feed-tray"
    return [d for d in truth["dropped"] if feed or d["into"] == "water"]


def _held(truth: dict, result, item_g: float, drops: list[dict]) -> bool:
    right = {truth["held_g"], *(g for g, _ in truth["held_also"])}
    right |= {g + sum(d["mass_g"] for d in drops) for g in right}
    return any(abs(result.held_g - g) < item_g / 2 for g in right)


def _outcome(verdict: Verdict, truth: dict, result) -> None:
    told = str(result.outcome.value if hasattr(result.outcome, "value") else result.outcome)
    verdict.outcome = told in (truth["outcome"], *truth["outcome_also"])
    verdict.not_sure = "not sure" in f"{told} {result.reason}".lower()
    if not verdict.outcome:
        verdict.notes.append(f"{truth['outcome']} told as {told}")


def _sinking(verdict: Verdict, truth: dict, result) -> None:
    true_s, told_s = truth["sunk_at_s"], result.sunk_at_s
    verdict.false_sinking = told_s is not None and (true_s is None or told_s < true_s - EARLY_S)
    if true_s is not None:
        verdict.moment = told_s is not None and abs(told_s - true_s) <= MOMENT_S
        if not verdict.moment:
            off = "never" if told_s is None else f"{told_s - true_s:+.1f} s"
            verdict.notes.append(f"sinking told {off}")


def _coverage(verdict: Verdict, truth: dict, result, drops: list[dict]) -> None:
    """The tare plateau is nought by definition; what is told after the sinking is no plateau.

    Water that leaks into a boat does not move the level: without a rim gauge nobody can know the
    freeboard of a leaking boat, so that is not judged.
    """
    blind = "leaked" in truth["kinds"] and "rim" not in truth["gauges"]
    times = [row[0] for row in truth["track"]]
    end_s = truth["sunk_at_s"] if truth["sunk_at_s"] is not None else truth["ends_s"]
    for point in result.curve[1:]:
        from_s, to_s = point.at_s, min(point.at_s + point.lasted_s, end_s)
        rows = truth["track"][bisect_left(times, from_s) : bisect_right(times, to_s)]
        if to_s - from_s < CALM_S or not rows:
            continue
        load_g = median(g for _, g, _ in rows)
        fallen_g = sum(d["mass_g"] for d in drops if d["at_s"] < to_s)
        z = min(
            (
                _z(point.load_g - load_g, point.load_g_sd),
                _z(point.load_g - load_g - fallen_g, point.load_g_sd),
            ),
            key=abs,
        )
        verdict.load_z.append(z)
        verdict.load_covered.append(abs(z) <= COVERS)
        if point.freeboard_mm is None or blind:
            continue
        calm = [mm for at_s, _, mm in rows if at_s >= from_s + CALM_S] or [rows[-1][2]]
        z = _z(point.freeboard_mm - fmean(calm), point.freeboard_mm_sd)
        verdict.freeboard_z.append(z)
        verdict.freeboard_covered.append(abs(z) <= COVERS)
        verdict.methods.append(str(point.method.value if point.method else "?"))


def _z(error: float, sd: float) -> float:
    return error / sd if sd > 0 else (0.0 if error == 0 else float("inf"))


def steps_of(track: list[tuple[float, float, float]]) -> list[tuple[float, float]]:
    """(at_s, load_g) at every change of the true load; for a person to read."""
    changes = [(track[0][0], track[0][1])] if track else []
    changes += [(b[0], b[1]) for a, b in pairwise(track) if a[1] != b[1]]
    return changes
