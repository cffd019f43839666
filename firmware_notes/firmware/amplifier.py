"""The load cell's amplifier, an HX711: one 24-bit word whenever it is ready.

The chip goes to sleep when its clock stays high for over 60 us, so nothing may interrupt a high
clock. A low clock may last as long as it likes (data sheet, "serial interface").
"""

from machine import Pin, disable_irq, enable_irq

PULSES = {128: 25, 32: 26, 64: 27}  # of one reading; they choose the gain of the next one
SETTLING_WORDS = 4  # after power-up or a change of gain the output is true after 4 periods
LOWEST, HIGHEST = -0x800000, 0x7FFFFF  # the input is at, or beyond, the end of its range


class Amplifier:
    def __init__(self, clock_pin, data_pin, gain):
        self._clock = Pin(clock_pin, Pin.OUT, value=0)
        # pulled up: with a wire off the line reads "not ready", not a word of zeros
        self._data = Pin(data_pin, Pin.IN, Pin.PULL_UP)
        self._pulses = PULSES[gain]
        self._to_settle = SETTLING_WORDS

    def ready(self):
        return self._data.value() == 0

    def settle(self):
        """The chip was away and begins anew: its next words are not true yet."""
        self._to_settle = SETTLING_WORDS

    def read(self):
        """Return (heard, word). The word is None while it settles.

        After its last pulse the chip lets its line go high; a line that stays low is no chip.
        """
        clock, data = self._clock.value, self._data.value
        word = 0
        for pulse in range(self._pulses):
            state = disable_irq()
            clock(1)
            bit = data()
            clock(0)
            enable_irq(state)
            if pulse < 24:
                word = word << 1 | bit
        if not bit:
            return False, None
        if self._to_settle:
            self._to_settle -= 1
            return True, None
        return True, word - 0x1000000 if word & 0x800000 else word
