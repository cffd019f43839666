"""plotly.js out of the installed plotly package: compressed once, kept by browsers for good."""

import gzip
from functools import cache
from importlib.metadata import distribution
from pathlib import Path
from threading import Lock

from flask import Blueprint, Response, abort, request, url_for

bp = Blueprint("assets", __name__)
_one_at_a_time = Lock()


def plotly_file() -> Path:
    """Where the installed script lies. Found without importing plotly, which is heavy."""
    return Path(str(distribution("plotly").locate_file("plotly/package_data/plotly.min.js")))


def plotly_address() -> str:
    """The address of the script; another version has another one, so it may be kept for good."""
    return url_for("assets.plotly", version=distribution("plotly").version)


def plotly_gzipped() -> bytes:
    """The script, compressed; a class that opens the Board at once waits for one compression."""
    with _one_at_a_time:
        return _compress(plotly_file())


@cache
def _compress(path: Path) -> bytes:
    return gzip.compress(path.read_bytes(), compresslevel=6, mtime=0)


@bp.get("/asset/plotly-<version>.min.js")
def plotly(version: str) -> Response:
    """Serve the script, to old clients uncompressed. 404 for a version that is not installed."""
    if version != distribution("plotly").version:
        abort(404)
    if request.accept_encodings["gzip"] > 0:
        response = Response(plotly_gzipped())
        response.headers["Content-Encoding"] = "gzip"
    else:
        response = Response(plotly_file().read_bytes())
    response.headers["Content-Type"] = "text/javascript; charset=utf-8"
    response.headers["Cache-Control"] = "public, max-age=31536000, immutable"
    response.headers["Vary"] = "Accept-Encoding"
    return response
