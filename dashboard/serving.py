"""The web server: waitress, with a thread for every open page and sixteen to spare."""

import logging
import socket
from threading import Event, Thread
from typing import Any

from flask import Flask
from waitress import wasyncore
from waitress.server import create_server

from dashboard.assets import plotly_gzipped

# It warns of a queue whenever pages come back before all threads have started. A lasting queue
# cannot form: there are more threads than streams.
logging.getLogger("waitress.queue").setLevel(logging.ERROR)

SPARE_THREADS = 16  # for everything that is not a live stream
KB = 1024


class DashboardServer:
    """A bound server: `run()` in one thread, `close()` from any other."""

    def __init__(self, app: Flask, host: str, port: int, viewers: int) -> None:
        app.config["VIEWERS"] = viewers
        self._stopping: Event = app.extensions["stopping"]
        self._stopping.clear()
        self._map: dict[int, Any] = {}
        listener = _listen(host, port)
        self.effective_port: int = listener.getsockname()[1]
        self._server: Any = create_server(  # one socket in, one TcpWSGIServer out
            app,
            map=self._map,
            sockets=[listener],
            threads=viewers + SPARE_THREADS,
            # Beyond the streams every page opens a few connections for a moment.
            connection_limit=4 * viewers + 100,
            # A page that stops reading holds up its own thread, not the memory.
            outbuf_high_watermark=64 * KB,
            # Above the one big answer (plotly.js), so that it never goes through a file.
            outbuf_overflow=2 * KB * KB,
            inbuf_overflow=64 * KB,
            max_request_body_size=64 * KB,
            max_request_header_size=32 * KB,
            channel_timeout=60,
            ident="tubrig",
        )

    def run(self) -> None:
        """Serve until `close()`, or until an exception such as KeyboardInterrupt comes through."""
        # Ahead of the first page: a small board needs some seconds for it.
        Thread(target=plotly_gzipped, name="compress plotly.js", daemon=True).start()
        try:
            while not self._stopping.is_set():
                wasyncore.loop(timeout=1.0, map=self._map, count=1)
        finally:
            self._stopping.set()
            self._server.task_dispatcher.shutdown()
            wasyncore.close_all(self._map)

    def close(self) -> None:
        """Make `run()` end; open streams end within a second. May be called twice."""
        if not self._stopping.is_set():
            self._stopping.set()
            self._server.pull_trigger()


def _listen(host: str, port: int) -> socket.socket:
    """One bound socket, the first address a name such as localhost stands for."""
    family, _, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(address)
    except OSError:
        listener.close()
        raise
    return listener


def make_server(app: Flask, host: str, port: int, viewers: int = 64) -> DashboardServer:
    """Bind a server; port 0 takes a free one, told by `effective_port`. Raises OSError."""
    return DashboardServer(app, host, port, viewers)


def serve(app: Flask, host: str, port: int, viewers: int = 64) -> None:
    """Bind and serve until stopped. Raises OSError when the port is taken."""
    make_server(app, host, port, viewers).run()
