"""The board on a serial port, kept connected: unplugged, replugged, renamed, held by others.

Which port is the board? While nothing is known, the one the rig file names. Later, first a port
with the board's own USB serial number, then the named one, then other USB ports. Without that
number a port is on probation: it is asked who it is, and what it says is held back until it has
answered with the board's name.
"""

import os
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

from rig.sensing import port_trouble
from rig.sensing.link import Link
from rig.sensing.ports import (
    BAUD,
    PATIENCE_S,
    ListedPort,
    Port,
    SystemPort,
    UsbIdentity,
    list_ports,
)
from rig.sensing.sentences import Identity
from rig.sensing.source import SourceStatus

RETRY_S = 0.5  # between two rounds over the ports
SILENT_S = 1.5  # told within 2 s: a read waits for up to 0.25 s
REOPEN_S = 10.0  # opening anew resets many boards, which frees a stuck one
PROBATION_S = 5.0  # three questions; a board that resets when opened needs about 2 s to come up
STRANGER_S = 10.0  # a port that was not the board is left alone so long: opening may reset it


@dataclass(frozen=True, slots=True)
class _Stranger:
    usb: UsbIdentity | None
    until_s: float


class SerialSource:
    """Bytes from the board; see `rig.sensing.source.Source`.

    Args:
        port: the port's name, such as /dev/ttyACM0.
        open_port, list_ports, monotonic, sleep: the world, handed in.
    """

    def __init__(
        self,
        port: str,
        *,
        open_port: Callable[[str], Port] = SystemPort,
        list_ports: Callable[[], list[ListedPort]] = list_ports,
        monotonic: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], object] = time.sleep,
    ) -> None:
        self.status = SourceStatus(False, f"Looking for the board on {port}.")
        self._named = port
        self._open, self._list = open_port, list_ports
        self._now, self._sleep = monotonic, sleep
        self._closing = threading.Event()
        self._lock = threading.RLock()  # re-entrant: a signal may close during a read
        self._link: Link | None = None
        self._board: Identity | None = None
        self._usb: UsbIdentity | None = None
        self._queue: deque[ListedPort] = deque()
        self._round_due_s = monotonic()  # when the next round over the ports begins
        self._listing: list[ListedPort] = []  # as last seen
        self._strangers: dict[str, _Stranger] = {}
        self._silent_since_s: float | None = None  # outlives the link that fell silent
        self._midline = False  # the last byte handed out did not end a line

    def read(self) -> bytes:
        """Return what arrived, or b"" after about 0.25 s of nothing. Never raises for a port."""
        if self._closing.is_set():
            return b""
        with self._lock:
            if self._link is None:
                self._link = self._connect()
            if self._link is not None:
                return self._listen(self._link)
            if not self._queue:
                self._sleep(PATIENCE_S)
            return b""

    def close(self) -> None:
        """Let go of the port; a read that waits in another thread ends within 0.25 s."""
        self._closing.set()
        with self._lock:
            link, self._link = self._link, None
            if link is not None:
                link.port.close()
            self.status = SourceStatus(False, f"{self._named} is closed.")

    # --- finding the board -------------------------------------------------------------------

    def _connect(self) -> Link | None:
        """Try the next port of this round, or begin a round when it is time."""
        now_s = self._now()
        if not self._queue:
            if now_s < self._round_due_s:
                return None
            self._round_due_s = now_s + RETRY_S
            self._queue.extend(self._candidates(now_s))
        if not self._queue:
            return None
        listed = self._queue.popleft()
        try:
            port = self._open(listed.name)
        except OSError as err:
            if listed.name == self._named:
                self._wait_saying(port_trouble.not_opened(listed.name, err))
            return None
        certain = self._is_certain(listed)
        heard_s = now_s if self._silent_since_s is None else self._silent_since_s
        link = Link(port, listed, certain, False, now_s, heard_s)
        if certain or self._board is None:
            self._accept(link)
        return link

    def _candidates(self, now_s: float) -> list[ListedPort]:
        listing = self._listing = self._list()
        self._forget_strangers(listing, now_s)
        named = next((port for port in listing if self._is_named(port)), None)
        # under its own name: the rig file may give a link such as /dev/serial/by-id/...
        first = ListedPort(self._named, named.usb if named else None)
        ports = [first] + [port for port in listing if port is not named]
        if self._board is None:
            ports = [port for port in ports if port is first or self._is_certain(port)]
        else:  # soldered-in ports may be a console or a radio: they are not ours to talk to
            ports = [port for port in ports if port is first or port.usb is not None]
        ports.sort(key=self._unlikely)  # stable: the named port stays first among equals
        return [port for port in ports if port.name not in self._strangers]

    def _unlikely(self, port: ListedPort) -> int:
        """0 for the board's own serial number, 1 the named port, 2 the same chip, 3 others."""
        if self._is_certain(port):
            return 0
        if port.name == self._named:
            return 1
        return 2 if port.usb == self._usb else 3

    def _is_certain(self, port: ListedPort) -> bool:
        return port.usb is not None and port.usb == self._usb and bool(port.usb.serial_number)

    def _is_named(self, port: ListedPort) -> bool:
        return port.name in (self._named, os.path.realpath(self._named))

    def _forget_strangers(self, listing: list[ListedPort], now_s: float) -> None:
        """A stranger is a stranger until its time is over or something else stands in its place."""
        usb = {self._named if self._is_named(port) else port.name: port.usb for port in listing}
        self._strangers = {
            name: stranger
            for name, stranger in self._strangers.items()
            if now_s < stranger.until_s and usb.get(name) == stranger.usb
        }

    # --- listening ---------------------------------------------------------------------------

    def _listen(self, link: Link) -> bytes:
        link.ask_if_due(self._now())
        try:
            chunk = link.port.read()
        except OSError as err:
            self._silent_since_s = None
            return self._lose(link, port_trouble.broken_off(link.name, err))
        now_s = self._now()
        for identity in link.hear(chunk, now_s):
            if self._board and identity.board != self._board.board and not link.certain:
                return self._refuse(link, identity, self._board, now_s)
            link.identified = True
            self._board = identity
            self._accept(link)
        if not link.accepted and now_s - link.opened_s >= PROBATION_S:
            if not self._may_pass(link):
                return self._give_up(link, now_s)  # `_judge` has said why
            self._accept(link)
        if not link.accepted and self._something_likelier(link):
            self._queue.clear()
            return self._drop(link, wait_s=0.0)
        self._judge(link, now_s)
        if now_s - max(link.heard_s, link.opened_s) >= REOPEN_S:
            return self._lose(link, self.status.text)
        return self._hand_out(link) if link.accepted else b""

    def _accept(self, link: Link) -> None:
        link.accepted = True
        self._usb = link.listed.usb or self._usb
        self._queue.clear()

    def _may_pass(self, link: Link) -> bool:
        """The named port may speak our sentences without saying its name, as at the beginning."""
        return link.name == self._named and link.sentence_s is not None

    def _something_likelier(self, link: Link) -> bool:
        """While a lesser port is on probation, the named one or the board itself may come back."""
        if link.name == self._named:
            return False
        before, self._listing = self._listing, self._list()
        new = [port for port in self._listing if port not in before]
        return any(self._is_named(port) or self._is_certain(port) for port in new)

    def _judge(self, link: Link, now_s: float) -> None:
        """Say how it stands, from what was heard in the last two seconds."""
        since_s = link.opened_s if link.sentence_s is None else link.sentence_s
        if not link.accepted and link.name != self._named:
            return  # what is wrong with the named port still holds
        if now_s - link.heard_s >= SILENT_S:
            self._silent_since_s = link.heard_s
            self._wait_saying(port_trouble.silent(link.name, SILENT_S))
        elif now_s - since_s >= SILENT_S:
            self._silent_since_s = None
            self._wait_saying(port_trouble.no_sentence(link.name, BAUD))
        elif link.sentence_s is not None and link.accepted:
            self._silent_since_s = None
            who = f" {self._board.board} ({self._board.firmware})" if self._board else ""
            self.status = SourceStatus(True, f"The board{who} speaks on {link.name}.")
        else:
            self._wait_saying(f"{link.name} is open; waiting for the board to say who it is.")

    def _hand_out(self, link: Link) -> bytes:
        taken = link.take()
        if not taken:
            return b""
        # The old connection's unfinished line must not run into this one's first bytes.
        if self._midline and not link.handed_out:
            taken = b"\n" + taken
        link.handed_out = True
        self._midline = not taken.endswith(b"\n")
        return taken

    # --- parting -----------------------------------------------------------------------------

    def _lose(self, link: Link, why: str) -> bytes:
        """The port ended; what it said and we still hold goes out if the port may pass."""
        if link.accepted or link.name == self._named:
            self._wait_saying(why)
        rest = self._hand_out(link) if link.accepted or self._may_pass(link) else b""
        self._drop(link)
        return rest

    def _refuse(self, link: Link, is_now: Identity, was: Identity, now_s: float) -> bytes:
        if link.accepted or link.name == self._named:
            self._wait_saying(port_trouble.other_board(link.name, is_now.board, was.board))
        return self._leave_alone(link, now_s)

    def _give_up(self, link: Link, now_s: float) -> bytes:
        return self._drop(link) if link.name == self._named else self._leave_alone(link, now_s)

    def _leave_alone(self, link: Link, now_s: float) -> bytes:
        self._strangers[link.name] = _Stranger(link.listed.usb, now_s + STRANGER_S)
        return self._drop(link)

    def _drop(self, link: Link, wait_s: float = RETRY_S) -> bytes:
        """Close; the next round begins after `wait_s`, so that a flapping port cannot spin us."""
        link.port.close()
        self._link = None
        self._round_due_s = self._now() + wait_s
        return b""

    def _wait_saying(self, text: str) -> None:
        self.status = SourceStatus(False, text)
