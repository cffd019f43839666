"""Run by a service manager: the unit file, by systemd's own judgement, and the heartbeat."""

import os
import re
import shutil
import signal
import socket
import subprocess
import sys
from pathlib import Path
from threading import Event, Thread

import pytest

from rig.cli.heartbeat import Heartbeat
from rig.cli.unit import unit_text

ANALYZE = shutil.which("systemd-analyze")
needs_systemd = pytest.mark.skipif(ANALYZE is None, reason="systemd is not installed here")
EXPOSED_MOST = 3.0  # systemd's own scale from 0 (closed) to 10; a plain service has 9.6
RIG = """
[rig]
name = "x"
layout = "feed-tray"
source = "serial:/dev/ttyNONE"
[load]
zero_count = 0
count_per_g = 400
"""


@pytest.fixture
def unit(tubrig, tmp_path):
    done = tubrig("serve", "--unit", "--host", "0.0.0.0", "--pin", "4711")
    assert done.returncode == 0, done.stderr
    path = tmp_path / "tubrig.service"
    path.write_text(done.stdout.replace("User=tubrig", "User=root"))  # a user that is here
    return path


def test_the_command_is_the_one_installed(unit):
    command = re.search(r"^ExecStart=(.+)$", unit.read_text(), re.M)[1].split()
    assert Path(command[0]).exists() and os.access(command[0], os.X_OK)
    assert command[1:] == ["serve", "--host", "0.0.0.0", "--port", "8765", "--pin", "4711"]


def test_several_rigs_are_all_in_it_and_copied_where_it_looks(tubrig, tmp_path):
    for name in ("a", "b"):
        (tmp_path / f"{name}.toml").write_text(RIG)
    a, b = str(tmp_path / "a.toml"), str(tmp_path / "b.toml")
    done = tubrig("serve", "--unit", "--setup", a, "--setup", b)
    assert done.returncode == 0, done.stderr
    command = re.search(r"^ExecStart=(.+)$", done.stdout, re.M)[1]
    assert "--setup /var/lib/tubrig/a.toml --setup /var/lib/tubrig/b.toml" in command
    assert f"-m 0644 {a} {b} boats.toml -t /var/lib/tubrig/" in done.stdout
    (tmp_path / "c").mkdir()
    (tmp_path / "c" / "a.toml").write_text(RIG)  # would be copied over the other one
    done = tubrig("serve", "--unit", "--setup", a, "--setup", str(tmp_path / "c" / "a.toml"))
    assert done.returncode == 2 and "same name" in done.stderr


def test_drivers_are_there_before_device_groups_are_looked_up():
    """systemd.resource-control(5), DeviceAllow=: a group unknown at the start stays closed."""
    text = unit_text(Path("/bin/true"), ["serve"], False)
    for key in ("Wants", "After"):
        assert f"\n{key}=modprobe@cdc_acm.service modprobe@usbserial.service\n" in text


@needs_systemd
def test_systemd_finds_nothing_wrong_with_it(unit):
    done = subprocess.run(
        [ANALYZE, "verify", str(unit)], capture_output=True, text=True, check=False
    )
    assert [line for line in done.stderr.splitlines() if "tubrig.service" in line] == []


@needs_systemd
@pytest.mark.parametrize("pins", [False, True])
def test_systemd_calls_it_well_closed(tmp_path, pins):
    path = tmp_path / "tubrig.service"
    path.write_text(unit_text(Path("/bin/true"), ["serve"], pins))
    done = subprocess.run(
        [ANALYZE, "security", "--offline=true", "--no-pager", str(path)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    found = re.search(r"Overall exposure level for \S+: ([\d.]+)", done.stdout)
    assert found, done.stdout + done.stderr
    assert float(found[1]) <= EXPOSED_MOST


def test_pins_get_their_group_and_devices():
    with_pins, without = (unit_text(Path("/bin/true"), [], pins) for pins in (True, False))
    assert "SupplementaryGroups=dialout gpio" in with_pins and "char-gpiochip rw" in with_pins
    assert "gpio" not in without


@pytest.fixture
def listening():
    """`listening(address)`: a service manager's socket."""
    made = []

    def listen(address):
        made.append(Manager(address))
        return made[-1]

    yield listen
    for manager in made:
        manager.line.close()


class Manager:
    """See `listening`."""

    def __init__(self, address):
        self.line = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.line.settimeout(20)
        self.line.bind(address)

    def hears(self):
        return self.line.recv(100).decode()


@pytest.mark.parametrize("abstract", [False, True])
def test_it_beats_while_the_rig_is_alive_and_not_a_moment_longer(tmp_path, listening, abstract):
    name = f"@tubrig-test-{os.getpid()}" if abstract else str(tmp_path / "notify")
    manager = listening("\0" + name[1:] if abstract else name)
    alive, stopping = Event(), Event()
    alive.set()
    heart = Heartbeat(alive.is_set, {"NOTIFY_SOCKET": name, "WATCHDOG_USEC": "30000"})
    assert heart.every_s == pytest.approx(0.01)
    thread = Thread(target=heart.run, args=(stopping,))
    thread.start()
    assert manager.hears() == "READY=1"
    assert [manager.hears() for _ in range(3)] == ["WATCHDOG=1"] * 3
    alive.clear()
    manager.line.settimeout(0.2)
    with pytest.raises(TimeoutError):
        for _ in range(50):  # what was under way, then silence
            manager.hears()
    alive.set()
    manager.line.settimeout(20)
    assert manager.hears() == "WATCHDOG=1"
    stopping.set()
    thread.join(10)
    said = manager.hears()
    while said == "WATCHDOG=1":
        said = manager.hears()
    assert said == "STOPPING=1"


def test_where_nobody_listens_it_is_silent(tmp_path):
    Heartbeat(lambda: True, {}).run(Event())  # returns at once
    gone = Heartbeat(lambda: True, {"NOTIFY_SOCKET": str(tmp_path / "gone")})
    gone.say("READY=1")  # and no error


def test_a_served_rig_says_that_it_is_ready_and_stops_calmly(tmp_path, listening):
    (tmp_path / "rig.toml").write_text(RIG)
    manager = listening(str(tmp_path / "notify"))
    serving = subprocess.Popen(
        [str(Path(sys.executable).with_name("tubrig")), "serve", "--port", "0"],
        env={**os.environ, "TUBRIG_DATA": str(tmp_path), "WATCHDOG_USEC": "300000",
             "NOTIFY_SOCKET": str(tmp_path / "notify")},
        stdout=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        assert manager.hears() == "READY=1"
        assert manager.hears() == "WATCHDOG=1"  # without a board, too: the rig waits for it
        serving.send_signal(signal.SIGTERM)
        assert serving.wait(20) == 0
    finally:
        serving.kill()
        serving.wait()
