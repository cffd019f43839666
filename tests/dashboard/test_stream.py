"""The live stream as a browser reads it, and its seats."""

import json
from typing import Any

import pytest
from flask import Flask

from dashboard import create_app


def dispatched(stream: str) -> list[tuple[str, str, str]]:
    """Interpret an event stream: (last event id, type, data) of each event a page would get.

    Source: HTML Living Standard, 9.2.6 "Interpreting an event stream", rules for event,
    data, id, comments and blank lines.
    """
    events: list[tuple[str, str, str]] = []
    last_id = kind = ""
    data: list[str] = []
    for line in stream.split("\n"):
        field, _, value = line.partition(":")
        value = value.removeprefix(" ")
        if line == "":
            if data:
                events.append((last_id, kind or "message", "\n".join(data)))
            kind, data = "", []
        elif field == "event":
            kind = value
        elif field == "data":
            data.append(value)
        elif field == "id":
            last_id = value
    return events


def read(app: Flask, rig: Any, **request: Any) -> list[tuple[str, str, dict[str, Any]]]:
    """The events of a stream that ends, the feed being closed."""
    rig.live.close()
    answer = app.test_client().get("/live", **request)
    assert answer.status_code == 200
    return [(id_, kind, json.loads(data)) for id_, kind, data in dispatched(answer.text)]


def test_a_new_page_gets_the_newest_of_each_topic(app: Flask, rig: Any) -> None:
    events = read(app, rig)
    assert [kind for _, kind, _ in events] == ["rig", "source", "trial", "now", "class"]
    assert [data for _, _, data in events] == [m.data for m in rig.live.latest()]
    assert events[-1][0] == f"{rig.live.run}-5"


def test_any_text_survives_the_framing(app: Flask, rig: Any) -> None:
    text = 'two\nlines\r\n\r\ndata: not ours\u2028 "Möwen" \U0001f6f6'
    rig.live.publish("source", {"ok": True, "text": text})
    assert read(app, rig)[-1][2]["text"] == text


def test_headers_and_retry(app: Flask, rig: Any) -> None:
    rig.live.close()
    answer = app.test_client().get("/live")
    assert answer.mimetype == "text/event-stream"
    assert answer.headers["Cache-Control"] == "no-store"
    assert answer.text.startswith("retry: 1000\n\n")


@pytest.mark.parametrize("how", ["header", "address"])
def test_a_page_that_comes_back_gets_what_it_missed(app: Flask, rig: Any, how: str) -> None:
    last = f"{rig.live.run}-{rig.live.latest()[-1].id}"
    rig.begin("Herons")
    rig.put_on(10)
    ask = (
        {"headers": {"Last-Event-ID": last}}
        if how == "header"
        else {"query_string": {"after": last}}
    )
    kinds = [kind for _, kind, _ in read(app, rig, **ask)]
    assert kinds == ["trial", "class", "now", "now", "now", "now", "now", "trial"]


@pytest.mark.parametrize(
    "last",
    [
        "",
        "7",
        "x",
        "0badcafe-3",
        "{run}-",
        "{run}-x",
        "{run}--1",
        "{run}-99999999999999999999999",
        "{run}-\u0663",
    ],
)
def test_an_id_that_means_nothing_here_starts_over(app: Flask, rig: Any, last: str) -> None:
    events = read(app, rig, query_string={"after": last.format(run=rig.live.run)})
    assert [kind for _, kind, _ in events] == ["rig", "source", "trial", "now", "class"]


def test_the_line_beats_when_there_is_no_news(app: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("dashboard.stream.WAKE_S", 0.001)
    with app.test_client().get("/live", buffered=False) as answer:
        chunks = answer.iter_encoded()
        text = "".join(next(chunks).decode() for _ in range(7))
    assert dispatched(text)[-1][1:] == ("beat", "{}")


def test_no_seat_left_is_503_until_one_leaves(app: Flask, rig: Any) -> None:
    app.config["VIEWERS"] = 1
    client = app.test_client()
    first = client.get("/live", buffered=False)
    refused = client.get("/live")
    assert (refused.status_code, refused.headers["Retry-After"]) == (503, "15")
    first.close()
    rig.live.close()
    assert client.get("/live").status_code == 200


def test_asking_for_the_head_only_takes_no_seat_for_good(app: Flask) -> None:
    assert app.test_client().head("/live").status_code == 200
    assert app.extensions["seats"].taken == 0


def test_a_stopping_server_ends_the_stream(app: Flask) -> None:
    app.extensions["stopping"].set()
    answer = app.test_client().get("/live")  # would never end by itself: the feed is open
    assert len(dispatched(answer.text)) == 1


def test_latest_for_pages_that_poll(app: Flask, rig: Any) -> None:
    answer = app.test_client().get("/live/latest")
    assert answer.headers["Cache-Control"] == "no-store"
    assert answer.json == {
        "run": rig.live.run,
        "messages": [{"id": m.id, "topic": m.topic, "data": m.data} for m in rig.live.latest()],
    }


def test_a_second_life_of_the_server_is_not_taken_for_the_first(app: Flask, rig: Any) -> None:
    """Ids start again at 1, so an old page's id may well exist in the new run."""
    old = f"{rig.live.run}-5"
    again = type(rig)()
    for _ in range(9):
        again.say_now("idle")
    events = read(create_app(again, pin=None, secret="x"), again, headers={"Last-Event-ID": old})
    assert {kind for _, kind, _ in events} == {"rig", "source", "trial", "now", "class"}
