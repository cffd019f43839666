"""A recording written by hand, sentence by sentence: it shares no code with the simulator."""

import random
from dataclasses import dataclass, field

import pytest

from rig.sensing.sentences import Data, Identity, Mark, encode
from rig.sensing.stream import Stream
from rig.setup import boat_from_dict
from rig.setup.rigfile import RigSetup
from rig.trial.engine import TrialEngine
from rig.trial.events import Ended

ZERO, PER_G = (
    -8123,
    -429.4967296,
)  # counts per gram: a 5 kg cell of 1 mV/V, HX711 data sheet formula
SURFACE_MM, RIM_MM, FLAG_MM = 300.0, 420.0, 60.0
TUB_MM2 = 60_000.0


@dataclass
class Tape:
    """Writes rows at a steady rate; heights in mm above the tub's floor, loads in grams."""

    layout: str = "feed-tray"
    channels: str = "surface rim"
    rate_hz: float = 10.0
    noise_g: float = 0.1
    noise_mm: float = 0.5
    item_g: float = 2.5
    hold_s: float = 5.0
    seed: int = 1
    first_ms: int = 4_294_960_000  # the 32-bit clock wraps a few seconds into the recording
    tub: dict = field(default_factory=lambda: {"area_mm2": TUB_MM2})
    boats: tuple = ()
    lines: list = field(default_factory=list)

    def __post_init__(self):
        self._random = random.Random(self.seed)
        self.seq, self.now_s = 65_500, 0.0
        units = (("load", "count"), ("surface", "um"), ("rim", "um"), ("water", "mC"))
        self.lines.append(encode(Identity("hand", "1", self.rate_hz, units)))

    @property
    def setup(self):
        sections = {
            "rig": {"name": "by hand", "layout": self.layout, "hold_s": self.hold_s},
            "load": {"zero_count": ZERO, "count_per_g": PER_G},
            "tub": self.tub,
            "item": {"name": "piece", "mass_g": self.item_g},
        }
        if "surface" in self.channels:
            sections["surface"] = {"height_mm": SURFACE_MM}
        if "rim" in self.channels:
            sections["rim"] = {"height_mm": RIM_MM, "flag_mm": FLAG_MM}
        return RigSetup.model_validate(sections)

    def mark(self, word, text=""):
        self.lines.append(encode(Mark(self._ms(), word, text)))

    def rows(self, seconds, load_g, level_mm=100.0, rim_mm=140.0, water_c=20.0):
        """Rows for a while; a height may be a function of the seconds since it began."""
        begun = self.now_s
        for _ in range(round(seconds * self.rate_hz)):
            t = self.now_s - begun
            self._row(_at(load_g, t), _at(level_mm, t), _at(rim_mm, t), water_c)
            self.now_s += 1 / self.rate_hz

    def run(self):
        """The results of the whole recording, in order."""
        results = [event.result for event in self.events() if isinstance(event, Ended)]
        return results

    def events(self):
        stream, engine = Stream(), TrialEngine(self.setup, {b.label: b for b in self.boats})
        events = []
        for item in [*stream.feed(b"".join(self.lines)), *stream.finish()]:
            events += engine.feed(item)
        assert not stream.count.skipped and not stream.count.lost
        return events + engine.finish()

    def _ms(self):
        return (self.first_ms + round(self.now_s * 1000)) % 2**32

    def _row(self, load_g, level_mm, rim_mm, water_c):
        noise = self._random.gauss
        gross_g = 5000 + load_g if self.layout == "tub-on-cell" else 900 - load_g
        count = round(ZERO + PER_G * (gross_g + noise(0, self.noise_g)))
        surface = rim = None
        if "surface" in self.channels and level_mm is not None:
            surface = round(1000 * (SURFACE_MM - level_mm + noise(0, self.noise_mm)))
        if "rim" in self.channels and rim_mm is not None:
            rim = round(1000 * (RIM_MM - FLAG_MM - rim_mm + noise(0, self.noise_mm)))
        water = None if water_c is None else round(water_c * 1000)
        self.lines.append(encode(Data(self.seq % 65_536, self._ms(), count, surface, rim, water)))
        self.seq += 1


def _at(value, t):
    return value(t) if callable(value) else value


@pytest.fixture(scope="session")
def tape():
    """The class itself: `tape(layout=...)` begins a recording."""
    return Tape


@pytest.fixture(scope="session")
def box():
    """Boat "A": a box of 150 x 100 x 40 mm and 20 g, as in the project's own examples."""
    return boat_from_dict(
        {
            "label": "A",
            "hull": "box",
            "length_mm": 150,
            "beam_mm": 100,
            "depth_mm": 40,
            "mass_g": 20,
        }
    )
