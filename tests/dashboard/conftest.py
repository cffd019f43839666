"""A rig that plays a canned trial, a server around it, and pages to look at it."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from threading import RLock, Thread
from typing import Any

import pytest
from flask import Flask
from playwright.sync_api import Browser, BrowserContext, Page

from dashboard import DashboardServer, create_app, make_server
from rig.errors import OutOfPlace, RigError
from rig.physics.flotation import capacity_g, float_at, whole_items
from rig.physics.hulls import Tray
from rig.service.bench_desk import BenchDesk
from rig.service.live import LiveFeed
from rig.service.workbench import Workbench
from rig.setup import RigSetup

SETUP = RigSetup.model_validate(
    {
        "rig": {"name": "by hand", "layout": "feed-tray"},
        "load": {"zero_count": 84_213, "count_per_g": 430.0},
        "item": {"name": "washer", "mass_g": 5.2},
    }
)
ITEM_G = 5.2
HELD_BACK_MM = 3.9  # about what a clean dry rim holds back; any few millimetres do here
DENSITY_G_ML = 0.9982  # water at 20 deg C; any value near 1 does for a canned trial


class FakeRig:
    """Says what a rig would say, when told to. Keeps the calls made to it."""

    def __init__(self) -> None:
        self.live = LiveFeed()
        self.workbench = Workbench(SETUP, None)  # the real one: a rig's own work, without a rig
        self.bench = BenchDesk(self.workbench, RLock(), lambda: (None, 0))
        self.calls: list[tuple[Any, ...]] = []
        self.refuse: RigError | None = None
        self.hull = Tray(180, 90, 160, 70, 45)
        self.boat_g = 31.0
        self.boats = [
            self._boat("Otters", 60, True, 66),
            self._boat("Herons", 48, False, None),
            self._boat("Pond skaters", 75, False, None),
        ]
        self.results = [self._result(2, "Otters", "swamped", 66)]
        self.safety_due = False
        self.fits = True  # whether the boat floats like the one that was measured
        self.can = ["start", "note", "next"]
        self.before_class: list[str] = []
        self.publish_rig()
        self.live.publish("source", {"ok": True, "text": "Load cell and both gauges."})
        self.live.publish("trial", {})
        self.say_now("idle", state_text=None)
        self.publish_class()

    # What the pages may ask (RigPort)
    def start(self, label: str) -> None:
        self._called("start", label)
        self.begin(label)

    def stop(self) -> None:
        self._called("stop")

    def sunk(self) -> None:
        self._called("sunk")

    def void(self) -> None:
        self._called("void")

    def note(self, text: str) -> None:
        self._called("note", text)

    def count(self, items: int) -> None:
        self._called("count", items)

    def ruler(self, freeboard_mm: float) -> None:
        self._called("ruler", freeboard_mm)

    def correcting(self, number: int) -> Mapping[str, Any]:
        self._called("correcting", number)
        return {"number": number}

    def correct(self, number: int, text: str) -> Mapping[str, Any]:
        self._called("correct", number, text)
        return {"number": number}

    def next_boat(self) -> str | None:
        self._called("next_boat")
        return "Pond skaters"

    def add_boat(self, boat: Mapping[str, Any]) -> None:
        self._called("add_boat", dict(boat))
        self.boats.append(self._boat(boat["label"], boat.get("guess_items"), False, None))
        self.publish_class()

    def safety_seen(self) -> None:
        self._called("safety_seen")
        self.safety_due = False
        self.publish_class()

    def recordings(self, number: int) -> bytes:
        self._called("recordings", number)
        if number != 2:
            raise OutOfPlace(f"There is no trial {number}.", "Choose one from the list.")
        return b"$PTRGQ,I*1E\r\n"

    # What a trial looks like from outside
    def publish_rig(self, demo: bool = True) -> None:
        self.live.publish(
            "rig",
            {
                "name": "Tub by the window",
                "layout": "feed-tray",
                "hold_s": 5.0,
                "item": {"name": "washer", "mass_g": ITEM_G},
                "demo": demo,
                "address": "http://127.0.0.1:8080/",
            },
        )

    def publish_class(self, resumed: str | None = None) -> None:
        self.live.publish(
            "class",
            {
                "boats": self.boats,
                "results": self.results,
                "safety_due": self.safety_due,
                "can": self.can,
                "resumed": resumed,
                "before_class": self.before_class,
            },
        )

    def begin(self, label: str = "Herons") -> None:
        self.additions: list[dict[str, Any]] = []
        self.curve: list[dict[str, Any]] = []
        self.label, self.result = label, None
        self.can = ["stop", "sunk", "void", "note"]
        self.publish_trial()
        self.publish_class()
        self.say_now("taring", items=0, at_s=0.0)

    def put_on(self, items: int, *, held: bool = True) -> None:
        """Put on items, then hold: four live messages and a plateau."""
        before = self.curve[-1]["items"] if self.curve else 0
        at_s = 8.0 * (len(self.curve) + 1)
        self.additions.append({"at_s": at_s, "mass_g": items * ITEM_G, "items": items})
        for step in range(1, 4):
            between = before + round(items * step / 3)
            self.say_now("adding", items=between, at_s=at_s + step * 0.2)
        self.curve.append(self._plateau(before + items, at_s, held))
        self.say_now("holding", items=before + items, at_s=at_s + 1, hold_left_s=2.6)
        self.publish_trial()

    def go_down(self) -> None:
        self.say_now("sinking", items=None, at_s=99.0)
        self.end("swamped", "It was full: the water came over the rim.")

    def end(self, outcome: str, reason: str) -> None:
        """The result, the last plateau held."""
        held = self.curve[-1]
        self.result = {
            "outcome": outcome,
            "reason": reason,
            "held_g": held["load_g"],
            "held_g_sd": held["load_g_sd"],
            "held_items": held["items"],
            "sunk_at_s": 98.4 if outcome not in ("afloat", "void") else None,
            "predicted_capacity_g": self._capacity_g(),
            "predicted_capacity_items": whole_items(self._capacity_g(), ITEM_G),
            "warnings": [],
        }
        self.results.insert(0, self._result(3, self.label, outcome, held["items"]))
        self.can = ["start", "note", "next"]
        self.publish_trial()
        floats = outcome in ("afloat", "void")
        self.say_now("ended", items=held["items"] if floats else None, at_s=100.0)
        self.publish_class()

    def say_now(
        self,
        phase: str,
        *,
        items: int | None = None,
        at_s: float | None = 0.0,
        hold_left_s: float | None = None,
        state_text: str | None = "",
    ) -> None:
        words = {
            "taring": "Hands off! The rig is getting ready",
            "adding": "Put on the next washers",
            "holding": f"Keep still: {3 if hold_left_s else 0} s to go",
            "sinking": "It is going down!",
        }
        afloat = items is not None
        point = self._float(items) if items is not None else None
        self.live.publish(
            "now",
            {
                "trial_number": 3,
                "at_s": at_s,
                "phase": phase,
                "state_text": words.get(phase) if state_text == "" else state_text,
                "load_g": items * ITEM_G + 0.4 if items is not None else None,
                "load_g_sd": 0.3 if afloat else None,
                "items": items,
                "freeboard_mm": point.freeboard_mm - 0.6 if point else None,
                "freeboard_mm_sd": 0.4 if afloat else None,
                "draft_mm": point.draft_mm + 0.6 if point else None,
                "hold_left_s": hold_left_s,
                "water_c": 20.1,
                "forecast": self._forecast(items) if phase in ("adding", "holding") else None,
            },
        )

    def say_again(self, **changed: Any) -> None:
        """The newest `now` with something else in it."""
        newest = next(m.data for m in self.live.latest() if m.topic == "now")
        self.live.publish("now", {**newest, **changed})

    def publish_trial(self) -> None:
        held = [point for point in self.curve if point["held"]]
        capacity = self._capacity_g()
        loads = [capacity * k / 40 for k in range(41)]
        self.live.publish(
            "trial",
            {
                "number": 3,
                "boat": self.label,
                "guess_items": 48,
                "hull": {
                    "family": "tray",
                    "depth_mm": self.hull.depth_mm,
                    "floods": True,
                    "bodies_mm": self.hull.ends_mm(),
                    "heel_deg": 0.0,
                    "sunk_mm": None,
                },
                "prediction": {
                    "capacity_g": capacity,
                    "capacity_items": whole_items(capacity, ITEM_G),
                    "held_back_g": self.most_g,
                    "held_back_items": whole_items(self.most_g, ITEM_G),
                    "held_back_mm": HELD_BACK_MM,
                    "band": self._band(),
                    "curve": [
                        {
                            "load_g": load_g,
                            "items": load_g / ITEM_G,
                            "freeboard_mm": self._float_g(load_g).freeboard_mm,
                        }
                        for load_g in loads
                    ],
                },
                "curve": self.curve,
                "additions": self.additions,
                "held_g": held[-1]["load_g"] if held else 0.0,
                "held_items": held[-1]["items"] if held else 0,
                "result": self.result,
                "warnings": [],
                "next_boat": "Pond skaters",
            },
        )

    def _called(self, *call: Any) -> None:
        self.calls.append(call)
        if self.refuse is not None:
            raise self.refuse

    def _capacity_g(self) -> float:
        return capacity_g(self.hull, self.boat_g, DENSITY_G_ML)

    @property
    def most_g(self) -> float:
        """What it carries while its rim holds back as much as it can."""
        area_mm2 = self.hull.waterplane(self.hull.depth_mm).area_mm2
        return self._capacity_g() + area_mm2 * HELD_BACK_MM * DENSITY_G_ML / 1000

    def _band(self) -> list[dict[str, float]]:
        """From the empty boat to `most_g`, 1.5 mm to either side, 3.9 mm under nought at last."""
        capacity, points = self._capacity_g(), []
        for load_g in (self.most_g * k / 30 for k in range(31)):
            under_mm = max(0.0, (load_g - capacity) / (self.most_g - capacity)) * HELD_BACK_MM
            middle_mm = self._float_g(load_g).freeboard_mm - under_mm
            points.append(
                {
                    "load_g": load_g,
                    "items": load_g / ITEM_G,
                    "low_mm": middle_mm - 1.5,
                    "high_mm": middle_mm + 1.5,
                }
            )
        return points

    def _forecast(self, items: int | None) -> dict[str, Any] | None:
        """Six items either way around the level rim's capacity."""
        if items is None:
            return None
        load_g, capacity = items * ITEM_G, self._capacity_g()
        said: dict[str, Any] = {"load_g": load_g, "fits": self.fits}
        for end, six in (("low_", -6), ("", 0), ("high_", 6)):
            carries_g = capacity + six * ITEM_G
            room_g = max(0.0, carries_g - load_g)
            said[f"{end or 'median_'}g"] = carries_g
            said[f"{end or 'median_'}items"] = items + whole_items(room_g, ITEM_G)
            said[f"room_{end}g"] = room_g
            said[f"room_{end}items"] = whole_items(room_g, ITEM_G)
        return said

    def _float_g(self, load_g: float) -> Any:
        return float_at(self.hull, self.boat_g, min(load_g, self._capacity_g()), DENSITY_G_ML)

    def _float(self, items: int) -> Any:
        return self._float_g(items * ITEM_G)

    def _plateau(self, items: int, at_s: float, held: bool) -> dict[str, Any]:
        return {
            "at_s": at_s,
            "load_g": items * ITEM_G + 0.4,
            "load_g_sd": 0.3,
            "items": items,
            "freeboard_mm": self._float(items).freeboard_mm - 0.6,
            "freeboard_mm_sd": 0.4,
            "method": "rim gauge",
            "lasted_s": 6.0,
            "held": held,
        }

    @staticmethod
    def _boat(label: str, guess: int | None, tested: bool, held: int | None) -> dict[str, Any]:
        return {
            "label": label,
            "hull": "tray",
            "mass_g": 31.0,
            "capacity_items": 107,
            "guess_items": guess,
            "tested": tested,
            "held_items": held,
        }

    @staticmethod
    def _result(number: int, boat: str, outcome: str, held: int) -> dict[str, Any]:
        return {
            "number": number,
            "boat": boat,
            "outcome": outcome,
            "held_items": held,
            "held_g": held * ITEM_G,
        }


@pytest.fixture
def rig() -> Iterator[FakeRig]:
    fake = FakeRig()
    yield fake
    fake.live.close()


@pytest.fixture
def app(rig: FakeRig) -> Flask:
    return create_app(rig, pin=None, secret="only for tests")


@contextmanager
def running(app: Flask, port: int = 0, viewers: int = 8) -> Iterator[DashboardServer]:
    """A server in its own thread, gone at the end of the block."""
    server = make_server(app, "127.0.0.1", port, viewers)
    thread = Thread(target=server.run)
    thread.start()
    try:
        yield server
    finally:
        server.close()
        thread.join(timeout=20)
        assert not thread.is_alive(), "the server did not stop"


@pytest.fixture
def run_server() -> Callable[..., Any]:
    """`with run_server(app, port=0, viewers=8) as server:`"""
    return running


@pytest.fixture
def address(app: Flask) -> Iterator[str]:
    with running(app) as server:
        yield f"http://127.0.0.1:{server.effective_port}"


class Watch:
    """What a page did that it must not do."""

    def __init__(self, page: Page) -> None:
        self.complaints: list[str] = []
        self.strays: list[str] = []
        page.on("console", self._said)
        page.on("pageerror", lambda err: self.complaints.append(str(err)))
        page.on("request", self._asked)

    def _said(self, message: Any) -> None:
        if message.type in ("error", "warning"):
            self.complaints.append(message.text)

    def _asked(self, request: Any) -> None:
        if not request.url.startswith(("http://127.0.0.1:", "data:", "blob:")):
            self.strays.append(request.url)


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    fresh = browser.new_context(viewport={"width": 1366, "height": 768})
    fresh.set_default_timeout(15_000)
    yield fresh
    fresh.close()


@pytest.fixture
def page(context: BrowserContext) -> Page:
    return context.new_page()


@pytest.fixture
def watch(page: Page) -> Watch:
    return Watch(page)
