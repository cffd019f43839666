"""The live feed: what the rig says right now, for any number of pages at once.

Every message is the whole newest state of its topic. A page that missed some is right
again after the next one, so a slow page may be skipped ahead and nothing need be kept for it.
"""

import json
from collections import deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from secrets import token_hex
from threading import Condition
from typing import Any

RING = 1200  # four minutes of a trial at five messages a second


@dataclass(frozen=True, slots=True)
class Message:
    """One state of one topic, encoded once however many pages follow."""

    id: int
    topic: str
    text: str  # JSON, one line

    @property
    def data(self) -> dict[str, Any]:
        """A fresh copy of what was published."""
        decoded: dict[str, Any] = json.loads(self.text)
        return decoded


class LiveFeed:
    """Publish from any thread, follow from any thread.

    `run` names this life of the feed: ids start again at 1 with the next one, and
    an id from another run means nothing here.
    """

    def __init__(self, ring: int = RING) -> None:
        self.run = token_hex(4)
        self._news = Condition()
        self._last_id = 0
        self._newest: dict[str, Message] = {}
        self._recent: deque[Message] = deque(maxlen=ring)
        self._closed = False

    def publish(self, topic: str, data: Mapping[str, Any]) -> int:
        """Keep and hand on the newest state of a topic; return its id, one above the last.

        Raises ValueError for what JSON cannot say (nan included): no id is used up then.
        """
        text = json.dumps(data, allow_nan=False, separators=(",", ":"))
        with self._news:
            self._last_id += 1
            message = Message(self._last_id, topic, text)
            self._newest[topic] = message
            self._recent.append(message)
            self._news.notify_all()
            return message.id

    def latest(self) -> list[Message]:
        """The newest message of each topic, oldest first."""
        with self._news:
            return self._latest()

    def follow(self, after_id: int | None, wake_s: float = 1.0) -> Iterator[Message | None]:
        """Yield what came after an id, then what comes, until `close()`.

        From an id this feed can no longer continue (None, fallen out of the ring, or not
        given out yet) it yields the newest of each topic instead. None is yielded whenever
        `wake_s` passed without news, so that the follower can look up and stop.
        """
        seen_id = -1 if after_id is None else after_id
        while True:
            with self._news:
                news = self._after(seen_id)
                if not news:
                    if self._closed:
                        return
                    self._news.wait(wake_s)
                    news = self._after(seen_id)
                seen_id = self._last_id
                closed = self._closed
            # Outside the lock: a page that reads slowly must hold up nobody else.
            if news:
                yield from news
            elif not closed:
                yield None

    def close(self) -> None:
        """End every follower once it has had what was published. May be called twice."""
        with self._news:
            self._closed = True
            self._news.notify_all()

    def _latest(self) -> list[Message]:
        return sorted(self._newest.values(), key=lambda message: message.id)

    def _after(self, seen_id: int) -> list[Message]:
        first_id = self._last_id - len(self._recent)  # the id just before the ring
        if not first_id <= seen_id <= self._last_id:
            return self._latest()
        return list(islice(self._recent, seen_id - first_id, None))
