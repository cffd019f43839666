"""Stands in for MicroPython's `machine`: pins and watchdog of the world under test."""

from world import ACCESS_US, world


class Pin:
    IN, OUT, PULL_UP, IRQ_RISING, IRQ_FALLING = 0, 1, 2, 4, 8

    def __init__(self, number, mode=IN, pull=None, value=None):
        self.number = number
        if value is not None:
            self.value(value)

    def value(self, level=None):
        world.spend(ACCESS_US)
        if level is None:
            return self._read()
        if self.number == world.chip.CLOCK:
            world.chip.clock(level)
        for gauge in world.gauges.values():
            if self.number == gauge.trigger_pin:
                gauge.trigger(level)

    def _read(self):
        if self.number == world.chip.DATA:
            return world.chip.data()
        for gauge in world.gauges.values():
            if self.number == gauge.echo_pin:
                return gauge.level
        return world.script.get("service", 1)

    def irq(self, handler, trigger, hard=False):
        for gauge in world.gauges.values():
            if self.number == gauge.echo_pin:
                gauge.handler = lambda: handler(self)


class WDT:
    def __init__(self, timeout):
        world.watchdog_us = timeout * 1000
        world.fed_us = world.now_us

    def feed(self):
        world.feeds += 1
        world.fed_us = world.now_us


def disable_irq():
    was, world.irq_on = world.irq_on, False
    return was


def enable_irq(state):
    world.irq_on = state
    world.spend(0)
