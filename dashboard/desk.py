"""The Desk: the teacher's page and its actions. Behind the PIN when there is one."""

import io
import math
from functools import cache
from ipaddress import ip_address
from pathlib import Path
from typing import Any

import segno
from flask import (
    Blueprint,
    Response,
    current_app,
    redirect,
    render_template,
    request,
    session,
    url_for,
)
from flask.typing import ResponseReturnValue
from werkzeug.exceptions import HTTPException

from dashboard.boat_drawing import drawings, drawn, hull_so_far
from dashboard.pin import PinGate
from dashboard.rig_port import RigPort
from dashboard.words import WORDS
from rig.physics.hulls import FAMILIES

bp = Blueprint("desk", __name__, url_prefix="/desk")

SAFETY_FILE = Path(__file__).with_name("safety_short.txt")
OPEN_TO_ALL = ("desk.pin", "desk.try_pin")


def _rig() -> RigPort:
    rig: RigPort = current_app.extensions["rig"]
    return rig


def _gate() -> PinGate:
    gate: PinGate = current_app.extensions["pin_gate"]
    return gate


def _refusal(which: str, status: int) -> ResponseReturnValue:
    """One of the refusals in the words module, as JSON to an action and as a page otherwise."""
    what, try_this = WORDS["refused"][which], WORDS["refused"][which + "_try"]
    if request.method == "POST":
        return {"what": what, "try_this": try_this}, status
    return render_template("rig_error.html", what=what, try_this=try_this), status


@bp.before_request
def may_enter() -> ResponseReturnValue | None:
    """None for whoever may use the Desk and the pages beside it, else a refusal."""
    if _gate().is_open and not _is_this_machine(request.host):
        # Without a PIN the address typed must be this machine's: a page elsewhere cannot
        # borrow the teacher's browser by giving its own name our number.
        return _refusal("not_this_machine", 403)
    if request.method == "POST" and not request.is_json:
        return _refusal("not_json", 415)  # a form on another page can send anything but JSON
    if request.endpoint in OPEN_TO_ALL or _gate().knows(session.get("desk")):
        return None
    if request.method == "POST":
        return _refusal("pin_needed", 401)
    return redirect(url_for("desk.pin"), 303)


@bp.errorhandler(HTTPException)
def _in_words(err: HTTPException) -> ResponseReturnValue:
    """A body that is no JSON, too long, or a page that is not there."""
    return _refusal("not_understood", err.code or 400)


def _is_this_machine(host: str) -> bool:
    name = host.rpartition(":")[0] if host.rpartition(":")[2].isdigit() else host
    if name == "localhost":
        return True
    try:
        return ip_address(name.strip("[]")).is_loopback
    except ValueError:
        return False


@cache
def safety_lines() -> tuple[str, ...]:
    """The short form of the safety rules, one line each."""
    if not SAFETY_FILE.exists():
        return ()
    lines = (line.strip() for line in SAFETY_FILE.read_text(encoding="utf-8").splitlines())
    return tuple(line for line in lines if line)


@bp.get("")
def desk() -> str:
    """The page. Numbers and the state of the buttons arrive through the live stream."""
    return render_template(
        "desk.html",
        families=FAMILIES,
        drawings=drawings(),
        safety_lines=safety_lines(),
        address=_board_address(),
    )


@bp.post("/drawing")
def draw() -> ResponseReturnValue:
    """The drawing of a boat as far as it is typed in; changes nothing."""
    return drawn(hull_so_far(_body()))


@bp.get("/address.svg")
def address_code() -> Response:
    """The Board's address as a QR code, for other screens in the room."""
    code = io.BytesIO()
    segno.make(_board_address(), micro=False).save(code, kind="svg", scale=5, border=4)
    return Response(code.getvalue(), mimetype="image/svg+xml")


def _board_address() -> str:
    """Where the rig says that its pages are; where this page was asked for until it has said so."""
    told = next((m.data for m in _rig().live.latest() if m.topic == "rig"), {})
    return told.get("address") or request.host_url


@bp.get("/pin")
def pin() -> ResponseReturnValue:
    """Ask for the PIN."""
    if _gate().knows(session.get("desk")):
        return redirect(url_for("desk.desk"), 303)
    return render_template("pin.html")


@bp.post("/pin")
def try_pin() -> ResponseReturnValue:
    """Take a PIN; 403 when it is wrong, 429 with Retry-After while the address must wait."""
    gate, address = _gate(), request.remote_addr or ""
    wait_s = gate.wait_s(address)
    if wait_s > 0:
        body = {
            "what": WORDS["refused"]["pin_wait"].format(wait_s=math.ceil(wait_s)),
            "try_this": WORDS["refused"]["pin_wait_try"],
        }
        return body, 429, {"Retry-After": str(math.ceil(wait_s))}
    if not gate.admits(address, _text("pin")):
        return _refusal("pin_wrong", 403)
    session.clear()
    session["desk"] = gate.mark
    return {}


def _body() -> dict[str, Any]:
    body = request.get_json()
    return body if isinstance(body, dict) else {}


def _text(key: str) -> str:
    value = _body().get(key, "")
    return value.strip() if isinstance(value, str) else ""


def _number(key: str) -> int:
    """A whole number; -1, which no trial has, for anything else."""
    value = _body().get(key)
    return value if isinstance(value, int) and not isinstance(value, bool) else -1


def _whole(key: str) -> int:
    """A whole number; 0, which no tap counts, for anything else."""
    value = _body().get(key)
    return value if isinstance(value, int) and not isinstance(value, bool) else 0


def _decimal(key: str) -> float:
    """A number, a comma for a point too; -1, which no ruler shows, for anything else."""
    try:
        return float(str(_body().get(key, "")).strip().replace(",", "."))
    except ValueError:
        return -1.0


@bp.post("/start")
def start() -> ResponseReturnValue:
    """Begin a trial of the boat named by `label`."""
    _rig().start(_text("label"))
    return {}


@bp.post("/stop")
def stop() -> ResponseReturnValue:
    """All still afloat: end the trial."""
    _rig().stop()
    return {}


@bp.post("/sunk")
def sunk() -> ResponseReturnValue:
    """The boat is down."""
    _rig().sunk()
    return {}


@bp.post("/void")
def void() -> ResponseReturnValue:
    """This trial does not count."""
    _rig().void()
    return {}


@bp.post("/count")
def count() -> ResponseReturnValue:
    """While the scale is out: `items` more are aboard, below 0 fewer."""
    _rig().count(_whole("items"))
    return {}


@bp.post("/ruler")
def ruler() -> ResponseReturnValue:
    """So many `mm` of wall are above the water, read with a ruler."""
    _rig().ruler(_decimal("mm"))
    return {}


@bp.post("/note")
def note() -> ResponseReturnValue:
    """Keep `text` beside the readings."""
    _rig().note(_text("text"))
    return {}


@bp.post("/correcting")
def correcting() -> ResponseReturnValue:
    """What can be put right about the finished trial `number`; changes nothing."""
    return dict(_rig().correcting(_number("number")))


@bp.post("/correct")
def correct() -> ResponseReturnValue:
    """Put something right about trial `number`: `text` as in a `fix` mark."""
    return dict(_rig().correct(_number("number"), _text("text")))


@bp.post("/next")
def next_boat() -> ResponseReturnValue:
    """Make the next boat ready; answers its `label`, null when all had their turn."""
    return {"label": _rig().next_boat()}


@bp.post("/boat")
def add_boat() -> ResponseReturnValue:
    """Add the boat in the body, a `[[boat]]` table."""
    _rig().add_boat(_body())
    return {}


@bp.post("/safety")
def safety() -> ResponseReturnValue:
    """The safety lines have been read."""
    _rig().safety_seen()
    return {}


@bp.get("/recording/<int:number>.rec")
def recording(number: int) -> Response:
    """A trial's recording, as a file."""
    return Response(
        _rig().recordings(number),
        mimetype="text/plain",
        headers={
            "Content-Disposition": f'attachment; filename="trial-{number}.rec"',
            "Cache-Control": "no-store",
        },
    )
