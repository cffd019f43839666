"""Several tubs on one Board, a tile each. Every rig is a program of its own, watched from here."""

import json
import urllib.request
from collections.abc import Sequence
from threading import Event, Thread
from time import monotonic
from typing import Any, Final

from flask import Flask, render_template

from dashboard.words import LANGUAGE, WORDS

EVERY_S: Final = 0.5
STALE_S: Final = 4.0
PATIENCE_S: Final = 2.0

Topics = dict[str, dict[str, Any]]


class Watched:
    """One tub's own program, asked again and again what it shows.

    Args:
        address: of its Board, ending in a slash; None while it has not come up.
    """

    def __init__(self, name: str, address: str | None = None) -> None:
        self.name, self.address = name, address
        self._topics: Topics = {}
        self._heard_s = -STALE_S

    def look(self) -> None:
        """Ask once; a program that does not answer keeps its last numbers for a moment."""
        if self.address is None:
            return
        try:
            with urllib.request.urlopen(f"{self.address}live/latest", timeout=PATIENCE_S) as answer:
                told = json.load(answer)
        except (OSError, ValueError):
            return
        self._topics = {message["topic"]: message["data"] for message in told["messages"]}
        self._heard_s = monotonic()

    def follow(self, stopping: Event) -> None:
        """Look until `stopping` is set."""
        while not stopping.wait(EVERY_S):
            self.look()

    def tile(self) -> dict[str, Any]:
        """What its tile shows."""
        in_touch = monotonic() - self._heard_s < STALE_S
        return {
            "name": self.name,
            "address": self.address,
            "in_touch": in_touch,
            **(tile_of(self._topics) if in_touch else {}),
        }


def tile_of(topics: Topics) -> dict[str, Any]:
    """Return the few things that can be read from the back row, out of a rig's topics."""
    trial, now, rig = (topics.get(name, {}) for name in ("trial", "now", "rig"))
    result, item = trial.get("result"), rig.get("item")
    shown = result or now
    forecast = now.get("forecast") or {}
    items = shown.get("held_items") if result else shown.get("items")
    return {
        "boat": trial.get("boat"),
        "next_boat": trial.get("next_boat"),
        "outcome": result["outcome"] if result else None,
        "state": now.get("state_text") or "",
        "items": items,
        "item": item["name"] if item else None,
        "load_g": shown.get("held_g") if result else shown.get("load_g"),
        "freeboard_mm": None if result else now.get("freeboard_mm"),
        "room_items": forecast.get("room_items") if forecast.get("fits") and not result else None,
        "trouble": not topics.get("source", {}).get("ok", True),
    }


def create_tubs_app(tubs: Sequence[Watched]) -> Flask:
    """Build the page around the tubs."""
    app = Flask(__name__)
    app.extensions.update(stopping=Event())
    app.context_processor(lambda: {"words": WORDS, "language": LANGUAGE})

    @app.get("/")
    def board() -> str:
        return render_template("tubs.html", tubs=tubs)

    @app.get("/latest")
    def latest() -> tuple[list[dict[str, Any]], dict[str, str]]:
        return [tub.tile() for tub in tubs], {"Cache-Control": "no-store"}

    @app.after_request
    def closed(response: Any) -> Any:
        response.headers["Content-Security-Policy"] = (
            "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:;"
            " connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        )
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["Referrer-Policy"] = "no-referrer"
        return response

    return app


def watch_all(tubs: Sequence[Watched], stopping: Event) -> list[Thread]:
    """Begin to follow each tub in a thread of its own."""
    threads = [
        Thread(target=tub.follow, args=(stopping,), name=f"watch {tub.name}", daemon=True)
        for tub in tubs
    ]
    for thread in threads:
        thread.start()
    return threads
