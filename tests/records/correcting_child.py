"""Corrects one trial without end, to be killed. Run by test_corrections.py.

Says on standard output how many corrections it has been told are committed.
"""

import sys
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from rig.records import Block, Store
from rig.sensing.sentences import Mark, encode

path, trial_id, there = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
store = Store.open(path)
first = store.trial(trial_id).result
for n in count(there + 1):
    line = Block(datetime.now(UTC), encode(Mark(0, "fix", f"count,1,{n}")))
    store.add_correction(trial_id, line, {**first, "held_items": n})
    print(n, flush=True)
