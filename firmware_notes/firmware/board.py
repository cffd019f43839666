"""The board: a row whenever the amplifier has a word, and between rows everything else.

    a word is there -> read it -> a row goes out -> one ping, or one talk to the thermometer

Ping and talk begin only where they end before the next word is due, so clock pulses, echoes
and 1-wire bits never meet. At 80 words a second that is right after a word.
A silent amplifier stops nothing: rows then go out by the clock, without a load.
"""

from time import ticks_diff, ticks_ms

import settings
import wire
from amplifier import HIGHEST, LOWEST, Amplifier
from gauge import EchoGauge
from thermometer import Thermometer

SILENT_MS = 1000  # without a word so long, the amplifier is silent
FAULT_MS = 1000  # a trouble that lasts so long is told, once
PERIOD_MS = 1000 // settings.SPS
TALK_MS = 800  # between two talks: the thermometer needs 750 for a measurement


class Board:
    def __init__(self, write):
        self._write = write
        self._amplifier = Amplifier(settings.CLOCK_PIN, settings.DATA_PIN, settings.GAIN)
        self._surface = _gauge(settings.SURFACE_PINS)
        self._rim = _gauge(settings.RIM_PINS)
        self._gauges = [gauge for gauge in (self._surface, self._rim) if gauge]
        self._water = None if settings.WATER_PIN is None else Thermometer(settings.WATER_PIN)
        self._water_mc = None
        self._rows = wire.Rows(ticks_ms, ticks_diff)
        self._faults = Faults()
        now = ticks_ms()
        self._heard = self._row = self._pinged = self._talked = now
        self._silent = False

    def greet(self):
        """Say who we are."""
        channels = ["load:count"]
        if self._surface:
            channels.append("surface:us")
        if self._rim:
            channels.append("rim:us")
        if self._water:
            channels.append("water:mC")
        self._write(wire.identity(settings.BOARD, settings.FIRMWARE, settings.SPS, channels))

    def step(self):
        """Do what is due. Takes 10 ms at the most, most often next to nothing."""
        now = ticks_ms()
        heard, load = self._amplifier.read() if self._amplifier.ready() else (False, None)
        if heard:
            self._heard, self._silent = now, False
        elif ticks_diff(now, self._heard) >= SILENT_MS:
            self._silent = True
            self._amplifier.settle()
        # while the amplifier settles the row has no load, but it has all the rest
        if heard or (self._silent and ticks_diff(now, self._row) >= PERIOD_MS):
            self._send(now, load)
        else:
            self._rows.tick()
        self._between(now)

    def _send(self, now, load):
        """One row, with what the other sensors have said since the last one."""
        self._row = now
        surface = self._surface.take() if self._surface else None
        rim = self._rim.take() if self._rim else None
        water, self._water_mc = self._water_mc, None
        self._write(self._trouble(now, load) + self._rows.row(load, surface, rim, water))

    def _between(self, now):
        """A ping or a talk, if one is due and over before the next word comes."""
        free_us = (PERIOD_MS - ticks_diff(now, self._row)) * 1000
        if free_us <= settings.ECHO_LIMIT_US:
            return
        since_ping_ms = ticks_diff(now, self._pinged)
        # a talk on the 1-wire line would spoil the timing of an echo that is on its way
        quiet = not self._gauges or since_ping_ms * 1000 > settings.ECHO_LIMIT_US
        if self._water and quiet and ticks_diff(now, self._talked) >= TALK_MS:
            self._talked = now
            self._water_mc = self._water.talk()
        elif self._gauges and since_ping_ms >= settings.PING_EVERY_MS:
            self._pinged = now
            self._gauges.append(self._gauges.pop(0))  # in turns: else one hears the other
            self._gauges[-1].ping()

    def _trouble(self, now, load):
        """The fault sentences that are due."""
        ends = load in (LOWEST, HIGHEST)
        return (
            self._faults.line(now, "E01", "amplifier silent", self._silent)
            + self._faults.line(now, "E02", "amplifier saturated", ends)
            + self._faults.line(now, "E03", "surface gauge no echo", _mute(self._surface))
            + self._faults.line(now, "E03", "rim gauge no echo", _mute(self._rim))
            + self._faults.line(now, "E04", "thermometer silent", _mute(self._water))
        )


class Faults:
    """Tells each trouble once, when it has lasted; anew when it had gone."""

    def __init__(self):
        self._since = {}  # text -> when it began; None once told

    def line(self, now, code, text, bad):
        if not bad:
            self._since.pop(text, None)
            return b""
        began = self._since.setdefault(text, now)
        if began is None or ticks_diff(now, began) < FAULT_MS:
            return b""
        self._since[text] = None
        return wire.fault(code, text)


def _gauge(pins):
    return None if pins is None else EchoGauge(pins[0], pins[1], settings.ECHO_LIMIT_US)


def _mute(sensor):
    return sensor is not None and not sensor.answering
