"""A digital thermometer of the DS18B20 kind on a 1-wire line: sixteenths of a degree, checked.

It speaks degrees by itself: nothing to calibrate, and its probe comes sealed for water. One talk
takes up to 8 ms, so the board talks to it only when no echo is on its way.
"""

from machine import Pin
from onewire import OneWire, OneWireError

SKIP_ROM, CONVERT, READ = 0xCC, 0x44, 0xBE  # one thermometer on the line: no address needed
POWER_UP = 85 * 16  # what it shows before it has ever measured


class Thermometer:
    def __init__(self, pin):
        self._line = OneWire(Pin(pin))
        self._scratchpad = bytearray(9)
        self._measuring = False
        self.answering = True

    def talk(self):
        """Read what was measured, or ask it to measure: in turns, 750 ms apart at the least.

        Returns thousandths of a degree Celsius, or None.
        """
        try:
            if not self._measuring:
                self._ask(CONVERT)
                self._measuring = True
                return None
            self._measuring = False
            self._ask(READ)
            self._line.readinto(self._scratchpad)
        except OneWireError:  # nobody there
            self.answering = False
            return None
        return self._water_mc()

    def _ask(self, command):
        self._line.reset(True)  # raises where nobody answers
        self._line.writebyte(SKIP_ROM)
        self._line.writebyte(command)

    def _water_mc(self):
        low, high = self._scratchpad[0], self._scratchpad[1]
        sixteenths = high << 8 | low
        if sixteenths & 0x8000:
            sixteenths -= 0x10000
        empty = not any(self._scratchpad)  # a line held low: its check sum is right by chance
        self.answering = not empty and self._line.crc8(self._scratchpad) == 0
        if not self.answering or sixteenths == POWER_UP:
            return None
        return sixteenths * 1000 // 16
