"""A running rig with its pages: what `demo` and `serve` have in common."""

import contextlib
import secrets
import signal
import socket
import threading
from collections.abc import Callable, Iterable, Iterator
from ipaddress import ip_address
from pathlib import Path
from typing import Any

import click
import segno

from dashboard.app import create_app
from dashboard.serving import DashboardServer, make_server
from rig.cli.heartbeat import Heartbeat
from rig.cli.output import print_json
from rig.errors import RigError, SourceLost
from rig.records import Store
from rig.sensing.serial_source import SerialSource
from rig.sensing.source import Source
from rig.service import RigService
from rig.setup import Boat, RigSetup
from rig.simulator import DemoClass

LOOPBACK = "127.0.0.1"
DEFAULT_PORT = 8765


class House:
    """One rig, its records and its pages; `run()` serves until a signal ends it."""

    def __init__(
        self,
        setup: RigSetup,
        boats: Iterable[Boat],
        source: Source,
        records: Path,
        *,
        host: str,
        port: int,
        pin: str | None,
        demo: bool = False,
        rig_file: Path | None = None,
    ) -> None:
        self._pin = pin or (None if is_loopback(host) else _new_pin())
        self.store = Store.open(records)
        self.service = RigService(
            setup,
            boats,
            source,
            self.store,
            demo=demo,
            address=shown_address(host, port),
            rig_file=rig_file,
        )
        app = create_app(self.service, pin=self._pin, secret=_secret(records.parent))
        try:
            self._server = make_server(app, host, port)
        except OSError as err:
            self.service.close()
            raise SourceLost(
                f"Cannot serve on {host} port {port}: {err.strerror}.",
                "Choose another with --port, or stop the program that has it.",
            ) from err
        self.address = shown_address(host, self._server.effective_port)

    def say_address(self, as_json: bool) -> None:
        """Print where the pages are: first line the address, then the same as a QR code."""
        if as_json:
            print_json({"board": self.address, "desk": f"{self.address}desk", "pin": self._pin})
            return
        click.echo(f"tubrig is at {self.address}")
        click.echo(f"Board (the class): {self.address}   Desk (the teacher): {self.address}desk")
        if self._pin:
            click.echo(f"PIN of the Desk: {self._pin}")
        print_code(self.address)
        click.echo("Stop with Ctrl-C.")

    def run(self, *beside: Callable[[threading.Event], None]) -> None:
        """Serve; each of `beside` runs in its own thread until the event it gets is set."""
        stopping = threading.Event()
        threads = [threading.Thread(target=self.service.run, name="rig", daemon=True)]
        heartbeat = Heartbeat(lambda: self.service.alive)
        threads += [
            threading.Thread(target=work, args=(stopping,), name="beside", daemon=True)
            for work in (*beside, heartbeat.run)
        ]
        for thread in threads:
            thread.start()
        try:
            with _signals(self._server):
                self._server.run()
        except KeyboardInterrupt:
            pass
        finally:
            stopping.set()
            self.service.close()
            for thread in threads:
                thread.join(timeout=3)
            self.store.close()


def server_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """`--host`, `--port` and `--pin`."""
    pin = click.option("--pin", help="Of the Desk. [default: none on this machine, else a new one]")
    port = click.option(
        "--port",
        type=click.IntRange(0, 65_535),
        default=DEFAULT_PORT,
        show_default=True,
        help="0 takes a free one.",
    )
    host = click.option(
        "--host", default=LOOPBACK, show_default=True, help="0.0.0.0 for the whole network."
    )
    return host(port(pin(command)))


def play_class(
    group: DemoClass,
    speed: float,
    records: Path,
    *,
    host: str,
    port: int,
    pin: str | None,
    as_json: bool,
) -> None:
    """Serve a simulated rig on a pseudo-terminal, and the class that plays on it."""
    boats = group.scenario.boats.values()
    with group.board(speed) as board:
        house = House(
            group.scenario.setup,
            boats,
            SerialSource(board.path),
            records,
            host=host,
            port=port,
            pin=pin,
            demo=True,
        )
        house.say_address(as_json)
        house.run(lambda stopping: group.run(board, house.service, stopping))


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach a server on this host."""
    if host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False


@contextlib.contextmanager
def _signals(server: DashboardServer) -> Iterator[None]:
    """Let the service manager's SIGTERM end the server as calmly as Ctrl-C does."""
    before = signal.signal(signal.SIGTERM, lambda *_: server.close())
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def print_code(address: str) -> None:
    """Print an address as a QR code."""
    with contextlib.suppress(UnicodeEncodeError):  # a console without block characters
        segno.make(address, micro=False).terminal(compact=True)


def shown_address(host: str, port: int) -> str:
    """The address to type: this machine's own where the server listens on all of them."""
    try:
        everywhere = ip_address(host).is_unspecified
    except ValueError:
        everywhere = False
    shown = _own_address() if everywhere else host
    return f"http://{f'[{shown}]' if ':' in shown else shown}:{port}/"


def _own_address() -> str:
    """This machine's address in the school's network. Nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737)
        except OSError:
            return socket.gethostname()
        return str(probe.getsockname()[0])


def _new_pin() -> str:
    return f"{secrets.randbelow(10**6):06d}"


def _secret(folder: Path) -> str:
    """What signs the Desk's cookie, kept so that a restart logs nobody out."""
    path = folder / "desk-secret"
    try:
        if not path.exists():
            path.touch(mode=0o600)
            path.write_text(secrets.token_hex(32), encoding="ascii")
        return path.read_text(encoding="ascii")
    except OSError as err:
        raise RigError(
            f"Cannot use {path}: {err.strerror}.", "Check who owns that folder."
        ) from err
