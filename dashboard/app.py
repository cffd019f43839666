"""The application: pages, live stream and desk put together around one rig."""

from threading import Event

from flask import Flask, Response, render_template, request

from dashboard import assets, bench, board, desk, sheet, stream
from dashboard.pin import PinGate
from dashboard.rig_port import RigPort
from dashboard.words import LANGUAGE, WORDS
from rig.errors import RigError

BODY_LIMIT_BYTES = 16 * 1024  # a boat with a long label is below one kilobyte

# Nothing from elsewhere: 'self' only. plotly.js puts <style> elements into the page, hence
# the one relaxation; scripts stay strict.
CONTENT_SECURITY_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self' 'unsafe-inline'",
        "img-src 'self' data:",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)


def create_app(rig: RigPort, *, pin: str | None, secret: str) -> Flask:
    """Build the pages around a rig.

    Args:
        pin: what the Desk asks for; None leaves it open, to this machine only.
        secret: signs the Desk's cookie; keep it over restarts or every Desk must log in again.
    """
    app = Flask(__name__)
    app.config.update(
        SECRET_KEY=secret,
        MAX_CONTENT_LENGTH=BODY_LIMIT_BYTES,
        SESSION_COOKIE_NAME="tubrig_desk",
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Strict",
        VIEWERS=64,
    )
    app.extensions.update(
        rig=rig, pin_gate=PinGate(pin, secret), seats=stream.Seats(), stopping=Event()
    )
    app.register_blueprint(board.bp)
    app.register_blueprint(stream.bp)
    app.register_blueprint(desk.bp)
    app.register_blueprint(sheet.bp)
    app.register_blueprint(bench.bp)
    app.register_blueprint(assets.bp)
    app.after_request(_guard)
    app.context_processor(lambda: {"words": WORDS, "language": LANGUAGE})
    app.register_error_handler(RigError, _show_rig_error)
    return app


def _guard(response: Response) -> Response:
    headers = response.headers
    headers["Content-Security-Policy"] = CONTENT_SECURITY_POLICY
    headers["X-Content-Type-Options"] = "nosniff"
    headers["Referrer-Policy"] = "no-referrer"
    headers["Cross-Origin-Opener-Policy"] = "same-origin"
    headers["Cross-Origin-Resource-Policy"] = "same-origin"
    headers.setdefault("Cache-Control", "no-cache")
    return response


def _show_rig_error(err: RigError) -> tuple[str | dict[str, str], int]:
    if request.method == "POST":
        return {"what": err.what, "try_this": err.try_this}, 409
    return render_template("rig_error.html", what=err.what, try_this=err.try_this), 409
