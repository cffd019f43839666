"""The hx711 package itself, with a simulated chip for its pins and a clock that only we move."""

import importlib
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from chip import Chip, VirtualTime  # the tests are no package

from rig.sensing.pins.amplifier import PinAmplifier  # below the path


@pytest.fixture
def wired(monkeypatch):
    """`wired(word, rate_hz=10, gain=128, pauses={})`: (amplifier, chip, clock)."""

    def wire(word, rate_hz=10.0, gain=128, pauses=None):
        clock = VirtualTime()
        chip = Chip(clock, word, rate_hz)
        package = type(sys)("RPi")
        package.GPIO = chip
        monkeypatch.setitem(sys.modules, "RPi", package)
        monkeypatch.setitem(sys.modules, "RPi.GPIO", chip)
        monkeypatch.delitem(sys.modules, "hx711", raising=False)
        driver = importlib.import_module("hx711")
        assert driver.__version__ == "1.1.2" and driver.GPIO is chip
        monkeypatch.setattr(driver, "time", clock)
        chip.pauses = pauses or {}
        amplifier = PinAmplifier(5, 6, gain, rate_hz, driver)
        return amplifier, chip, clock

    yield wire
    sys.modules.pop("hx711", None)
