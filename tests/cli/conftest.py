"""Run the command as a person does, in a process of its own."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

TUBRIG = str(Path(sys.executable).with_name("tubrig"))


@pytest.fixture
def tubrig(tmp_path):
    """`tubrig("predict", ...)`: the finished process, its working folder an empty one."""

    def run(*arguments):
        return subprocess.run(
            [TUBRIG, *arguments],
            cwd=tmp_path,
            env={**os.environ, "TUBRIG_DATA": str(tmp_path / "data")},
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )

    return run


@pytest.fixture
def told(tubrig):
    """As `tubrig`, with `--json`: what it printed."""

    def run(*arguments):
        done = tubrig(*arguments, "--json")
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)

    return run
