"""The whole command in a process of its own, with its pages."""

import contextlib
import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from urllib.request import Request, urlopen

import pytest

TUBRIG = str(Path(sys.executable).with_name("tubrig"))


class Running:
    """A running `tubrig serve` or `tubrig demo`."""

    def __init__(self, *arguments, folder):
        self.folder = folder
        self.process = subprocess.Popen(
            [TUBRIG, *arguments, "--port", "0", "--json", "--data-dir", str(folder)],
            stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
            text=True,
        )
        lines = ""
        for line in self.process.stdout:  # the addresses come first, as one JSON object
            lines += line
            if line.startswith("}"):
                break
        assert lines, f"it ended with code {self.process.wait(timeout=10)}"
        said = json.loads(lines)
        self.board, self.desk, self.pin = said["board"], said["desk"], said["pin"]

    def latest(self):
        """topic -> newest data, as the pages get it."""
        with urlopen(f"{self.board}live/latest", timeout=10) as answer:
            return {m["topic"]: m["data"] for m in json.load(answer)["messages"]}

    def tap(self, action, **body):
        """Post to the Desk as its buttons do."""
        request = Request(
            f"{self.desk}/{action}",
            data=json.dumps(body).encode(),
            headers={"Content-Type": "application/json"},
        )
        with urlopen(request, timeout=10) as answer:
            return json.load(answer)

    def replay(self, number):
        """`tubrig replay --trial`, as JSON."""
        done = subprocess.run(
            [TUBRIG, "replay", "--trial", str(number), "--data-dir", str(self.folder), "--json"],
            capture_output=True,
            text=True,
            timeout=60,
            check=True,
        )
        return json.loads(done.stdout)

    def kill(self):
        """As if the plug were pulled."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(timeout=10)
        self.process.stdout.close()

    def end(self):
        """As the service manager ends it; returns the exit code."""
        with contextlib.suppress(ProcessLookupError):
            self.process.terminate()
        try:
            return self.process.wait(timeout=15)
        finally:
            self.process.kill()
            self.process.stdout.close()


@pytest.fixture
def run(tmp_path):
    """`run("demo", ...)`: a running tubrig, ended with the test."""
    started = []

    def start(*arguments):
        started.append(Running(*arguments, folder=tmp_path / "data"))
        return started[-1]

    yield start
    for running in started:
        if running.process.poll() is None:
            running.end()
