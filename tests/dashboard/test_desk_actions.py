"""The Desk's actions: JSON in, one call to the rig, refusals in words."""

import json
from typing import Any

import pytest
from flask import Flask

from rig.errors import OutOfPlace

BOAT = {"label": "Coots", "hull": "box", "length_mm": 150, "mass_g": 20.5}
ACTIONS = [
    ("/desk/start", {"label": " Herons "}, ("start", "Herons")),
    ("/desk/stop", {}, ("stop",)),
    ("/desk/sunk", {}, ("sunk",)),
    ("/desk/void", {}, ("void",)),
    ("/desk/note", {"text": "wind"}, ("note", "wind")),
    ("/desk/count", {"items": -1}, ("count", -1)),
    ("/desk/count", {"items": "5"}, ("count", 0)),
    ("/desk/ruler", {"mm": " 12,5"}, ("ruler", 12.5)),
    ("/desk/ruler", {"mm": "wall"}, ("ruler", -1.0)),
    ("/desk/correcting", {"number": 2}, ("correcting", 2)),
    ("/desk/correct", {"number": 2, "text": "merge,1"}, ("correct", 2, "merge,1")),
    ("/desk/next", {}, ("next_boat",)),
    ("/desk/boat", BOAT, ("add_boat", BOAT)),
    ("/desk/safety", {}, ("safety_seen",)),
]
EACH_ACTION = pytest.mark.parametrize(("path", "body", "call"), ACTIONS, ids=lambda v: str(v)[:12])


@EACH_ACTION
def test_an_action_is_one_call(app: Flask, rig: Any, path: str, body: Any, call: Any) -> None:
    assert app.test_client().post(path, json=body).status_code == 200
    assert rig.calls == [call]


def test_next_answers_the_label(app: Flask) -> None:
    assert app.test_client().post("/desk/next", json={}).json == {"label": "Pond skaters"}


@EACH_ACTION
def test_a_refusal_says_what_and_what_to_do(
    app: Flask, rig: Any, path: str, body: Any, call: Any
) -> None:
    rig.refuse = OutOfPlace("No boat is in the tub.", "Choose one and press Start.")
    answer = app.test_client().post(path, json=body)
    assert answer.status_code == 409
    assert answer.json == {
        "what": "No boat is in the tub.",
        "try_this": "Choose one and press Start.",
    }


@EACH_ACTION
@pytest.mark.parametrize(
    "content_type",
    ["application/x-www-form-urlencoded", "multipart/form-data", "text/plain", None],
)
def test_what_a_form_elsewhere_could_send_is_refused(
    app: Flask, rig: Any, path: str, body: Any, call: Any, content_type: str | None
) -> None:
    # These three are what an HTML form can send without asking (Fetch Standard,
    # "CORS-safelisted request-header", Content-Type).
    answer = app.test_client().post(path, data=b'{"label": "x"}', content_type=content_type)
    assert answer.status_code == 415
    assert rig.calls == []


@EACH_ACTION
def test_actions_cannot_be_had_by_a_link(
    app: Flask, rig: Any, path: str, body: Any, call: Any
) -> None:
    assert app.test_client().get(path).status_code == 405
    assert rig.calls == []


@pytest.mark.parametrize("body", [b"{", b"", b"\xff"])
def test_a_body_that_is_no_json_is_told_so(app: Flask, rig: Any, body: bytes) -> None:
    answer = app.test_client().post("/desk/start", data=body, content_type="application/json")
    assert answer.status_code == 400
    assert set(answer.json or {}) == {"what", "try_this"}
    assert rig.calls == []


@pytest.mark.parametrize("body", [[], "Herons", 3, None, {"label": 3}, {"label": None}])
def test_a_label_that_is_no_text_is_an_empty_one(app: Flask, rig: Any, body: Any) -> None:
    data = json.dumps(body).encode()
    app.test_client().post("/desk/start", data=data, content_type="application/json")
    assert rig.calls == [("start", "")]  # the rig says which boats there are


@pytest.mark.parametrize("number", ["2", None, True, 2.0, [2]])
def test_a_trial_number_that_is_no_whole_number_is_none_there_is(
    app: Flask, rig: Any, number: Any
) -> None:
    app.test_client().post("/desk/correct", json={"number": number, "text": "void"})
    assert rig.calls == [("correct", -1, "void")]


def test_a_huge_body_is_refused(app: Flask, rig: Any) -> None:
    answer = app.test_client().post("/desk/note", json={"text": "x" * 20_000})
    assert answer.status_code == 413
    assert rig.calls == []


def test_a_recording_is_a_file(app: Flask, rig: Any) -> None:
    answer = app.test_client().get("/desk/recording/2.rec")
    assert answer.data == b"$PTRGQ,I*1E\r\n"
    assert answer.headers["Content-Disposition"] == 'attachment; filename="trial-2.rec"'
    assert app.test_client().get("/desk/recording/7.rec").status_code == 409


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("localhost", 200),
        ("localhost:8765", 200),
        ("127.0.0.1:8765", 200),
        ("127.0.0.2", 200),
        ("[::1]:8765", 200),
        ("rig.example:8765", 403),
        ("192.168.1.20", 403),
        ("localhost.rig.example", 403),
        ("127.0.0.1.rig.example", 403),
    ],
)
def test_without_a_pin_the_desk_answers_to_this_machine_only(
    app: Flask, rig: Any, host: str, status: int
) -> None:
    client = app.test_client()
    assert client.get("/desk", headers={"Host": host}).status_code == status
    assert client.post("/desk/stop", json={}, headers={"Host": host}).status_code == status
    assert len(rig.calls) == (status == 200)
    assert client.get("/", headers={"Host": host}).status_code == 200
