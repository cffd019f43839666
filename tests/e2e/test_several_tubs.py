"""Two rigs at once, each a program of its own with a simulated board; one of them is killed."""

import json
import os
import signal
import socket
import struct
import subprocess
import sys
from pathlib import Path
from time import monotonic, sleep
from urllib.request import urlopen

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

TUBRIG = str(Path(sys.executable).with_name("tubrig"))
RIG = """
[rig]
name = "{name}"
layout = "feed-tray"
source = "demo"
[load]
zero_count = -8000
count_per_g = 107.3741824
[surface]
height_mm = 330.0
[rim]
height_mm = 420.0
flag_mm = 60.0
[tub]
area_mm2 = 60000
[item]
name = "washer"
mass_g = 2.5
"""
BOATS = """
[[boat]]
label = "Otters"
hull = "box"
length_mm = 150
beam_mm = 100
depth_mm = 40
mass_g = 20
"""
PATIENCE_S = 60  # against hanging


class Tubs:
    def __init__(self, folder):
        (folder / "boats.toml").write_text(BOATS)
        self.manager = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.manager.setsockopt(socket.SOL_SOCKET, socket.SO_PASSCRED, 1)
        self.manager.settimeout(PATIENCE_S)
        self.manager.bind(str(folder / "notify"))
        files = []
        for name in ("Window", "Door"):
            path = folder / f"{name}.toml"
            path.write_text(RIG.format(name=name))
            files += ["--setup", str(path)]
        self.process = subprocess.Popen(
            [TUBRIG, "serve", *files, "--boats", str(folder / "boats.toml"), "--port", "0",
             "--data-dir", str(folder / "data"), "--json"],
            stdout=subprocess.PIPE, text=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1", "WATCHDOG_USEC": "3000000",
                 "NOTIFY_SOCKET": str(folder / "notify")},
        )  # fmt: skip
        lines = ""
        for line in self.process.stdout:
            lines += line
            if line.startswith("}"):
                break
        self.said = json.loads(lines)

    def tiles(self):
        with urlopen(f"{self.said['board']}latest", timeout=10) as answer:
            return {tile["name"]: tile for tile in json.load(answer)}

    def until(self, what):
        """The tiles, as soon as they are so."""
        end_s = monotonic() + PATIENCE_S
        while monotonic() < end_s:
            tiles = self.tiles()
            if what(tiles):
                return tiles
            sleep(0.1)
        raise AssertionError(f"not within {PATIENCE_S} s: {tiles}")

    def told(self):
        """What the service manager is told next, and by which process."""
        said, extra, _, _ = self.manager.recvmsg(100, socket.CMSG_SPACE(12))
        return said.decode(), struct.unpack("iii", extra[0][2])[0]

    def program_of(self, name):
        """The process id of a rig's own program."""
        for entry in Path("/proc").iterdir():
            if entry.name.isdigit():
                try:
                    words = (entry / "cmdline").read_bytes().split(b"\0")
                    parent = int((entry / "stat").read_text().rsplit(")", 1)[1].split()[1])
                except (OSError, IndexError):
                    continue
                if parent == self.process.pid and any(f"{name}.toml".encode() in w for w in words):
                    return int(entry.name)
        return None


@pytest.fixture(scope="module")
def tubs(tmp_path_factory):
    running = Tubs(tmp_path_factory.mktemp("tubs"))
    yield running
    running.process.send_signal(signal.SIGTERM)
    assert running.process.wait(30) == 0
    running.process.stdout.close()
    running.manager.close()


def test_the_service_manager_hears_the_program_it_started_and_no_other(tubs):
    """NotifyAccess=main: what another process says does not count, and it waits in vain."""
    tubs.until(lambda tiles: all(tile["in_touch"] for tile in tiles.values()))
    main = tubs.process.pid
    assert [tubs.told() for _ in range(3)] == [("READY=1", main), *[("WATCHDOG=1", main)] * 2]


def afloat(tile):
    return tile["in_touch"] and tile.get("boat") == "Otters" and (tile["items"] or 0) > 0


def test_one_rig_that_is_killed_leaves_the_other_alone_and_comes_back(tubs):
    both = tubs.until(lambda tiles: all(afloat(tile) for tile in tiles.values()))
    assert list(both) == ["Window", "Door"] == tubs.said["rigs"]
    killed, other = tubs.program_of("Door"), tubs.program_of("Window")
    before = both["Door"]["address"]
    os.kill(killed, signal.SIGKILL)

    def back(tiles):
        assert tiles["Window"]["in_touch"], "the other one was drawn in"
        return tiles["Door"]["address"] != before and afloat(tiles["Door"])

    tubs.until(back)
    assert tubs.program_of("Door") not in (None, killed)
    assert tubs.program_of("Window") == other


@pytest.mark.parametrize("size", [(390, 844), (1366, 768), (1920, 1080)])
def test_the_tiles_fit_are_read_and_lead_to_their_desks(tubs, context_page, size):
    page, complaints = context_page
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.goto(tubs.said["board"])
    expect(page.locator(".tile .boat").first).to_have_text("Otters", timeout=30_000)
    expect(page.locator(".tile .desk")).to_have_count(2)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    if size[0] > 1000:
        assert page.evaluate("document.documentElement.scrollHeight") <= size[1]
    found = Axe().run(page).response
    assert found["passes"]
    assert [v["id"] for v in found["violations"] if v["impact"] in ("serious", "critical")] == []
    page.locator(".tile .desk").first.click()
    page.wait_for_url("**/desk/pin")
    assert complaints == []


@pytest.fixture
def context_page(browser):
    context = browser.new_context()
    page = context.new_page()
    complaints = []
    page.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda err: complaints.append(str(err)))
    yield page, complaints
    context.close()


@pytest.mark.parametrize(
    ("names", "needle"),
    [(("A", "A"), "same name"), (("A", "B", "C", "D", "E"), "too many")],
)
def test_rigs_that_cannot_stand_together_are_told(tmp_path, names, needle):
    files = []
    for number, name in enumerate(names):
        path = tmp_path / f"{number}.toml"
        path.write_text(RIG.format(name=name))
        files += ["--setup", str(path)]
    done = subprocess.run(
        [TUBRIG, "serve", *files], capture_output=True, text=True, timeout=60, check=False
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.strip().splitlines()) == 1 and needle in done.stderr
