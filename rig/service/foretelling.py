"""What physics says of each boat, worked out once, beside the running rig."""

import logging
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from threading import Lock
from typing import Any

from rig.errors import RigError
from rig.setup import Boat, Item
from rig.trial.foretold import Foretold, foretell

log = logging.getLogger(__name__)


class Foreteller:
    """Works in a thread of its own: a second a boat must not keep the rig waiting.

    `done` is called there after each boat.
    """

    def __init__(self, item: Item | None, done: Callable[[], None]) -> None:
        self._item, self._done = item, done
        self._found: dict[str, Foretold | str] = {}  # or why there is nothing to say
        self._lock = Lock()
        self._worker = ThreadPoolExecutor(1, "foretelling")
        self._closed = False

    def ask(self, boat: Boat) -> None:
        """Have a boat worked out, some time soon."""
        with self._lock:
            if not self._closed:
                self._worker.submit(self._work, boat)

    def of(self, label: str) -> Foretold | None:
        """What was found of a boat; None until then, and where physics had nothing to say."""
        found = self._found.get(label)
        return found if isinstance(found, Foretold) else None

    def told(self) -> Mapping[str, Any]:
        """Topic `foretold`: every boat that has been worked out."""
        with self._lock:
            return {label: _told(found) for label, found in self._found.items()}

    def close(self) -> None:
        """Begin nothing new."""
        with self._lock:
            self._closed = True
        self._worker.shutdown(wait=False, cancel_futures=True)

    def _work(self, boat: Boat) -> None:
        try:
            found: Foretold | str = foretell(boat, self._item)
        except RigError as err:
            found = str(err)
        except Exception:
            log.exception("foretelling a boat failed")  # the trial goes on without
            return
        with self._lock:
            self._found[boat.label] = found
        if not self._closed:
            self._done()


def _told(found: Foretold | str) -> dict[str, Any]:
    if isinstance(found, str):
        return {"trouble": found}
    doubt = found.bill
    return {
        "words": found.outlook.words,
        "low_g": doubt.low_g,
        "high_g": doubt.high_g,
        "low_items": found.likely_items[0] if found.likely_items else None,
        "high_items": found.likely_items[1] if found.likely_items else None,
        "lines": [
            {"words": line.words, "sd_g": line.sd_g, "share": line.share}
            for line in doubt.lines
            if line.sd_g > 0
        ],
        "bears": [
            {"load_g": at.load_g, "limit_mm": at.limit.limit_mm, "heel_deg": at.limit.heel_deg}
            for at in found.bears
        ],
    }
