"""The computer's serial ports: opened through pyserial, listed with their USB identity."""

import contextlib
import termios
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

# pyserial comes without types
import serial  # type: ignore[import-untyped]
from serial.tools import list_ports as pyserial_list  # type: ignore[import-untyped]

BAUD = 115_200
PATIENCE_S = 0.25  # how long a read waits for a first byte, and a write for room


class Port(Protocol):
    """An open port. Every failure is an OSError; no call waits longer than about 0.25 s."""

    def read(self) -> bytes: ...
    def write(self, data: bytes) -> None: ...
    def close(self) -> None: ...


@dataclass(frozen=True, slots=True)
class UsbIdentity:
    """What a USB device says of itself; cheap converter chips have no serial number."""

    vid: int
    pid: int
    serial_number: str | None = None


@dataclass(frozen=True, slots=True)
class ListedPort:
    """A port the system knows of; `usb` is None for one that is soldered in."""

    name: str
    usb: UsbIdentity | None = None


class SystemPort:
    """A port of this computer: 115200 8N1, nobody else may lock it at the same time."""

    def __init__(self, name: str) -> None:
        with _failing_as_oserror():
            self._serial = serial.Serial(
                name, BAUD, timeout=PATIENCE_S, write_timeout=PATIENCE_S, exclusive=True
            )

    def read(self) -> bytes:
        """Return what has arrived, or b"" after 0.25 s of nothing."""
        with _failing_as_oserror():
            first = bytes(self._serial.read(1))
        if not first:
            return b""
        # A port that dies here fails again at the next read; the byte in hand is not lost to it.
        with contextlib.suppress(OSError), _failing_as_oserror():
            return first + bytes(self._serial.read(self._serial.in_waiting))
        return first

    def write(self, data: bytes) -> None:
        """Send; what cannot be sent within 0.25 s is an OSError."""
        with _failing_as_oserror():
            self._serial.write(data)

    def close(self) -> None:
        """Close. What was not sent is thrown away: the system would wait for it up to 30 s."""
        with contextlib.suppress(OSError), _failing_as_oserror():
            self._serial.reset_output_buffer()
        with contextlib.suppress(OSError), _failing_as_oserror():
            self._serial.close()


def list_ports() -> list[ListedPort]:
    """Return the ports the system knows of, none where it cannot tell just now."""
    try:
        found = pyserial_list.comports()
    except (OSError, TypeError, ValueError):  # a device that goes while it is being looked at
        return []
    return [ListedPort(info.device, _usb(info.vid, info.pid, info.serial_number)) for info in found]


def _usb(vid: int | None, pid: int | None, serial_number: str | None) -> UsbIdentity | None:
    if vid is None or pid is None:
        return None
    return UsbIdentity(vid, pid, serial_number or None)


@contextlib.contextmanager
def _failing_as_oserror() -> Iterator[None]:
    """pyserial lets termios.error through, or hides its number, and TypeError for a closed port."""
    try:
        yield
    except serial.SerialException as err:
        if err.errno is None and isinstance(err.__context__, termios.error):
            raise OSError(*err.__context__.args) from err
        raise
    except termios.error as err:
        raise OSError(*err.args) from err
    except (TypeError, ValueError) as err:
        raise OSError(str(err)) from err
