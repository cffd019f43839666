"""An echo gauge: a short trigger, then its echo line is high as long as the sound travels.

The edges are timed in an interrupt, so nobody waits for an echo. The interrupt allocates nothing.
"""

from time import sleep_us, ticks_diff, ticks_us

from machine import Pin

TRIGGER_US = 10  # at the least, by the modules' data sheets


class EchoGauge:
    def __init__(self, trigger_pin, echo_pin, limit_us):
        self._trigger = Pin(trigger_pin, Pin.OUT, value=0)
        self._echo = Pin(echo_pin, Pin.IN)
        self._limit_us = limit_us
        self._rose = False
        self._rose_us = 0
        self._heard_us = None
        self._flying = False
        self.answering = True  # whether the last ping was answered
        self._echo.irq(self._edge, Pin.IRQ_RISING | Pin.IRQ_FALLING, hard=True)

    def ping(self):
        """Send one ping. Judges the one before: without an echo by now, it has none."""
        if self._flying:
            self.answering = False
        self._flying = True
        if self._echo.value():  # still busy with a ping that came back from nowhere
            return
        self._rose = False
        self._trigger.value(1)
        sleep_us(TRIGGER_US)
        self._trigger.value(0)

    def take(self):
        """Return the echo time [us] heard since the last call, or None."""
        heard_us, self._heard_us = self._heard_us, None
        if heard_us is None:
            return None
        if heard_us > self._limit_us:
            self.answering = False
            return None
        self.answering = True
        return heard_us

    def _edge(self, pin):
        now_us = ticks_us()
        if pin.value():
            self._rose_us = now_us
            self._rose = True
        elif self._rose:
            self._heard_us = ticks_diff(now_us, self._rose_us)
            self._rose = False
            self._flying = False
