"""`tubrig serve` beyond the loopback, and with a simulated source."""

import json
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest

from rig.simulator import DemoClass


@pytest.fixture
def files(tmp_path):
    scenario = DemoClass().scenario
    (tmp_path / "rig.toml").write_text(scenario.setup_toml())
    (tmp_path / "boats.toml").write_text(scenario.boats_toml())
    return ("--setup", str(tmp_path / "rig.toml"), "--boats", str(tmp_path / "boats.toml"))


def post(rig, action, cookie=None, **body):
    """(status, cookie given)"""
    request = Request(f"{rig.desk}/{action}", data=json.dumps(body).encode())
    request.add_header("Content-Type", "application/json")
    if cookie:
        request.add_header("Cookie", cookie)
    try:
        with urlopen(request, timeout=10) as answer:
            return answer.status, (answer.headers["Set-Cookie"] or "").partition(";")[0]
    except HTTPError as refused:
        refused.close()
        return refused.code, ""


def test_whoever_listens_wider_gives_the_desk_a_pin(run, files):
    rig = run("serve", *files, "--host", "0.0.0.0")
    assert len(rig.pin) == 6 and rig.pin.isdecimal()
    assert rig.latest()["rig"]["demo"]  # the Board is for everybody
    assert post(rig, "start", label="Otters")[0] == 401
    assert post(rig, "pin", pin=f"{(int(rig.pin) + 1) % 10**6:06d}")[0] == 403
    status, cookie = post(rig, "pin", pin=rig.pin)
    assert status == 200 and cookie
    assert post(rig, "safety", cookie=cookie)[0] == 200
    assert post(rig, "safety")[0] == 401


def test_source_demo_plays_the_boats_of_the_file_and_says_so(run, files):
    rig = run("serve", *files)
    latest = rig.latest()
    assert latest["rig"]["demo"] and rig.pin is None
    assert [boat["label"] for boat in latest["class"]["boats"]][:2] == ["Otters", "Newts"]
