"""The real server: streams take seats, other pages always get an answer, a stop is a stop."""

import socket
from collections.abc import Callable
from contextlib import ExitStack
from http.client import HTTPConnection, HTTPResponse
from typing import Any

import pytest
from flask import Flask

from dashboard import make_server


def ask(port: int, path: str, stack: ExitStack) -> HTTPResponse:
    connection = HTTPConnection("127.0.0.1", port, timeout=20)
    stack.callback(connection.close)
    connection.request("GET", path)
    answer = connection.getresponse()
    stack.callback(answer.close)
    return answer


def read_until(answer: HTTPResponse, mark: bytes) -> bytes:
    text = b""
    while mark not in text:
        byte = answer.read(1)
        assert byte, "the stream ended"
        text += byte
    return text


def test_full_seats_leave_other_pages_answered(app: Flask, run_server: Callable[..., Any]) -> None:
    with run_server(app, viewers=2) as server, ExitStack() as stack:
        port = server.effective_port
        streams = [ask(port, "/live", stack) for _ in range(2)]
        for stream in streams:
            read_until(stream, b"event: class")
        assert ask(port, "/live", stack).status == 503
        assert ask(port, "/live/latest", stack).status == 200
        assert ask(port, "/", stack).status == 200


def test_news_reaches_an_open_stream(app: Flask, rig: Any, run_server: Callable[..., Any]) -> None:
    with run_server(app) as server, ExitStack() as stack:
        stream = ask(server.effective_port, "/live", stack)
        read_until(stream, b"event: class")
        rig.live.publish("source", {"ok": False, "text": "unplugged"})
        assert b"event: source" in read_until(stream, b"unplugged")


def test_a_stop_ends_open_streams_though_the_feed_goes_on(
    app: Flask, run_server: Callable[..., Any]
) -> None:
    with ExitStack() as stack:
        with run_server(app) as server:  # asserts that run() came to its end
            stream = ask(server.effective_port, "/live", stack)
            read_until(stream, b"event: class")
        stream.read()  # comes to an end too
        server.close()


def test_a_port_in_use_is_an_oserror(app: Flask) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(OSError, match="in use"):
            make_server(app, "127.0.0.1", taken.getsockname()[1])
