from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from rig.records import Block, Store, TrialRow
from rig.trial.events import Outcome, TrialResult

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


@dataclass
class Bench:
    """A store and the few hand movements the tests repeat. The group is invented."""

    store: Store
    _said = 0

    def block(self, data: bytes) -> Block:
        """A block whose clock ticks a tenth of a second each time."""
        self._said += 1
        return Block(NOON + timedelta(seconds=self._said / 10), data)

    def say(self, run_id: str, *lines: bytes) -> None:
        self.store.add_blocks(run_id, [self.block(line) for line in lines])

    def begin(self, run_id: str, mark: bytes, identity: bytes | None = None) -> TrialRow:
        return self.store.begin_trial(
            run_id,
            boat={"label": "Otters"},
            setup={"rig": {"name": "Tub 1"}},
            identity=identity,
            start_mark=self.block(mark),
        )

    def close(self, trial_id: str, held_g: float = 120.5) -> TrialRow:
        result = TrialResult(
            boat="Otters",
            outcome=Outcome.SWAMPED,
            reason="The rim went under.",
            held_g=held_g,
            held_g_sd=0.4,
            held_items=48,
            held_items_low=47,
            held_items_high=49,
            held_items_p=0.8,
            sunk_at_s=93.25,
            predicted_capacity_g=131.0,
            predicted_capacity_items=52,
            additions=(),
            curve=(),
            warnings=(),
        )
        return self.store.close_trial(trial_id, result.as_dict())


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "data" / "records.sqlite3"


@pytest.fixture
def store(path: Path) -> Iterator[Store]:
    with Store.open(path) as opened:
        yield opened


@pytest.fixture
def bench(store: Store) -> Bench:
    return Bench(store)
