"""plotly.js: the installed file, compressed, cached for good, without loading plotly."""

import gzip
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

import pytest
from flask import Flask

ADDRESS = f"/asset/plotly-{version('plotly')}.min.js"


@pytest.fixture(scope="module")
def installed() -> bytes:
    # Found by another road than the code's: the package's own file list.
    import importlib.metadata

    files = importlib.metadata.files("plotly") or []
    (found,) = [f for f in files if f.as_posix() == "plotly/package_data/plotly.min.js"]
    return Path(str(found.locate())).read_bytes()


def test_the_script_is_the_installed_one(app: Flask, installed: bytes) -> None:
    answer = app.test_client().get(ADDRESS, headers={"Accept-Encoding": "gzip, br"})
    assert answer.status_code == 200
    assert answer.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(answer.data) == installed
    assert len(answer.data) < len(installed) / 2
    assert answer.mimetype == "text/javascript"
    assert answer.headers["Vary"] == "Accept-Encoding"


def test_it_is_kept_for_good(app: Flask) -> None:
    answer = app.test_client().get(ADDRESS, headers={"Accept-Encoding": "gzip"})
    assert answer.headers["Cache-Control"] == "public, max-age=31536000, immutable"


def test_a_client_that_cannot_unpack_gets_it_plain(app: Flask, installed: bytes) -> None:
    for accepted in ("identity", "gzip;q=0"):
        answer = app.test_client().get(ADDRESS, headers={"Accept-Encoding": accepted})
        assert "Content-Encoding" not in answer.headers
        assert answer.data == installed


def test_another_version_is_not_there(app: Flask) -> None:
    answer = app.test_client().get("/asset/plotly-0.0.0.min.js")
    assert answer.status_code == 404
    assert "immutable" not in answer.headers["Cache-Control"]


def test_the_board_names_the_installed_version(app: Flask) -> None:
    assert f'data-script="{ADDRESS}"' in app.test_client().get("/").text


def test_serving_it_loads_no_plotly() -> None:
    script = (
        "import sys, types; from dashboard import create_app;"
        "app = create_app(types.SimpleNamespace(live=None), pin=None, secret='x');"
        f"assert app.test_client().get('{ADDRESS}').status_code == 200;"
        "sys.exit(any(name.split('.')[0] in ('plotly', 'pandas') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False, timeout=60).returncode == 0
