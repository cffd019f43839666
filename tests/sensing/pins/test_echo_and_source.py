"""Echo gauges on gpiozero's own mock pins; and the source that makes a board's lines of it all."""

import threading
from itertools import count, pairwise
from time import monotonic

import pytest
from gpiozero.pins.mock import MockFactory

from rig.errors import SetupInvalid
from rig.physics.hx711 import CODE_HIGH
from rig.sensing.pins.amplifier import PinAmplifier, Status, Word, load_driver
from rig.sensing.pins.echo import EchoGauge
from rig.sensing.pins.source import PinSource
from rig.sensing.sentences import Fault, Identity
from rig.sensing.stream import Sample, Stream
from rig.setup.rigfile import RigSetup

TRIGGER, ECHO = 23, 24


@pytest.fixture
def factory():
    made = MockFactory()
    yield made
    made.reset()


class Answering:
    """A gauge's other end: after each trigger the echo pin is high for so long, by its ticks."""

    def __init__(self, factory, monkeypatch, times_us):
        self.times_us, self.now_s = iter(times_us), 12.0
        self.echo, trigger = factory.pin(ECHO), factory.pin(TRIGGER)
        change = trigger._change_state

        def changed(value):
            fell = change(value) and not value
            if fell:
                self._answer()
            return fell

        monkeypatch.setattr(trigger, "_change_state", changed)

    def _answer(self):
        us = next(self.times_us, None)
        if us is not None:
            self._edge(True, 0.0005)
            self._edge(False, us * 1e-6)

    def _edge(self, high, after_s):
        self.now_s += after_s
        self.echo._change_state(high)
        self.echo._last_change = self.now_s  # what the mock hands on as the edge's time
        self.echo._call_when_changed()


@pytest.mark.parametrize("us", [117, 583, 1166, 5831, 23_323])
def test_an_echos_time_is_the_pins_own(factory, monkeypatch, us):
    """1166 us there and back is 200 mm at 343 m/s; 117 us lies in most gauges' blind zone."""
    gauge = EchoGauge(TRIGGER, ECHO, factory)
    Answering(factory, monkeypatch, [us])
    assert gauge.read_us() == pytest.approx(us, abs=1)
    gauge.close()
    gauge.close()


def test_without_an_echo_there_is_none_and_the_wait_ends(factory, monkeypatch):
    gauge = EchoGauge(TRIGGER, ECHO, factory)
    Answering(factory, monkeypatch, [None, 60_000, 1166])
    began_s = monotonic()
    assert gauge.read_us() is None
    assert monotonic() - began_s < 5  # against hanging
    assert gauge.read_us() is None  # longer than any echo: the gauge gave up by itself
    assert gauge.read_us() == pytest.approx(1166, abs=1)
    gauge.close()


class Words:
    """Statuses and counts from a list, then the last one for ever."""

    def __init__(self, *words):
        self.words, self.closed = list(words), 0

    def word(self, wait_s):
        assert wait_s <= 0.25
        return self.words.pop(0) if len(self.words) > 1 else self.words[0]

    def close(self):
        self.closed += 1


class Echoes:
    def __init__(self, *times_us):
        self.times_us, self.asked = list(times_us), threading.Event()

    def read_us(self):
        if not self.times_us:
            self.asked.set()
            return None
        return self.times_us.pop(0)

    def close(self):
        pass


def ok(n):
    return Word(Status.OK, n)


def items(source, n):
    stream = Stream()
    found = [item for _ in range(n) for item in stream.feed(source.read())]
    assert not stream.count.skipped and not stream.count.lost
    return found


def test_the_lines_are_a_boards(monkeypatch):
    seconds = count()
    source = PinSource(Words(ok(7), ok(-1), ok(0)), {}, 10, now=lambda: next(seconds) / 10)
    who, *rows = items(source, 4)
    assert isinstance(who, Identity) and who.units == (("load", "count"),) and who.rate_hz == 10
    assert [(row.load_count, row.surface_raw) for row in rows] == [(7, None), (-1, None),
                                                                 (0, None), (0, None)]  # fmt: skip
    assert [b.at_ms - a.at_ms for a, b in pairwise(rows)] == [100] * 3
    source.close()
    source.close()
    assert source.read() == b"" and source._amplifier.closed == 1


def test_each_trouble_is_told_when_it_begins():
    silent, spoilt = Word(Status.SILENT), Word(Status.SPOILT)
    high = Word(Status.SATURATED, CODE_HIGH)
    source = PinSource(Words(ok(1), silent, silent, ok(2), high, spoilt, ok(3)), {}, 80)
    found = items(source, 7)
    assert [item.code for item in found if isinstance(item, Fault)] == ["E01", "E02", "E04"]
    rows = [item.load_count for item in found if isinstance(item, Sample)]
    assert rows == [1, None, None, 2, CODE_HIGH, None, 3]
    source.close()


def test_a_busy_computer_is_told():
    calm = PinSource(Words(ok(1)), {}, 80)
    items(calm, 100)
    assert calm.status.ok
    busy = PinSource(Words(*[Word(Status.SPOILT), ok(1), ok(2)] * 30), {}, 80)
    items(busy, 80)
    assert not busy.status.ok and "Close other programs" in busy.status.text
    items(busy, 250)
    assert busy.status.ok  # it is over
    for source in (calm, busy):
        source.close()


def test_gauges_are_read_beside_and_each_echo_is_passed_on_once():
    surface, rim = Echoes(1000, 1001), Echoes(2000, None, 2002)
    source = PinSource(Words(ok(1)), {"surface": surface, "rim": rim}, 80)
    assert surface.asked.wait(10) and rim.asked.wait(10)
    who, *_ = found = items(source, 1)
    assert who.units == (("load", "count"), ("surface", "us"), ("rim", "us"))
    (row,) = [item for item in found if isinstance(item, Sample)]
    assert (row.surface_raw, row.rim_raw) == (1001, 2002)
    (row,) = items(source, 1)
    assert (row.surface_raw, row.rim_raw) == (None, None)
    source.close()


def test_a_gauge_that_fails_leaves_the_others_alone():
    class Broken:
        def read_us(self):
            raise OSError("gone")

        def close(self):
            pass

    good = Echoes(1500)
    source = PinSource(Words(ok(1)), {"surface": Broken(), "rim": good}, 10)
    assert good.asked.wait(10)
    rows = [item for item in items(source, 1) if isinstance(item, Sample)]
    assert (rows[0].surface_raw, rows[0].rim_raw) == (None, 1500)
    source.close()


def test_the_real_package_behind_the_source(wired):
    """From pins to grams: 430 counts a gram, 250 g."""
    amplifier, _, clock = wired(lambda n: 84_213 + 430 * 250, rate_hz=80)
    assert isinstance(amplifier, PinAmplifier)
    source = PinSource(amplifier, {}, 80, now=clock.perf_counter)
    rows = [item for item in items(source, 41) if isinstance(item, Sample)]
    assert {row.load_count for row in rows} == {84_213 + 430 * 250}
    lasted_s = (rows[-1].at_ms - rows[0].at_ms) / 1000
    assert 40 / lasted_s == pytest.approx(80, rel=0.02)
    source.close()


def test_without_pins_one_line_says_what_to_do(monkeypatch):
    import builtins

    real = builtins.__import__

    def refuse(name, *rest, **more):
        if name == "hx711":
            raise RuntimeError("not a Raspberry Pi")
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", refuse)
    with pytest.raises(SetupInvalid, match="no pins") as caught:
        load_driver()
    assert "tubrig[pi]" in str(caught.value) and len(str(caught.value).splitlines()) == 1


RIG = {
    "rig": {"name": "by hand", "layout": "feed-tray", "source": "gpio"},
    "load": {"zero_count": 0, "count_per_g": 400},
}


@pytest.mark.parametrize(
    ("pins", "told"),
    [
        (None, r"\[pins\]"),
        ({"data": 5}, "clock"),
        ({"data": 5, "clock": 5}, "cannot both be pin 5"),
        ({"data": 5, "clock": 40}, "clock"),
        ({"data": 5, "clock": 6, "gain": 32}, "gain"),
        ({"data": 5, "clock": 6, "rate_hz": 20}, "rate_hz"),
        ({"data": 5, "clock": 6, "rim_trigger": 23}, "both rim_trigger and rim_echo"),
        ({"data": 5, "clock": 6, "rim_trigger": 23, "rim_echo": 24}, "surface_trigger"),
    ],
)
def test_pins_that_cannot_be_are_told_as_the_file_is_read(pins, told):
    sections = {**RIG, "surface": {"height_mm": 400.0}}
    if pins is not None:
        sections["pins"] = pins
    with pytest.raises(ValueError, match=told):
        RigSetup.model_validate(sections)


def test_pins_as_they_should_be():
    pins = {"data": 5, "clock": 6, "surface_trigger": 23, "surface_echo": 24}
    setup = RigSetup.model_validate({**RIG, "surface": {"height_mm": 400.0}, "pins": pins})
    assert setup.pins.gauges == {"surface": (23, 24)} and setup.pins.gain == 128
