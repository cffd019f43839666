"""An echo gauge on two pins: how long its sound is under way, in microseconds."""

from threading import Event
from time import monotonic
from typing import Any, Final

PULSE_S: Final = 10e-6  # data sheets of such gauges ask for 10 us at the least
ECHO_S: Final = 0.038  # a gauge without echo ends its pulse by itself after about so long
REST_S: Final = 0.06  # until the last echo has died away; data sheets ask for 60 ms


class EchoGauge:
    """Trigger and echo of one gauge, through gpiozero: any of its pin factories will do.

    Args:
        trigger_pin, echo_pin: by the BCM's numbers.
        factory: gpiozero's pin factory; the computer's own if None.
    """

    def __init__(self, trigger_pin: int, echo_pin: int, factory: Any = None) -> None:
        from gpiozero import (  # type: ignore[import-untyped]  # it has none
            DigitalInputDevice,
            OutputDevice,
        )

        self._trigger = OutputDevice(trigger_pin, pin_factory=factory)
        self._echo = DigitalInputDevice(echo_pin, pin_factory=factory)
        self._ended = Event()
        self._rose: float | None = None
        self._us: int | None = None
        self._ticks = self._echo.pin_factory
        self._echo.pin.edges = "both"
        self._echo.pin.when_changed = self._changed

    def read_us(self) -> int | None:
        """Return the time there and back [us]; None without an echo. Takes 40 ms at the most."""
        self._rose = self._us = None
        self._ended.clear()
        self._trigger.on()
        _busy_wait(PULSE_S)
        self._trigger.off()
        self._ended.wait(2 * ECHO_S)
        us, self._rose = self._us, None  # an edge that comes later is not this echo's
        return us if us is not None and us < ECHO_S * 1e6 else None

    def close(self) -> None:
        """Give the pins back. May be called twice."""
        self._trigger.close()
        self._echo.close()

    def _changed(self, ticks: float, state: int) -> None:
        """The echo pin rose or fell; the time is the pin's own, however late this is called."""
        if state:
            self._rose = ticks
        elif self._rose is not None:
            self._us = round(1e6 * self._ticks.ticks_diff(ticks, self._rose))
            self._rose = None
            self._ended.set()


def _busy_wait(seconds: float) -> None:
    """Sleeping would take a hundred times as long."""
    until_s = monotonic() + seconds
    while monotonic() < until_s:
        pass
