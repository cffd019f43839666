"""A source that plays bytes, and a rig service around it."""

from collections import deque
from dataclasses import dataclass, field

import pytest

from rig.records import Store
from rig.sensing.source import SourceStatus
from rig.service import RigService
from rig.simulator import read_scenario, simulate

PLAYING = SourceStatus(True, "playing")


@dataclass
class Played:
    """Gives out its chunks one `read()` each, then nothing."""

    chunks: deque = field(default_factory=deque)
    status: SourceStatus = PLAYING
    closed: bool = False

    def read(self):
        return self.chunks.popleft() if self.chunks else b""

    def close(self):
        self.closed = True


class Desk:
    """A service whose reading loop the test turns by hand."""

    def __init__(self, folder, scenario="clean-box"):
        self.name, self.scenario = scenario, read_scenario(scenario)
        self.store = Store.open(folder / "records.sqlite3")
        self.open()

    def open(self):
        self.source = Played()
        boats = self.scenario.boats.values()
        self.service = RigService(self.scenario.setup, boats, self.source, self.store)

    def hear(self, data, chunk=37):
        """Let the service read bytes in chunks that cut lines anywhere."""
        for first in range(0, len(data), chunk):
            self.service.arrived(data[first : first + chunk])

    def newest(self, topic):
        (message,) = [m for m in self.service.live.latest() if m.topic == topic]
        return message.data


@pytest.fixture
def desk(tmp_path, request):
    """A desk; `indirect` parameters name its scenario."""
    made = Desk(tmp_path, getattr(request, "param", "clean-box"))
    yield made
    made.service.close()
    made.store.close()


@pytest.fixture(scope="session")
def tape():
    """(rows and identity without marks, truth) of a scenario, start and stop cut out."""

    def cut(name):
        recording, truth = simulate(read_scenario(name))
        lines = recording.splitlines(keepends=True)
        marks = [i for i, line in enumerate(lines) if line.startswith(b"$PTRGM")]
        return lines[: marks[0]], lines[marks[0] + 1 : marks[1]], lines[marks[1] + 1 :], truth

    return cut
