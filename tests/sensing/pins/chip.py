"""An HX711 behind two pins, with a clock that only moves when somebody acts or sleeps.

By the data sheet (Avia Semiconductor, HX711): a word is ready while DOUT is low; 24 pulses shift it
out, first bit first; 25 pulses in all set gain 128 for the next word, 27 gain 64; a clock high
for more than 60 us switches the chip off, low again wakes it with gain 128; words come at 10 or 80
a second, the first after settling for 400 or 50 ms. That a late frame is overwritten by the next
word, and that an unread word stays, is from memory.
"""

from types import ModuleType

CALL_S = 2e-6  # one call of the pin library


class VirtualTime:
    """Stands in for the module `time`."""

    def __init__(self):
        self.now_s = 0.0

    def perf_counter(self):
        return self.now_s

    monotonic = perf_counter

    def sleep(self, seconds):
        self.now_s += seconds


class Chip(ModuleType):
    """Also the module RPi.GPIO. `word(n)` is the n-th conversion's 24 bits at gain 128.

    `pauses`: {number of a call: seconds that the computer stops in it, before it comes back}.
    """

    BCM, OUT, IN = "BCM", "OUT", "IN"

    def __init__(self, clock, word, rate_hz=10.0, data_pin=5, clock_pin=6):
        super().__init__("RPi.GPIO")
        self.clock, self.word, self.rate_hz = clock, word, rate_hz
        self.data_pin, self.clock_pin = data_pin, clock_pin
        self.pauses, self.calls = {}, 0
        self.unplugged = False
        self.modes, self.gain, self.power_downs = {}, 128, 0
        self.converted = []  # every word that was ever ready, and the gain it was made with
        self.pulse_counts = []  # pulses of each frame
        self._high = False
        self._wake()

    # what the package calls
    def setmode(self, mode):
        assert mode == self.BCM

    def setup(self, pin, mode):
        self.modes[pin] = mode

    def input(self, pin):
        assert pin == self.data_pin and self.modes[pin] == self.IN
        self._pass(CALL_S)
        seen = 1 if self.unplugged else self._data
        self._stop()
        return seen

    def output(self, pin, high):
        assert pin == self.clock_pin and self.modes[pin] == self.OUT
        self._pass(CALL_S)
        if bool(high) != self._high:
            self._edge(bool(high))
        self._stop()

    def _stop(self):
        self.calls += 1
        self._pass(self.pauses.get(self.calls, 0.0))

    # what the chip does
    def _wake(self):
        self._asleep, self.gain = False, 128
        self._ready_s = self.clock.now_s + (0.4 if self.rate_hz == 10 else 0.05)
        self._bits, self._data, self._pulses = None, 1, 0

    def _pass(self, seconds):
        self.clock.now_s += seconds
        if self._high and self.clock.now_s - self._rose_s > 60e-6:
            self._asleep = True
        if self._asleep:
            self._data = 1
            return
        while self.clock.now_s >= self._ready_s:
            if self._pulses >= 25:  # that frame is over
                self.pulse_counts.append(self._pulses)
                self._pulses = 0
            word = self.word(len(self.converted)) * (self.gain // 64) // 2
            word = max(-(2**23), min(2**23 - 1, word))
            self.converted.append((word, self.gain))
            self._bits = [(word >> bit) & 1 for bit in range(23, -1, -1)]
            self._ready_s += 1 / self.rate_hz
            if self._pulses == 0:
                self._data = 0
            else:  # a frame is under way: its remaining bits are the new word's
                self._bits = self._bits[self._pulses :]

    def _edge(self, high):
        self._high = high
        if high:
            self._rose_s = self.clock.now_s
            if self._asleep or self._bits is None:
                return
            self._pulses += 1
            if self._pulses <= 24:
                self._data = self._bits.pop(0) if self._bits else 1
            else:
                self._data = 1
                self.gain = {25: 128, 26: 32, 27: 64}.get(self._pulses, self.gain)
            return
        if self._asleep:
            self.power_downs += 1
            self._wake()
