"""What is wired to the board under test, on a clock that only the firmware moves. MicroPython.

Pins, an HX711, two echo gauges, a thermometer on a 1-wire line, a watchdog, other interrupts.
Every look at a pin or clock takes a microsecond. Interrupts wait while they are off.
"""

import json
import sys

ACCESS_US = 1
WRAP = 1 << 30  # of MicroPython's tick counters


class Restart(BaseException):
    """The watchdog bit."""


class Over(BaseException):
    """The script has run for as long as it was to."""


class World:
    def __init__(self, script):
        self.script = script
        self.now_us = script.get("start_us", 0)
        self.born_us = self.now_us
        self.end_us = self.now_us + int(script["seconds"] * 1e6)
        self.events = []  # (when, what), in order
        self.irq_on = True
        self.fed_us = None
        self.watchdog_us = None
        self.restarts = 0
        self.feeds = 0
        self.wires = {}
        self.chip = Chip(self, script)
        self.gauges = {
            name: Gauge(self, script, name, trigger, echo)
            for name, trigger, echo in (("surface", 4, 5), ("rim", 6, 7))
        }
        self.storm_us = script.get("storm_us", 0)
        if self.storm_us:
            self.at(self.now_us + 137, self.interrupt)

    def seconds(self):
        return (self.now_us - self.born_us) / 1e6

    def at(self, when, what):
        place = len(self.events)
        while place and self.events[place - 1][0] > when:
            place -= 1
        self.events.insert(place, (when, what))

    def interrupt(self):
        """Something else wants the processor: a USB frame, a timer."""
        self.at(self.now_us + self.script["storm_every_us"], self.interrupt)
        self.now_us += self.storm_us

    def spend(self, us):
        target = self.now_us + us
        while self.irq_on and self.events and self.events[0][0] <= target:
            when, what = self.events.pop(0)
            if when > self.now_us:
                self.now_us = when
            before = self.now_us
            self.irq_on = False  # one at a time
            what()
            self.irq_on = True
            target += self.now_us - before
        bites_us = self.fed_us + self.watchdog_us if self.watchdog_us else None
        if bites_us is not None and target > bites_us:
            self.now_us = max(self.now_us, bites_us)
            self.restarts += 1
            raise Restart
        self.now_us = max(self.now_us, target)
        if self.now_us > self.end_us:
            raise Over

    def restarted(self):
        self.events, self.irq_on, self.watchdog_us, self.wires = [], True, None, {}
        for gauge in self.gauges.values():
            gauge.handler, gauge.level = None, 0
        if self.storm_us:
            self.at(self.now_us + 137, self.interrupt)

    def report(self):
        chip = self.chip
        return {
            "pulses": chip.pulse_counts,
            "longest_high_us": chip.longest_high_us,
            "power_downs": chip.power_downs,
            "words": chip.words,
            "conversions_missed": chip.conversions_missed,
            "restarts": self.restarts,
            "feeds": self.feeds,
            "pings": {name: gauge.pings for name, gauge in self.gauges.items()},
            "shortest_trigger_us": min(gauge.shortest_us for gauge in self.gauges.values()),
            "closest_pings_us": closest(self.gauges.values()),
        }


def closest(gauges):
    moments = sorted(moment for gauge in gauges for moment in gauge.moments)
    return min([moments[i + 1] - moments[i] for i in range(len(moments) - 1)] or [0])


def scripted(script, name, row, otherwise):
    """What a sensor shows in a row: a list of values by row, a constant, or not there."""
    value = script.get(name, otherwise)
    return value[min(row, len(value) - 1)] if isinstance(value, list) else value


class Chip:
    """HX711, by its data sheet: table 3 (pulses), "reset and power-down", settling times."""

    CLOCK, DATA = 2, 3

    def __init__(self, world, script):
        self.world, self.script = world, script
        self.period_us = 1000000 // script.get("sps", 10)
        self.power_up(world.now_us)
        self.high_us = None
        self.pulse_counts, self.words, self.conversions_missed = {}, 0, 0
        self.longest_high_us = self.power_downs = 0
        self.row = 0

    def power_up(self, now_us):
        self.gain = 128
        self.ready_us = now_us + 4 * self.period_us
        self.pulses = 0
        self.shifting = None

    def awake(self):
        away = self.script.get("chip_away_s")
        return not (away and away[0] <= self.world.seconds() < away[1])

    def clock(self, level):
        now = self.world.now_us
        if level and self.high_us is None:
            self.high_us = now
            if self.awake():
                self.pulse()
        elif not level and self.high_us is not None:
            high_us, self.high_us = now - self.high_us, None
            self.longest_high_us = max(self.longest_high_us, high_us)
            if high_us > 60:
                self.power_downs += 1
                self.power_up(now)

    def pulse(self):
        if self.pulses == 0:
            if self.world.now_us < self.ready_us:
                return  # nothing to hand out
            self.shifting = self.word() & 0xFFFFFF
        self.pulses += 1

    def word(self):
        since = (self.world.now_us - self.ready_us) // self.period_us
        self.converted_us = self.ready_us + since * self.period_us
        self.missed = since
        word = scripted(self.script, "load", self.row, 84213)
        self.row += 1 + since
        return word * self.gain // 128 if abs(word) < 1 << 22 else word

    def data(self):
        stuck = self.script.get("data_stuck")
        if stuck is not None:
            return stuck
        if not self.awake():
            self.power_up(self.world.now_us)
            return 1  # nobody pulls the line down
        self.finish_if_over()
        if self.pulses == 0:
            return 0 if self.world.now_us >= self.ready_us else 1
        if self.pulses <= 24:
            return self.shifting >> (24 - self.pulses) & 1
        return 1

    def finish_if_over(self):
        """The next conversion ends: the pulses so far chose its gain."""
        if self.pulses and self.world.now_us >= self.converted_us + self.period_us:
            key = str(self.pulses)
            self.pulse_counts[key] = self.pulse_counts.get(key, 0) + 1
            self.words += 1
            self.conversions_missed += self.missed
            gain = {25: 128, 26: 32, 27: 64}.get(self.pulses)
            self.ready_us = self.converted_us + self.period_us
            if gain != self.gain and gain is not None:
                self.ready_us += 3 * self.period_us  # settling: four periods in all
                self.gain = gain
            self.pulses = 0


class Gauge:
    """Trigger of 10 us or more; the echo line rises 450 us later, for the echo's time."""

    def __init__(self, world, script, name, trigger_pin, echo_pin):
        self.world, self.script, self.name = world, script, name
        self.trigger_pin, self.echo_pin = trigger_pin, echo_pin
        self.level, self.handler, self.pings = 0, None, 0
        self.since_us, self.shortest_us, self.moments = None, 1 << 29, []

    def trigger(self, level):
        now = self.world.now_us
        if level:
            self.since_us = now
        elif self.since_us is not None:
            held_us, self.since_us = now - self.since_us, None
            self.shortest_us = min(self.shortest_us, held_us)
            if held_us >= 10 and not self.level:
                self.pings += 1
                self.moments.append(now)
                echo_us = scripted(self.script, self.name, self.world.chip.row, 1749)
                if echo_us is not None:
                    self.world.at(now + 450, lambda: self.edge(1))
                    self.world.at(now + 450 + echo_us, lambda: self.edge(0))

    def edge(self, level):
        self.level = level
        if self.handler:
            self.handler()


class Thermometer:
    """The bytes of a DS18B20 (its data sheet: function commands, scratchpad)."""

    def __init__(self, world):
        self.world, self.sixteenths, self.asked = world, 85 * 16, []

    def reset(self):
        world = self.world
        hang_s = world.script.get("hang_at_s")
        if hang_s is not None and world.seconds() >= hang_s and not world.restarts:
            world.spend(10000000)  # a driver that does not come back
        world.spend(960)
        self.asked = []
        return world.script.get("water", 20062) is not None

    def write(self, byte):
        self.world.spend(560)
        self.asked.append(byte)
        if self.asked == [0xCC, 0x44]:
            self.measured_us = self.world.now_us + 750000
            self.sixteenths = round(self.world.script.get("water", 20062) * 16 / 1000)

    def read(self):
        assert self.asked == [0xCC, 0xBE] and self.world.now_us >= self.measured_us
        self.world.spend(9 * 560)
        if self.world.script.get("water_shorted"):
            return bytes(9)
        word = self.sixteenths & 0xFFFF
        body = bytes([word & 255, word >> 8, 0x4B, 0x46, 0x7F, 0xFF, 0x0C, 0x10])
        check = crc8(body)
        return body + bytes([check ^ 1 if self.world.script.get("water_garbled") else check])


def crc8(data):
    """Dallas/Maxim CRC-8, x^8 + x^5 + x^4 + 1, least significant bit first (AN27)."""
    crc = 0
    for byte in data:
        for _ in range(8):
            mix = (crc ^ byte) & 1
            crc = crc >> 1 ^ (0x8C if mix else 0)
            byte >>= 1
    return crc


with open(sys.argv[1]) as file:
    world = World(json.load(file))
thermometer = Thermometer(world)
