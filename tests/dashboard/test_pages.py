"""Pages, headers, and that nothing comes from elsewhere."""

import re
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
import segno
from flask import Flask

import dashboard
from dashboard import create_app
from dashboard.words import WORDS
from rig.errors import SourceLost
from rig.physics.hulls import FAMILIES

FOLDER = Path(dashboard.__file__).parent
WRITTEN = sorted(p for kind in ("*.js", "*.html", "*.css", "*.svg") for p in FOLDER.rglob(kind))
NAMESPACES = {"http://www.w3.org/2000/svg"}  # a name, never fetched


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/desk",
        "/live/latest",
        "/nowhere",
        "/desk/nowhere",
        "/static/board.js",
        "/desk/recording/1.rec",
    ],
)
def test_every_answer_carries_the_policy(app: Flask, path: str) -> None:
    with app.test_client().get(path) as answer:
        headers = answer.headers
    policy = dict(
        (rule.split()[0], rule.split()[1:])
        for rule in headers["Content-Security-Policy"].split(";")
    )
    assert policy["default-src"] == ["'none'"]
    assert policy["script-src"] == ["'self'"]
    assert policy["frame-ancestors"] == ["'none'"]
    assert policy["base-uri"] == ["'none'"]
    named = {source for sources in policy.values() for source in sources}
    assert named <= {"'none'", "'self'", "'unsafe-inline'", "data:"}
    relaxed = {rule for rule, sources in policy.items() if "'unsafe-inline'" in sources}
    assert relaxed == {"style-src"}
    assert headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize("path", WRITTEN, ids=lambda p: p.name)
def test_no_address_elsewhere_is_written_anywhere(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    elsewhere = set(re.findall(r"(?:\w+:)?//[a-z0-9][\w.-]*\.[a-z]{2,}[^\s\"'`)<>]*", text, re.I))
    assert elsewhere <= NAMESPACES
    assert "@import" not in text


class Page(HTMLParser):
    """Collects what a page would fetch or run."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.inline_scripts: list[str | None] = []
        self.handlers: list[str] = []
        self.addresses: list[str] = []
        self.ids: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        self.handlers += [key for key in found if key.startswith("on")]
        self.addresses += [found[k] or "" for k in ("src", "href", "action") if k in found]
        self.ids += [found["id"] or ""] if "id" in found else []
        if tag == "script" and "src" not in found:
            self.inline_scripts.append(found.get("type"))


@pytest.mark.parametrize("path", ["/", "/desk", "/desk/pin"])
def test_a_page_runs_nothing_inline_and_fetches_only_from_here(rig: Any, path: str) -> None:
    client = create_app(rig, pin="4711", secret="x").test_client()
    if path == "/desk":
        client.post("/desk/pin", json={"pin": "4711"})
    answer = client.get(path)
    assert answer.status_code == 200
    page = Page(answer.text)
    assert page.inline_scripts == ["application/json"]
    assert page.handlers == []
    assert page.addresses and all(re.match(r"/(?!/)", address) for address in page.addresses)
    assert len(page.ids) == len(set(page.ids))


def test_the_desk_asks_for_every_measure_of_every_hull(app: Flask) -> None:
    text = unescape(app.test_client().get("/desk").text)
    for family, hull in FAMILIES.items():
        assert f'name="{family}.' in text
        assert f"family_{family}" in WORDS["desk"], "a hull family without a word for it"
        for measure in hull.measures:
            assert f'data-key="{measure.key}"' in text
            assert measure.words in text


def test_the_desk_shows_the_safety_lines(app: Flask) -> None:
    lines = (FOLDER / "safety_short.txt").read_text(encoding="utf-8").split("\n")
    text = app.test_client().get("/desk").text
    shown = [line.strip() for line in lines if line.strip()]
    assert len(shown) >= 3
    assert all(line in text for line in shown)


def test_words_used_by_pages_and_scripts_exist() -> None:
    used = set()
    for path in WRITTEN:
        text = path.read_text(encoding="utf-8")
        own = re.search(r'(?:set w = words\["|const w = words\.)(\w+)', text)
        if own:
            used |= {(own[1], k) for k in re.findall(r"\bw\.(\w+)", text) if path.suffix == ".js"}
            used |= {(own[1], key) for key in re.findall(r'\bw\["(\w+)"\]', text)}
        used |= set(re.findall(r'words\["(\w+)"\]\["(\w+)"\]', text))
        used |= set(re.findall(r"words\.(\w+)\.(\w+)", text))
    assert len(used) > 60
    assert {(page, key) for page, key in used if key not in WORDS[page]} == set()


def test_a_rig_error_on_a_page_is_told_in_words(app: Flask, rig: Any) -> None:
    rig.refuse = SourceLost("The card <is> full.", "Make room.")
    answer = app.test_client().get("/desk/recording/2.rec")
    assert answer.status_code == 409
    assert "The card &lt;is&gt; full." in answer.text and "Make room." in answer.text


def test_each_measure_of_a_hull_wears_its_own_unit(app: Flask) -> None:
    page = app.test_client().get("/desk").get_data(as_text=True)
    fields = re.findall(r'data-key="(\w+)"([^>]*)> (\w*)</span>', page)
    assert {key for key, _, _ in fields} >= {"length_mm", "count", "held_ml", "fullness"}
    for key, more, unit in fields:
        assert unit == {"mm": "mm", "ml": "ml"}.get(key.rsplit("_", 1)[-1], "")
        assert ("required" in more) == (key != "fullness")  # nobody can measure how full a shape is


def test_the_address_for_other_screens_is_the_rigs_own(app: Flask, rig: Any) -> None:
    """Read back with the library's own matrix: the code on the page is that of the address."""
    newest = next(m.data for m in rig.live.latest() if m.topic == "rig")
    rig.live.publish("rig", {**newest, "address": "http://192.0.2.7:8765/"})
    client = app.test_client()
    assert "http://192.0.2.7:8765/" in client.get("/desk").text
    code = client.get("/desk/address.svg")
    assert code.mimetype == "image/svg+xml"
    wanted = segno.make("http://192.0.2.7:8765/", micro=False)
    other = segno.make("http://192.0.2.8:8765/", micro=False)
    path = re.search(r' d="([^"]+)"', code.text)[1]
    assert path == re.search(r' d="([^"]+)"', wanted.svg_inline(scale=5, border=4))[1]
    assert path != re.search(r' d="([^"]+)"', other.svg_inline(scale=5, border=4))[1]
