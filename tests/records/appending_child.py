"""A rig in mid-trial, to be killed: begins or continues a trial and never stops talking.

Says on standard output which rows it has been told are committed. Run by test_power_cut.py.
"""

import sys
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from rig.records import Block, RawWriter, Store
from rig.sensing.sentences import Data, Mark, encode

path, life = Path(sys.argv[1]), int(sys.argv[2])
store = Store.open(path)
run_id = store.begin_run("Tub 1")
trial = store.open_trial("Tub 1") or store.begin_trial(
    run_id,
    boat={"label": "Otters"},
    setup={},
    identity=b"$PTRGI,identity\r\n",
    start_mark=Block(datetime.now(UTC), encode(Mark(0, "start", "Otters"))),
)
print(trial.number, flush=True)
writer = RawWriter(store, run_id, flush_s=0.002)
for row in count():
    writer.put(encode(Data(row % 2**16, row, life, None, None, None)))
    if row % 5 == 4:
        writer.flush()
        print(row, flush=True)
