"""The page on what one sheet can carry, and the same saved to a file."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe

from dashboard.app import create_app
from dashboard.saved import prediction_page
from dashboard.svg.hull_drawing import hull_pictures, measured
from rig.physics.drawing import example
from rig.physics.hulls import FAMILIES
from rig.setup import Boat
from rig.trial.foretold import foretell

FAMILY_NAMES = [*FAMILIES, "twin", "sections"]


@pytest.fixture
def client(app):
    return app.test_client()


def page_of(family):
    hull = example(family)
    told = {**foretell(Boat("Otters", hull, 20.0)).as_dict(), "water_c": 20.0}
    return prediction_page(told, hull, "Otters <3"), told


@pytest.mark.parametrize("family", FAMILY_NAMES)
def test_every_measure_has_its_letter_in_one_view(family):
    pictures = hull_pictures(example(family))
    drawn = re.findall(r'class="letter"[^>]*>([A-Z])<', "".join(pictures.values()))
    wanted = [one.letter for one in measured(example(family)) if one.letter]
    assert sorted(drawn) == sorted(wanted) and len(set(drawn)) == len(drawn)


@pytest.mark.parametrize("family", FAMILY_NAMES)
def test_nothing_is_drawn_outside_its_picture(family):
    for svg in hull_pictures(example(family)).values():
        width, height = map(float, re.search(r'viewBox="0 0 (\S+) (\S+)"', svg).groups())
        for points in re.findall(r'points="([^"]+)"', svg):
            for point in points.split():
                x, y = map(float, point.split(","))
                assert 0 <= x <= width and 0 <= y <= height
        for x, y in re.findall(r'<circle[^>]*cx="([-\d.]+)" cy="([-\d.]+)"', svg):
            assert 11 <= float(x) <= width - 11 and 11 <= float(y) <= height - 11


def test_a_saved_page_asks_for_nothing_and_axe_finds_nothing(browser, tmp_path):
    text, told = page_of("tray")
    path = tmp_path / "otters.html"
    path.write_text(text, encoding="utf-8")
    assert len(text) < 60_000 and "<script" not in text
    page = browser.new_page(viewport={"width": 390, "height": 800})
    asked, troubles = [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: troubles.append(message.text))
    page.goto(path.as_uri())
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    assert troubles == []
    assert page.inner_text("h1") == "Otters <3"  # a label is words, never markup
    assert f"{told['prediction']['capacity_g']:.0f} g" in page.inner_text(".big")
    assert page.locator(".views svg").count() == 3
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    found = Axe().run(page).response
    assert found["passes"]
    assert [v["id"] for v in found["violations"]] == []
    page.close()


def test_the_curve_meets_the_water_at_the_capacity():
    """In the picture's own pixels: the line's end lies on the upright line and on nought."""
    text, _ = page_of("box")
    curve = re.search(r'class="curve" points="([^"]+)"', text)[1].split()
    level = re.search(r'class="level" points="([\d.]+),[\d.]+ ', text)[1]
    nought = re.search(r'class="water" points="[\d.]+,([\d.]+) ', text)[1]
    assert curve[-1] == f"{level},{nought}"
    heights = [float(point.split(",")[1]) for point in curve]
    assert heights == sorted(heights)  # down the page, step by step


def test_the_page_works_out_a_published_sheet(client):
    """24 x 36: walls of 10 - 2 sqrt 7 (OpenStax Calculus volume 1, 4.7); here in centimetres."""
    page = client.get("/desk/sheet?length_mm=360&beam_mm=240&sheet_g=0").text
    assert "Walls of 47 mm" in page  # 100 - 20 sqrt 7 = 47.08
    volume_ml = 47.085 * (360 - 2 * 47.085) * (240 - 2 * 47.085) / 1000
    assert f"it carries {volume_ml * 0.9982067:.0f} g" in page
    assert page.count("<svg") == 3


@pytest.mark.parametrize(
    ("asked", "needle"),
    [
        ("length_mm=wide&beam_mm=200", "&#34;wide&#34; is no number"),
        ("length_mm=-3&beam_mm=200", "cannot be right for a sheet"),
        ("length_mm=300&beam_mm=200&sheet_g=90000&corners_cut=on", "too heavy"),
        ("length_mm=300&beam_mm=200&item_g=0", "cannot be counted"),
    ],
)
def test_bad_numbers_get_one_line_and_what_was_typed_stays(client, asked, needle):
    page = client.get(f"/desk/sheet?{asked}")
    assert page.status_code == 200 and needle in page.text and 'role="alert"' in page.text
    typed = asked.split("&")[0].split("=")[1]
    assert f'value="{typed}"' in page.text


def test_a_comma_is_a_point(client):
    assert client.get("/desk/sheet?length_mm=30,5&beam_mm=20").text == client.get(
        "/desk/sheet?length_mm=30.5&beam_mm=20"
    ).text.replace('value="30.5"', 'value="30,5"')


def test_the_page_is_behind_the_pin(rig):
    guarded = create_app(rig, pin="4711", secret="only for tests").test_client()
    assert guarded.get("/desk/sheet").location == "/desk/pin"
    guarded.post("/desk/pin", json={"pin": "4711"})
    assert guarded.get("/desk/sheet").status_code == 200


@pytest.mark.parametrize("width", [390, 1366])
def test_the_teacher_types_a_sheet_and_sees_its_best_tray(page, address, watch, width):
    page.set_viewport_size({"width": width, "height": 800})
    page.goto(f"{address}/desk")
    page.get_by_role("link", name="What can one sheet carry?").click()
    for name, value in (("length_mm", "300"), ("beam_mm", "200"), ("item_g", "2,5")):
        page.locator(f"[name={name}]").fill(value)
    page.get_by_role("button", name="Work it out").click()
    page.get_by_role("heading", name="Walls of 39 mm").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    found = Axe().run(page).response
    assert found["passes"]
    assert [v["id"] for v in found["violations"] if v["impact"] in ("serious", "critical")] == []
    assert watch.complaints == [] and watch.strays == []
