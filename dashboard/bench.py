"""The workbench page: check the scale before class, calibrate, fill a boat of any shape."""

from typing import Any, Final

from flask import Blueprint, current_app, render_template, request
from flask.typing import ResponseReturnValue

from dashboard.assets import plotly_address
from dashboard.desk import may_enter
from dashboard.rig_port import BenchPort, RigPort

bp = Blueprint("bench", __name__, url_prefix="/desk/bench")
bp.before_request(may_enter)

# What each kind asks before it begins: (option, example). The words are in dashboard/words.py.
ASKS: Final[dict[str, tuple[tuple[str, str], ...]]] = {
    "check": (("mass", "20 x EUR 2 euro"),),
    "load": (("masses", "M2 100 g; M2 200 g; M2 500 g"),),
    "surface": (("heights", "40; 80; 120"),),
    "rim": (("heights", "100; 150; 200"),),
    "tub": (("jug_ml", "1000"), ("off_ml", "10"), ("jugs", "2; 4; 6")),
    "brimful": (("water_c", "20"), ("cup_ml", "")),
}


def _bench() -> BenchPort:
    rig: RigPort = current_app.extensions["rig"]
    return rig.bench


def _body() -> dict[str, Any]:
    body = request.get_json()
    return body if isinstance(body, dict) else {}


@bp.get("")
def bench() -> str:
    """The page. What goes on arrives by `look`."""
    return render_template("bench.html", asks=ASKS, plotly_address=plotly_address())


@bp.post("/begin")
def begin() -> ResponseReturnValue:
    """Begin the `kind` with `options`; `note` is kept with the result."""
    body = _body()
    options = body.get("options")
    given = options if isinstance(options, dict) else {}
    filled = {key: value for key, value in given.items() if str(value).strip()}
    return dict(_bench().begin(str(body.get("kind", "")), filled, str(body.get("note", ""))))


@bp.post("/press")
def press() -> ResponseReturnValue:
    """A button: `word`, with what was `typed`."""
    body = _body()
    return dict(_bench().press(str(body.get("word", "")), str(body.get("typed", ""))))


@bp.post("/look")
def look() -> ResponseReturnValue:
    """What there is to show; changes nothing."""
    return dict(_bench().look())


@bp.post("/write")
def write() -> ResponseReturnValue:
    """Put the result into the rig file."""
    return dict(_bench().write())


@bp.post("/leave")
def leave() -> ResponseReturnValue:
    """Put it away."""
    return dict(_bench().leave())
