"""The PIN: compared in constant time, slowed after wrong tries, remembered by a cookie."""

import hmac
from collections.abc import Callable
from threading import Lock
from time import monotonic

FREE_TRIES = 3
LONGEST_WAIT_S = 60.0
FORGET_AFTER_S = 600.0
ADDRESSES_KEPT = 500


class PinGate:
    """Who may use the Desk.

    After three wrong tries an address must wait 1, 2, 4 ... 60 s before the next one
    counts. Only that address: a child guessing must not lock out the teacher.
    """

    def __init__(self, pin: str | None, secret: str, clock: Callable[[], float] = monotonic):
        self._pin = pin
        self._clock = clock
        self._lock = Lock()
        self._wrong: dict[str, tuple[int, float]] = {}  # address -> (tries, time of the last)
        # What the cookie holds: another PIN makes old cookies worthless.
        self.mark = hmac.digest(secret.encode(), (pin or "").encode(), "sha256").hex()[:32]

    @property
    def is_open(self) -> bool:
        """Whether no PIN was set."""
        return self._pin is None

    def knows(self, mark: object) -> bool:
        """Whether a cookie's mark was given out for today's PIN."""
        return self.is_open or (isinstance(mark, str) and _same(mark, self.mark))

    def wait_s(self, address: str) -> float:
        """How long an address must still wait before its next try counts [s]."""
        with self._lock:
            return self._wait_s(address, self._clock())

    def admits(self, address: str, pin: str) -> bool:
        """Try a PIN. A try made while the address must wait is not looked at."""
        with self._lock:
            now_s = self._clock()
            if self._wait_s(address, now_s) > 0:
                return False
            if self._pin is not None and _same(pin, self._pin):
                self._wrong.pop(address, None)
                return True
            self._count_wrong(address, now_s)
            return False

    def _wait_s(self, address: str, now_s: float) -> float:
        tries, last_s = self._wrong.get(address, (0, 0.0))
        if tries < FREE_TRIES:
            return 0.0
        wait_s = min(LONGEST_WAIT_S, 2.0 ** min(tries - FREE_TRIES, 10))
        return max(0.0, last_s + wait_s - now_s)

    def _count_wrong(self, address: str, now_s: float) -> None:
        fresh = {a: w for a, w in self._wrong.items() if now_s - w[1] < FORGET_AFTER_S}
        if len(fresh) >= ADDRESSES_KEPT:
            del fresh[min(fresh, key=lambda a: fresh[a][1])]
        tries, _ = fresh.get(address, (0, 0.0))
        fresh[address] = (tries + 1, now_s)
        self._wrong = fresh


def _same(given: str, right: str) -> bool:
    return hmac.compare_digest(given.encode("utf-8", "replace"), right.encode("utf-8", "replace"))
