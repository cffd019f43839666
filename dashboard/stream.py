"""The live stream: server-sent events with resume, and a plain address for polling."""

from collections.abc import Iterator
from threading import Event, Lock

from flask import Blueprint, Response, current_app, request

from rig.service.live import LiveFeed, Message

bp = Blueprint("stream", __name__)

RETRY_MS = 1000
WAKE_S = 1.0
# Sent with no id when there is no news: tells a page that the line still holds, and finds
# pages that have gone.
BEAT = "event: beat\ndata: {}\n\n"


class Seats:
    """Counts the open streams; each holds one thread of the server for as long as it is open."""

    def __init__(self) -> None:
        self._lock = Lock()
        self.taken = 0

    def take(self, limit: int) -> bool:
        """Take a seat if there is one."""
        with self._lock:
            if self.taken >= limit:
                return False
            self.taken += 1
            return True

    def leave(self) -> None:
        """Give a seat back."""
        with self._lock:
            self.taken -= 1


def event_text(run: str, message: Message) -> str:
    """One message as a server-sent event; its id carries the feed's run."""
    return f"id: {run}-{message.id}\nevent: {message.topic}\ndata: {message.text}\n\n"


def after_id(run: str, last_event_id: str) -> int | None:
    """The id to go on from, or None if it is no id or of another run."""
    its_run, dash, number = last_event_id.partition("-")
    if its_run != run or not dash or not (number.isascii() and number.isdigit()):
        return None
    return int(number[:18])


def events(live: LiveFeed, last_event_id: str, stopping: Event) -> Iterator[str]:
    """Everything after an event, then what comes, until the page leaves or the server stops."""
    yield f"retry: {RETRY_MS}\n\n"
    for message in live.follow(after_id(live.run, last_event_id), wake_s=WAKE_S):
        yield BEAT if message is None else event_text(live.run, message)
        if stopping.is_set():
            return


@bp.get("/live")
def live() -> Response:
    """The stream. 503 when every seat is taken: the page then polls."""
    if request.method == "HEAD":
        return Response(mimetype="text/event-stream")  # no body, so no seat
    seats: Seats = current_app.extensions["seats"]
    if not seats.take(current_app.config["VIEWERS"]):
        return Response(status=503, headers={"Retry-After": "15"})
    # A page that opens a new stream cannot set the header, so it may ask in the address.
    last_event_id = request.headers.get("Last-Event-ID") or request.args.get("after", "")
    rig, stopping = current_app.extensions["rig"], current_app.extensions["stopping"]
    response = Response(
        events(rig.live, last_event_id, stopping),
        mimetype="text/event-stream",
        headers={"Cache-Control": "no-store"},
    )
    response.call_on_close(seats.leave)
    return response


@bp.get("/live/latest")
def latest() -> tuple[dict[str, object], dict[str, str]]:
    """The newest of each topic, for pages that got no seat."""
    feed: LiveFeed = current_app.extensions["rig"].live
    messages = [{"id": m.id, "topic": m.topic, "data": m.data} for m in feed.latest()]
    return {"run": feed.run, "messages": messages}, {"Cache-Control": "no-store"}
