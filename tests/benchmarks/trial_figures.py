"""The trial engine's figures over simulated trials of mixed kinds. Not a test: it prints.

    python tests/benchmarks/trial_figures.py --trials 1000 --seed 1
    python tests/benchmarks/trial_figures.py --only 123

Each trial goes the one road of the data: bytes, Stream, TrialEngine. How it is judged is
written in rig/simulator/mixed.py and in judging.py beside this file.
"""

from __future__ import annotations

import argparse
import multiprocessing
from collections import defaultdict
from functools import partial
from time import process_time

from judging import Verdict, judge, steps_of

from rig.sensing.stream import Stream
from rig.simulator.mixed import mixed_trial
from rig.trial.engine import TrialEngine
from rig.trial.events import Ended

# (what, goal in words): what this project set itself
GOALS = {
    "held load within half an item": ">= 99 %",
    "additions exactly right": ">= 97 %",
    "outcome right": ">= 95 %",
    "moment of sinking within 1 s": ">= 98 %",
    "load: 95 % intervals cover": "93-97 %",
    "freeboard: 95 % intervals cover": "93-97 %",
}
_SHOWN = 12  # worst offenders of each figure


def run_engine(recording: bytes, setup, boats):
    """Return the trial's result (None if it never ended), and the seconds it took."""
    stream, engine = Stream(), TrialEngine(setup, boats)
    began = process_time()
    events = []
    for item in [*stream.feed(recording), *stream.finish()]:
        events += engine.feed(item)
    events += engine.finish()
    results = [event.result for event in events if isinstance(event, Ended)]
    return (results[0] if results else None), process_time() - began


def try_one(number: int, seed: int) -> Verdict:
    """Simulate, run and judge one trial. An engine that raises has no result."""
    recording, setup, boats, truth = mixed_trial(number, seed)
    try:
        result, engine_s = run_engine(recording, setup, boats)
    except Exception as err:  # the figures of the others are still wanted; it is counted below
        verdict = judge(truth, None, setup.item.mass_g)
        verdict.error = f"{type(err).__name__}: {err}"
        return verdict
    verdict = judge(truth, result, setup.item.mass_g)
    verdict.engine_s = engine_s
    return verdict


def figures(verdicts: list[Verdict]) -> dict[str, list[bool]]:
    """Every figure as the list of its single judgements."""
    return {
        "held load within half an item": [v.held for v in verdicts],
        "additions exactly right": [v.additions for v in verdicts],
        "outcome right": [v.outcome for v in verdicts],
        "moment of sinking within 1 s": [v.moment for v in verdicts if v.moment is not None],
        "load: 95 % intervals cover": [c for v in verdicts for c in v.load_covered],
        "freeboard: 95 % intervals cover": [c for v in verdicts for c in v.freeboard_covered],
    }


def percent(single: list[bool]) -> str:
    return f"{100 * sum(single) / len(single):6.1f}" if single else "     -"


def print_figures(verdicts: list[Verdict]) -> None:
    print(f"\n{len(verdicts)} trials")
    for name, single in figures(verdicts).items():
        print(f"  {name:34}{percent(single)} %  of {len(single):5}   goal {GOALS[name]}")
    false = [v.number for v in verdicts if v.false_sinking]
    print(f"  {'sinkings that did not happen':34}{len(false):6}               goal 0   {false}")
    strict = [v.additions_strict for v in verdicts]
    print(f"  {'additions, dropped items held wrong':34}{percent(strict)} %")
    unsure = [v for v in verdicts if v.not_sure]
    wrong = sum(not v.outcome and not v.not_sure for v in verdicts)
    right = sum(v.outcome for v in unsure)
    print(f"  outcome: {len(unsure)} 'not sure' ({right} of them right), {wrong} wrong and sure")
    broken = [(v.number, v.error) for v in verdicts if v.error]
    print(f"  trials without a result: {len(broken)} {broken[:3]}")
    engine_s = sum(v.engine_s for v in verdicts)
    ratio = sum(v.trial_s for v in verdicts) / engine_s if engine_s else 0
    print(f"  engine and stream: {ratio:.0f} times real time on one core")


def print_table(title: str, groups: dict[str, list[Verdict]]) -> None:
    print(f"\n{title:26}trials   held  added  outcome  moment   load  freeb.  false")
    for name in sorted(groups):
        some = groups[name]
        cells = [percent(single) for single in figures(some).values()]
        false = sum(v.false_sinking for v in some)
        print(
            f"  {name:24}{len(some):6} {cells[0]} {cells[1]}   {cells[2]}  {cells[3]} "
            f"{cells[4]}  {cells[5]} {false:6}"
        )


def print_methods(verdicts: list[Verdict]) -> None:
    by: dict[str, list[bool]] = defaultdict(list)
    for v in verdicts:
        for method, covered in zip(v.methods, v.freeboard_covered, strict=True):
            by[method].append(covered)
    print("\nfreeboard intervals cover, by method")
    for method, covered in sorted(by.items()):
        print(f"  {method:34}{percent(covered)} %  of {len(covered)}")


def print_worst(verdicts: list[Verdict]) -> None:
    print("\nworst offenders (--only N shows one)")
    failing = {
        "held": [v for v in verdicts if not v.held],
        "additions": [v for v in verdicts if not v.additions],
        "outcome": [v for v in verdicts if not v.outcome],
        "moment": [v for v in verdicts if v.moment is False],
    }
    for name, some in failing.items():
        numbers = ", ".join(str(v.number) for v in some[:_SHOWN])
        print(f"  {name} ({len(some)}): {numbers}")
    for name, of in (("load", "load_z"), ("freeboard", "freeboard_z")):
        far = sorted(verdicts, key=lambda v: -max(map(abs, getattr(v, of)), default=0))[:_SHOWN]
        shown = (f"{v.number} ({max(map(abs, getattr(v, of)), default=0):.0f} sd)" for v in far)
        print(f"  {name} off: {', '.join(shown)}")
    for v in [v for v in verdicts if v.notes][:_SHOWN]:
        print(f"  {v.number}: {'; '.join(v.notes)}  [{v.gauges}, {v.layout}; {', '.join(v.kinds)}]")


def show_one(number: int, seed: int) -> None:
    """Print truth and result of one trial side by side."""
    recording, setup, boats, truth = mixed_trial(number, seed)
    result, _ = run_engine(recording, setup, boats)
    item_g = setup.item.mass_g
    print(f"trial {number} of seed {seed}: {truth['gauges']}, {truth['layout']}, item {item_g} g")
    print(f"kinds: {', '.join(truth['kinds'])}; hold {setup.rig.hold_s} s")
    print(f"boat (measured): {boats[truth['boat']]}")
    print(f"true capacity {truth['true_capacity_g']} g, level rim {truth['capacity_g']} g")
    if result is None:
        print("the engine gave no result")
        return
    rows = [
        ("outcome", f"{truth['outcome']} {truth['outcome_also'] or ''}", result.outcome.value),
        ("held [g]", f"{truth['held_g']} {truth['held_also']}", f"{result.held_g:.2f}"),
        ("sunk [s]", truth["sunk_at_s"], result.sunk_at_s),
    ]
    for name, true, told in rows:
        print(f"  {name:10} truth {true}   told {told}")
    print(f"  reason: {result.reason}")
    print("additions: truth | told")
    for i in range(max(len(truth["additions"]), len(result.additions))):
        true, told = truth["additions"][i : i + 1], result.additions[i : i + 1]
        left = "".join(f"{a['at_s']:8.2f} s {a['mass_g']:8.2f} g {a['items']:3}" for a in true)
        right = "".join(f"{a.at_s:8.2f} s {a.mass_g:8.2f} g {a.items}" for a in told)
        print(f"  {left:28} | {right}")
    print(f"lent {truth['lent']}, dropped {truth['dropped']}")
    print("plateaus: truth")
    for p in truth["plateaus"]:
        print(
            f"  {p['at_s']:7.2f} to {p['until_s']:7.2f} s {p['load_g']:8.2f} g"
            f" {p['freeboard_mm']:7.2f} mm"
        )
    print("plateaus: told")
    for p in result.curve:
        mm = (
            "-" if p.freeboard_mm is None else f"{p.freeboard_mm:7.2f} +-{p.freeboard_mm_sd:.2f} mm"
        )
        print(
            f"  {p.at_s:7.2f} to {p.at_s + p.lasted_s:7.2f} s {p.load_g:8.2f} +-{p.load_g_sd:.2f} g"
            f" {mm} {'held' if p.held else ''}"
        )
    print(f"true load changes: {[(t, round(g, 1)) for t, g in steps_of(truth['track'])]}")
    print(f"notes: {result.warnings}")
    print(judge(truth, result, item_g))


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--trials", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=multiprocessing.cpu_count())
    parser.add_argument("--only", type=int, help="one trial: truth and result side by side")
    given = parser.parse_args()
    if given.only is not None:
        show_one(given.only, given.seed)
        return
    with multiprocessing.Pool(given.jobs) as pool:
        work = partial(try_one, seed=given.seed)
        verdicts = list(pool.imap(work, range(given.trials), chunksize=4))
    kinds: dict[str, list[Verdict]] = defaultdict(list)
    gauges: dict[str, list[Verdict]] = defaultdict(list)
    for verdict in verdicts:
        for kind in verdict.kinds or ["nothing"]:
            kinds[kind].append(verdict)
        gauges[f"{verdict.gauges}, {verdict.layout}"].append(verdict)
    print(f"seed {given.seed}; simulated, invented trials")
    print_table("gauges and layout", gauges)
    print_table("kind", kinds)
    print_methods(verdicts)
    print_worst(verdicts)
    print_figures(verdicts)


if __name__ == "__main__":
    main()
