"""Tells the service manager that the rig is up, and goes on telling while it really works.

A few lines instead of a package: one datagram to the socket that systemd names (sd_notify(3)).
"""

import os
import socket
from collections.abc import Callable, Mapping
from threading import Event

NOT_HANDED_ON = ("NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID")
BEATS = 3  # in the time that the watchdog waits


class Heartbeat:
    """Speaks only where a service manager listens.

    Args:
        alive: whether the rig works; while it does not, nothing is said, and systemd starts the
            program anew.
        environment: NOTIFY_SOCKET and WATCHDOG_USEC, as systemd sets them.
    """

    def __init__(
        self, alive: Callable[[], bool], environment: Mapping[str, str] = os.environ
    ) -> None:
        self._alive = alive
        self._to = environment.get("NOTIFY_SOCKET", "")
        self.every_s = _microseconds(environment.get("WATCHDOG_USEC", "")) / 1e6 / BEATS

    def run(self, stopping: Event) -> None:
        """Beat until `stopping` is set; returns at once where nobody listens."""
        if not self._to:
            return
        self.say("READY=1")
        while self.every_s and not stopping.wait(self.every_s):
            if self._alive():
                self.say("WATCHDOG=1")
        stopping.wait()
        self.say("STOPPING=1")

    def say(self, what: str) -> None:
        """Send one line. A manager that does not listen is no reason to stop a class."""
        address = "\0" + self._to[1:] if self._to.startswith("@") else self._to
        try:
            with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as line:
                line.setblocking(False)  # nor is one that does not read
                line.connect(address)
                line.send(what.encode())
        except OSError:
            return


def _microseconds(text: str) -> float:
    return float(text) if text.isdigit() else 0.0
