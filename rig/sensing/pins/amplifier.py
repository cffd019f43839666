"""The amplifier on two pins: the hx711 package, with an end to every wait and no wrong word.

As it comes, the package waits for ever on a silent chip, drops readings of 0 and -1, and hands on
doubled or garbage words after a pause at the wrong moment. Two of its private methods are used
(`_read`, `_ready`) and one is replaced (`_set_channel_gain`), hence its version is pinned.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from types import ModuleType
from typing import Any, Final

from rig.errors import SetupInvalid
from rig.physics.hx711 import CODE_HIGH, CODE_LOW

# Data sheet: a clock high for longer than 60 us switches the chip off, and back to gain 128.
POWER_DOWN_S: Final = 60e-6
POLL_S: Final = 0.001
# A frame must end before the chip overwrites it: its clock may be 20 % off (from memory).
_PERIOD_PART: Final = 0.8
_PULSES: Final = {128: 1, 64: 3}  # after the 24 data pulses, for the next reading


class Status(StrEnum):
    """What became of one reading."""

    OK = "ok"
    SILENT = "silent"
    SATURATED = "saturated"
    SPOILT = "spoilt timing"  # this computer paused at the wrong moment: nothing was passed on


@dataclass(frozen=True, slots=True)
class Word:
    """One reading; `count` is None where there is none to believe."""

    status: Status
    count: int | None = None


def load_driver() -> ModuleType:
    """Return the hx711 package. Raises SetupInvalid where this computer has no pins for it."""
    try:
        import hx711  # type: ignore[import-untyped]  # it has none
    except (ImportError, RuntimeError) as err:  # a back end off its computer raises either
        raise SetupInvalid(
            "This computer has no pins that the program can use.",
            "On a Raspberry Pi install the extra: pip install 'tubrig[pi]'; see "
            "firmware_notes/pins.md.",
        ) from err
    module: ModuleType = hx711
    return module


class PinAmplifier:
    """Reads one amplifier.

    Args:
        data_pin, clock_pin: by the BCM's numbers.
        gain: 128 or 64, of channel A.
        rate_hz: 10 or 80, as the chip's rate pin is wired.
        driver: the hx711 package, or one with other pins behind it.
    """

    def __init__(
        self,
        data_pin: int,
        clock_pin: int,
        gain: int = 128,
        rate_hz: float = 10.0,
        driver: ModuleType | None = None,
    ) -> None:
        driver = driver or load_driver()
        self._now: Callable[[], float] = driver.time.perf_counter
        self._sleep: Callable[[float], None] = driver.time.sleep
        self._chip = _patient(driver)(data_pin, clock_pin, gain)
        self._period_s = _PERIOD_PART / rate_hz
        self._not_ready_s = self._now()  # the last moment at which no word was waiting
        self._throw_away = 0
        self._last = 0
        self._start_anew()

    def word(self, wait_s: float) -> Word:
        """Return the next word, or why there is none, after `wait_s` at the latest."""
        until_s = self._now() + wait_s
        while True:
            if not self._wait_ready(until_s):
                return Word(Status.SILENT)
            found = self._frame()
            if found.status is Status.SPOILT:
                self._start_anew()
                return found
            if not self._throw_away:
                return found
            self._throw_away -= 1

    def close(self) -> None:
        """Switch the chip off. May be called twice."""
        self._chip.power_down()

    def _wait_ready(self, until_s: float) -> bool:
        while not self._chip._ready():
            now_s = self._not_ready_s = self._now()
            if now_s >= until_s:
                return False
            self._sleep(POLL_S)
        return True

    def _frame(self) -> Word:
        began_s = self._not_ready_s
        self._chip.gained = self._chip.paused = False
        raw = self._chip._read(max_tries=1)
        ended_s = self._not_ready_s = self._now()
        # without gain pulses a data pulse took too long; and a late frame may hold two words' bits
        if not self._chip.gained or self._chip.paused or ended_s - began_s >= self._period_s:
            return Word(Status.SPOILT)
        if raw is False:  # and nothing else: 0 and -1 are readings
            return Word(Status.SATURATED, CODE_HIGH if self._last >= 0 else CODE_LOW)
        self._last = int(raw)
        return Word(Status.OK, self._last)

    def _start_anew(self) -> None:
        """After a pause nobody knows where in a frame the chip is, nor whether it went off."""
        self._chip.power_down()
        self._chip.power_up()
        self._not_ready_s = self._now()
        self._throw_away = 1  # it sets the gain for the next one


def _patient(driver: ModuleType) -> Any:
    """Return the package's class without its sleeps and its recursion."""

    class Patient(driver.HX711):  # type: ignore[misc, name-defined]  # the package has no types
        gained = False
        paused = False

        def __init__(self, data_pin: int, clock_pin: int, gain: int) -> None:
            self._dout, self._pd_sck = data_pin, clock_pin
            self._channel, self._channel_a_gain = "A", gain
            gpio = driver.GPIO
            gpio.setmode(gpio.BCM)
            gpio.setup(clock_pin, gpio.OUT)
            gpio.setup(data_pin, gpio.IN)

        def _set_channel_gain(self, num: int) -> bool:
            gpio, clock = driver.GPIO, driver.time.perf_counter
            for _ in range(_PULSES[self._channel_a_gain]):
                high_s = clock()
                gpio.output(self._pd_sck, True)
                gpio.output(self._pd_sck, False)
                self.paused = self.paused or clock() - high_s >= POWER_DOWN_S
            self.gained = True
            return True

    return Patient
