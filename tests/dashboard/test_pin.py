"""The PIN: who gets in, who must wait, and for how long."""

from typing import Any

import pytest
from flask import Flask

from dashboard import create_app
from dashboard.pin import PinGate


class Clock:
    now_s = 1000.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def gate(clock: Clock) -> PinGate:
    return PinGate("4711", "secret", clock)


@pytest.fixture
def guarded(rig: Any) -> Flask:
    return create_app(rig, pin="4711", secret="only for tests")


def test_the_right_pin_and_no_other(gate: PinGate) -> None:
    assert gate.admits("a", "4711")
    for wrong in ("", "471", "47111", "4712", "\uff14\uff17\uff11\uff11", "\ud800"):
        assert not gate.admits(f"address of {wrong!r}", wrong)


def test_the_wait_doubles_after_three_wrong_tries_up_to_a_minute(
    gate: PinGate, clock: Clock
) -> None:
    waits = []
    for _ in range(11):
        assert not gate.admits("a", "0000")
        waits.append(gate.wait_s("a"))
        clock.now_s += waits[-1]
    assert waits == [0, 0, 1, 2, 4, 8, 16, 32, 60, 60, 60]


def test_a_try_made_too_early_is_not_looked_at(gate: PinGate, clock: Clock) -> None:
    for _ in range(3):
        gate.admits("a", "0000")
    clock.now_s += 0.999
    assert not gate.admits("a", "4711")
    clock.now_s += 0.001
    assert gate.admits("a", "4711")


def test_one_address_does_not_lock_out_another(gate: PinGate) -> None:
    for _ in range(20):
        gate.admits("child", "0000")
    assert gate.wait_s("child") > 0
    assert gate.admits("teacher", "4711")


def test_the_right_pin_clears_the_count_and_time_forgets_it(gate: PinGate, clock: Clock) -> None:
    for _ in range(2):
        gate.admits("a", "0000")
    gate.admits("a", "4711")
    gate.admits("a", "0000")
    assert gate.wait_s("a") == 0
    for _ in range(8):
        clock.now_s += gate.wait_s("a")
        gate.admits("a", "0000")
    clock.now_s += 600
    gate.admits("a", "0000")
    assert gate.wait_s("a") == 0


def test_many_addresses_take_no_endless_memory(gate: PinGate) -> None:
    for n in range(700):
        gate.admits(f"address {n}", "0000")
    assert len(gate._wrong) == 500


def test_without_the_pin_there_is_no_desk(guarded: Flask, rig: Any) -> None:
    client = guarded.test_client()
    for path in ("/desk", "/desk/recording/2.rec"):
        answer = client.get(path)
        assert (answer.status_code, answer.location) == (303, "/desk/pin")
    refused = client.post("/desk/sunk", json={})
    assert refused.status_code == 401
    assert set(refused.json or {}) == {"what", "try_this"}
    assert rig.calls == []
    assert client.get("/").status_code == 200


def test_the_pin_opens_the_desk_by_a_strict_cookie(guarded: Flask, rig: Any) -> None:
    client = guarded.test_client()
    assert client.get("/desk/pin").status_code == 200
    wrong = client.post("/desk/pin", json={"pin": "0000"})
    assert wrong.status_code == 403 and "Set-Cookie" not in wrong.headers
    right = client.post("/desk/pin", json={"pin": "4711"})
    assert right.status_code == 200
    flags = {flag.strip() for flag in right.headers["Set-Cookie"].split(";")}
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= flags
    assert client.get("/desk").status_code == 200
    assert client.get("/desk/pin").location == "/desk"
    assert client.post("/desk/sunk", json={}).status_code == 200
    assert rig.calls == [("sunk",)]


def test_wrong_tries_are_told_how_long_to_wait(guarded: Flask) -> None:
    client = guarded.test_client()
    for _ in range(3):
        assert client.post("/desk/pin", json={"pin": "1"}).status_code == 403
    answer = client.post("/desk/pin", json={"pin": "4711"})
    assert (answer.status_code, answer.headers["Retry-After"]) == (429, "1")
    assert "1 s" in (answer.json or {})["what"]
    assert client.get("/desk").status_code == 303


@pytest.mark.parametrize("pin", [4711, None, ["4711"], {"4711": 1}])
def test_only_text_is_a_pin(guarded: Flask, pin: Any) -> None:
    assert guarded.test_client().post("/desk/pin", json={"pin": pin}).status_code == 403


def test_a_cookie_from_yesterdays_pin_is_worthless(guarded: Flask, rig: Any) -> None:
    client = guarded.test_client()
    client.post("/desk/pin", json={"pin": "4711"})
    cookie = client.get_cookie("tubrig_desk")
    assert cookie is not None
    for pin, status in (("4711", 200), ("1234", 303)):
        later = create_app(rig, pin=pin, secret="only for tests").test_client()
        later.set_cookie("tubrig_desk", cookie.value)
        assert later.get("/desk").status_code == status
