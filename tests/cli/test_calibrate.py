"""`tubrig calibrate` and `tubrig check rig` on a simulated board's port, as a person types."""

import json
import os
import re
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from rig.cli.bench import _wait_for
from rig.errors import SourceLost
from rig.sensing.source import SourceStatus
from rig.setup import read_setup
from rig.simulator import Conditions, PtyBoard

TUBRIG = str(Path(sys.executable).with_name("tubrig"))
RIG = """\
# by the window
[rig]
name = "by the window"
layout = "feed-tray"
source = "serial:/dev/ttyNONE"
[load]
zero_count = 84213
count_per_g = 430.0  # by the label
[surface]
height_mm = 400
[tub]
area_mm2 = 60000
[item]
name = "washer"
mass_g = 2.5
"""
PROMPT = re.compile(r"(?:\A|\n)(\d+/\d+  [^\n]*|Done\. [^\n]*) > \Z")
FAST = 40.0  # board seconds a second


@pytest.fixture
def bench(tmp_path):
    """`bench(arguments, hands, span_error=...)`: (exit code, output, prompts)."""
    path = tmp_path / "rig.toml"
    path.write_text(RIG)

    def run(arguments, hands, answers=(), **conditions):
        answers = list(answers)
        with PtyBoard(read_setup(path), Conditions.model_validate(conditions), 3, FAST) as board:
            command = [TUBRIG, *arguments, "--setup", str(path), "--port", board.path]
            process = subprocess.Popen(
                command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                env={**os.environ, "TUBRIG_DATA": str(tmp_path)},
            )
            asked, shown = [], ""
            hanging = threading.Timer(60, process.kill)  # against hanging only
            hanging.start()
            with process:
                while letter := process.stderr.read(1):
                    shown += letter.decode("utf-8", "replace")
                    if found := PROMPT.search(shown):
                        asked.append(found[1])
                        hands(board, found[1])
                        shown = ""
                        answer = answers.pop(0) if answers else ""
                        process.stdin.write(f"{answer}\n".encode())
                        process.stdin.flush()
                out = process.stdout.read().decode()
            hanging.cancel()
        return process.returncode, out, asked, shown

    run.path = path
    return run


def weights(board, asked):
    """Put on what is asked for."""
    grams = re.search(r"M2 (\d+) g", asked)
    if grams:
        board.lay_on_tray(float(grams[1]))
    elif " off" in asked:
        board.lay_on_tray()


LOAD = ("calibrate", "load", "--mass", "M2 100 g", "--mass", "M2 200 g", "--mass", "M2 500 g",
        "--no-creep")  # fmt: skip


def test_from_known_masses_into_the_rig_file(bench, tmp_path, tubrig):
    """The simulated cell makes 430 x 1.013 counts a gram; the file says 430."""
    code, out, asked, _ = bench(
        [*LOAD, "--write", "--note", "Tuesday", "--plot", str(tmp_path / "plot.html")],
        weights,
        amplifier={"span_error": 0.013},
    )
    assert code == 0, out
    assert len(asked) == 8 and asked[-1].startswith("Done.")
    assert asked[1].startswith("2/7  Put on M2 100 g")
    load = read_setup(bench.path).load
    assert load.count_per_g == pytest.approx(430 * 1.013, abs=3 * load.count_per_g_sd)
    assert 0 < load.count_per_g_sd < 0.5
    assert "# by the label" in bench.path.read_text()
    (copy,) = bench.path.parent.glob("rig-before-*.toml")
    assert copy.read_text() == RIG
    assert "plotly" in (tmp_path / "plot.html").read_text()[:5000].lower()
    # and again from what was kept
    (recording,) = (tmp_path / "calibrations").glob("*.rec")
    told = tubrig("calibrate", "load", "--recording", str(recording), "--setup", str(bench.path),
                  "--json")  # fmt: skip
    assert told.returncode == 0, told.stderr
    assert json.loads(told.stdout)["outcome"]["sets"]["load"]["count_per_g"] == load.count_per_g


def test_redo_quit_and_what_was_measured_stays(bench, tmp_path):
    answers = ["", "a stone", "", "r", "", "", "q"]
    code, out, asked, _ = bench(LOAD, weights, answers)
    assert [line.split()[0] for line in asked] == ["1/7", "2/7", "2/7", "3/7", "2/7", "3/7", "4/7"]
    assert code == 0 and "count_per_g" in out  # three points are a line
    assert bench.path.read_text() == RIG
    (kept,) = (tmp_path / "calibrations").glob("*.json")
    told = json.loads(kept.read_text())
    assert told["withdrawn"] == 1 and len(told["result"]["rows"]) == 3


def test_a_swapped_pair_is_named_and_not_written(bench):
    def swaps(board, asked):
        weights(board, {"2/7": "M2 200 g", "3/7": "M2 100 g"}.get(asked.split()[0], asked))

    code, out, _, err = bench([*LOAD, "--write"], swaps)
    assert code == 2 and "once they are exchanged" in out and "MEND" in out
    assert "Nothing was written" in err and bench.path.read_text() == RIG


def test_the_check_before_class(bench):
    code, out, asked, _ = bench(
        ("check", "rig", "--mass", "M2 200 g"), weights, amplifier={"span_error": 0.01}
    )
    assert len(asked) == 12 and out.count("ok  ") == 8
    off_g = float(re.search(r"MEND  200 g read ([+\d.]+) g off", out)[1])
    assert code == 2 and off_g == pytest.approx(2, abs=0.1)
    assert "To mend before class: known mass" in out


def test_a_board_that_says_nothing_is_not_waited_for_for_ever():
    class Silent:
        status = SourceStatus(False, "Nothing from the board. Push its plug in.")

    with pytest.raises(SourceLost, match=r"No readings from the board\. Nothing"):
        _wait_for(lambda: False, 0.01, Silent())


@pytest.mark.parametrize(
    ("arguments", "needle"),
    [
        (("load",), "two different masses"),
        (("load", "--mass", "a stone"), "no known mass"),
        (("tub", "--jugs", "1"), "three pours"),
        (("surface", "--height-mm", "20"), "two different heights"),
        (("rim", "--height-mm", "20", "--height-mm", "30", "--air-c", "60"), "0 to 30"),
        (("load", "--recording", "none.rec"), "none.rec"),
    ],
)
def test_bad_input_gets_one_line_and_exit_code_2(tubrig, bench, arguments, needle):
    done = tubrig("calibrate", *arguments, "--setup", str(bench.path))
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.strip().splitlines()) == 1 and needle in done.stderr
    assert not list(bench.path.parent.glob("calibrations/*"))
