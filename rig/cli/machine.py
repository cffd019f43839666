"""Is this computer ready for the rig? Port, data folder, disk and clock."""

import errno
import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from rig.errors import RigError
from rig.records import FIRST_YEAR
from rig.sensing.pins.amplifier import load_driver
from rig.sensing.port_trouble import not_opened
from rig.sensing.ports import list_ports

LEAST_FREE_MB = 200  # a lesson's raw readings are a few MB; the rest is for the system's own needs
PIN_DEVICES = (Path("/dev/gpiochip4"), Path("/dev/gpiochip0"))  # the newest boards' first


@dataclass(frozen=True)
class Check:
    """One thing looked at: `ok`, or one thing to do."""

    about: str
    ok: bool
    says: str
    do: str = ""


@dataclass(frozen=True)
class Probes:
    """How to ask this computer; tests hand in their own."""

    exists: Callable[[Path], bool] = os.path.exists
    may_use: Callable[[Path], bool] = lambda path: os.access(path, os.R_OK | os.W_OK)
    free_bytes: Callable[[Path], int] = lambda path: shutil.disk_usage(path).free
    ports: Callable[[], list[str]] = lambda: [port.name for port in list_ports()]
    year: Callable[[], int] = lambda: date.today().year
    driver: Callable[[], object] = load_driver
    holder: Callable[[Path], str] = lambda path: held_by(path)


def check_machine(source: str, folder: Path, probes: Probes | None = None) -> list[Check]:
    """Return what was looked at, in the order in which to mend it.

    Args:
        source: as in the rig file: "serial:" and a port, "gpio" or "demo".
        folder: of the kept trials; it need not be there yet.
    """
    ask = probes or Probes()
    kind, _, name = source.partition(":")
    checks = []
    if kind == "serial":
        checks.append(_port(name, ask))
    elif kind == "gpio":
        checks.append(_pins(ask))
    return [*checks, *_folder(folder, ask), _clock(ask)]


def _port(name: str, ask: Probes) -> Check:
    """Looked at, not opened: opening a port resets many boards."""
    if not ask.exists(Path(name)):
        others = ", ".join(ask.ports())
        do = "Push the board's USB plug in until it clicks"
        do += f", or put one of these into the rig file: {others}." if others else "."
        return Check("port", False, f"{name} is not there.", do)
    holder = ask.holder(Path(name))
    if holder:
        return Check(
            "port",
            False,
            f"Another program holds {name}: {holder}.",
            "Close it; or, if it is the rig's own service: `sudo systemctl stop tubrig`.",
        )
    if not ask.may_use(Path(name)):
        says, do = not_opened(name, OSError(errno.EACCES, "")).split(". ", 1)
        return Check("port", False, f"{says}.", do)
    return Check("port", True, f"{name} is there and may be opened.")


def _pins(ask: Probes) -> Check:
    """The driver, and the device by which it reaches the pins."""
    try:
        ask.driver()
    except RigError as err:
        return Check("pins", False, err.what, err.try_this)
    chip = next((path for path in PIN_DEVICES if ask.exists(path)), None)
    if chip is None:
        return Check("pins", False, "This computer shows no pins.", f"Look for {PIN_DEVICES[0]}.")
    if not ask.may_use(chip):
        do = "Run `sudo usermod -aG gpio $USER`, then log out and in again."
        return Check("pins", False, f"This user may not use {chip}.", do)
    return Check("pins", True, f"The pins can be used ({chip}).")


def _folder(folder: Path, ask: Probes) -> list[Check]:
    there = next((path for path in (folder, *folder.parents) if ask.exists(path)), folder)
    if not ask.may_use(there):
        does = f"This user may not read and write in {there}."
        return [Check("folder", False, does, "Check who owns it, or name another with --data-dir.")]
    try:
        free_mb = ask.free_bytes(there) // 1_000_000
    except OSError as err:
        does = f"The free space of {there} cannot be told: {err.strerror}."
        return [Check("disk", False, does, "Check that the disk is plugged in and mounted.")]
    checks = [Check("folder", True, f"Trials are kept in {folder}.")]
    if free_mb < LEAST_FREE_MB:
        says = f"Only {free_mb} MB are free where trials are kept."
        do = f"Delete what is not needed until {LEAST_FREE_MB} MB are free."
        return [*checks, Check("disk", False, says, do)]
    return [*checks, Check("disk", True, f"{free_mb} MB are free there.")]


def _clock(ask: Probes) -> Check:
    year = ask.year()
    if year < FIRST_YEAR:
        do = "Connect to the network for a minute, or set the clock by hand with `sudo date -s`."
        return Check("clock", False, f"The clock is not set: it says {year}.", do)
    return Check("clock", True, f"The clock is set: it says {year}.")


def held_by(path: Path, processes: Path = Path("/proc")) -> str:
    """Return which program has a port open, "" if none that this user may see.

    Looked up without opening the port: that would reset many boards.
    """
    wanted = os.path.realpath(path)
    for process in processes.glob("[0-9]*"):
        if process.name == str(os.getpid()):
            continue
        try:
            links = [os.readlink(link) for link in (process / "fd").iterdir()]
        except OSError:
            continue  # another user's, or gone
        if wanted in links:
            name = (process / "comm").read_text(errors="replace").strip()
            return f"{name} (process {process.name})"
    return ""
