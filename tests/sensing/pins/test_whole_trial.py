"""From the pins to a result: the package's code, our wrapper, our lines, the trial engine."""

from gpiozero import Device
from gpiozero.pins.mock import MockFactory

from rig.sensing.pins import source as pin_module
from rig.sensing.pins.source import PinSource, pin_source
from rig.sensing.sentences import Mark, encode
from rig.sensing.stream import Stream
from rig.setup.rigfile import RigSetup
from rig.trial.engine import TrialEngine
from rig.trial.events import Ended, Outcome

SECTIONS = {
    "rig": {"name": "by hand", "layout": "feed-tray", "source": "gpio", "hold_s": 3.0},
    "load": {"zero_count": 84_213, "count_per_g": 430.0},
    "item": {"name": "washer", "mass_g": 2.5},
    "pins": {"data": 5, "clock": 6, "rate_hz": 80},
}
LOADS = (0, 25, 50, 75)  # g aboard, eight seconds each: what the tray of 500 g has lost


def test_ten_washers_three_times(wired):
    def word(n):
        aboard_g = LOADS[min(n // 640, len(LOADS) - 1)]
        wobble = (n * 7919) % 41 - 20  # +- 20 counts
        return round(84_213 + 430 * (500 - aboard_g) + wobble)

    amplifier, chip, clock = wired(word, rate_hz=80, pauses={5000: 0.001, 60_000: 0.02})
    source = PinSource(amplifier, {}, 80, now=clock.perf_counter)
    stream, engine = Stream(), TrialEngine(RigSetup.model_validate(SECTIONS), {})
    events = []

    def feed(lines):
        for item in stream.feed(lines):
            events.extend(engine.feed(item))

    feed(source.read())
    feed(encode(Mark(stream.last_ms, "start", "Otters")))
    while len(chip.converted) < 640 * len(LOADS):
        feed(source.read())
    feed(encode(Mark(stream.last_ms, "stop")))
    source.close()
    (result,) = [event.result for event in events if isinstance(event, Ended)]
    assert [addition.items for addition in result.additions] == [10, 10, 10]
    assert (result.held_items, result.outcome) == (30, Outcome.AFLOAT)
    assert abs(result.held_g - 75) < 0.1
    assert not stream.count.skipped and not stream.count.lost


def test_the_source_of_a_rig_file(wired, monkeypatch):
    amplifier, _, _ = wired(lambda n: 84_213, rate_hz=80)
    monkeypatch.setattr(pin_module, "PinAmplifier", lambda *pins: (pins, amplifier)[1])
    monkeypatch.setattr(Device, "pin_factory", MockFactory())
    pins = {**SECTIONS["pins"], "rim_trigger": 17, "rim_echo": 27}
    rim = {"height_mm": 420.0, "flag_mm": 60.0}
    source = pin_source(RigSetup.model_validate({**SECTIONS, "pins": pins, "rim": rim}))
    lines = source.read()
    assert b"load:count;rim:us" in lines and b"84213" in lines
    source.close()
