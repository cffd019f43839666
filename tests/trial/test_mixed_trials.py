"""The whole engine on simulated trials of mixed kinds: a regression guard, not a measurement.

Seed and numbers are fixed and every part is deterministic, so the figures are always the same.
What the engine is good for is measured by tests/benchmarks/trial_figures.py on other seeds.
"""

import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from rig.sensing.stream import Stream
from rig.simulator.mixed import mixed_trial
from rig.trial.engine import TrialEngine
from rig.trial.events import Ended

SEED, TRIALS = 5, 24
_PATH = Path(__file__).parents[1] / "benchmarks" / "judging.py"


def judging():
    """The benchmark's rules, by path: tests are no package."""
    spec = spec_from_file_location("mixed_trials_judging", _PATH)
    module = module_from_spec(spec)
    sys.modules[spec.name] = module  # its dataclasses look themselves up there
    spec.loader.exec_module(module)
    return module


def judged(number):
    recording, setup, boats, truth = mixed_trial(number, SEED)
    stream, engine = Stream(), TrialEngine(setup, boats)
    events = []
    for item in [*stream.feed(recording), *stream.finish()]:
        events += engine.feed(item)
    results = [e.result for e in [*events, *engine.finish()] if isinstance(e, Ended)]
    assert len(results) == 1
    return judging().judge(truth, results[0], setup.item.mass_g)


@pytest.fixture(scope="module")
def verdicts():
    return [judged(number) for number in range(TRIALS)]


def test_the_mix_holds_what_it_is_to_guard(verdicts):
    kinds = {kind for verdict in verdicts for kind in verdict.kinds}
    assert {"afloat", "swamped", "heeled", "leaked", "wrong words", "press", "lean"} <= kinds
    assert {v.gauges for v in verdicts} == {"rim+surface", "surface", "rim", "none"}


def test_no_sinking_is_told_that_did_not_happen(verdicts):
    assert [v.number for v in verdicts if v.false_sinking] == []


def test_outcomes_are_right(verdicts):
    assert sum(v.outcome for v in verdicts) >= 22, [v.notes for v in verdicts if not v.outcome]


def test_held_loads_are_right(verdicts):
    assert sum(v.held for v in verdicts) >= 22, [v.number for v in verdicts if not v.held]


def test_additions_and_moments_are_right(verdicts):
    assert sum(v.additions for v in verdicts) >= 22, [v.number for v in verdicts if not v.additions]
    assert sum(v.moment is False for v in verdicts) <= 1
