"""The workbench page in a real browser, over the rig's own workbench; the cell's words are ours."""

from itertools import count
from random import Random

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from dashboard.app import create_app
from rig.sensing.sentences import Data, encode

READS = 0.99728  # g a scale shows of 1 ml of water at 20 deg C: 0.9982067 less the air's part
SECONDS = 4.5


class Cell:
    """A load cell whose words go straight to the workbench, with noise of 21 counts, 0.05 g."""

    def __init__(self, rig):
        self.rig, self.random, self.numbers = rig, Random(1), count()

    def bears(self, load_g, seconds=SECONDS):
        for _ in range(round(10 * seconds)):
            n = next(self.numbers)
            word = round(84_213 + 430 * load_g + self.random.gauss(0, 21))
            line = encode(Data(n % 65_536, 100 * n, word, None, None, None))
            self.rig.workbench.heard(line)


@pytest.fixture
def cell(rig):
    return Cell(rig)


@pytest.fixture
def bench(page, address, watch):
    page.goto(f"{address}/desk")
    page.get_by_role("link", name="Check and calibrate").click()
    yield page
    assert watch.strays == []


def ready(page, cell, load_g, seconds=SECONDS):
    number = page.locator("#taken li").count()
    page.get_by_role("button", name="Ready: read it now").click()
    expect(page.locator("#part")).to_be_visible()
    cell.bears(load_g, seconds)
    expect(page.locator("#taken li")).to_have_count(number + 1)


def test_a_boat_is_filled_and_its_form_filled_in(bench, cell, rig):
    """16.2 g empty, 480 ml of water at 20 deg C."""
    bench.select_option("[name=kind]", "brimful")
    bench.get_by_role("button", name="Begin").click()
    expect(bench.locator("#asks")).to_contain_text("Take everything off the scale")
    for load_g in (0.0, 16.2, 16.2 + 480 * READS):
        ready(bench, cell, load_g)
    expect(bench.locator("#says li").first).to_contain_text("it holds 480")
    bench.get_by_text("Take it to the boat form").click()
    bench.wait_for_url("**/desk")
    form = bench.locator("#boat-form")
    expect(form.locator("[name=hull]")).to_have_value("brimful")
    held = float(form.locator('[name="brimful.held_ml"]').input_value())
    assert held == pytest.approx(480, abs=0.3)
    assert float(form.locator("[name=mass_g]").input_value()) == pytest.approx(16.2, abs=0.2)
    for name, value in (("label", "Ducks"), ("brimful.length_mm", "170"),
                        ("brimful.beam_mm", "110"), ("brimful.depth_mm", "40")):  # fmt: skip
        form.locator(f'[name="{name}"]').fill(value)
    form.locator("button").last.click()
    expect(bench.locator("#notice")).to_have_text("Added: Ducks")
    ((_, table),) = [call for call in rig.calls if call[0] == "add_boat"]
    assert table["hull"] == "brimful" and table["held_ml"] == pytest.approx(480, abs=0.3)


def test_the_scale_is_calibrated_and_the_result_put_to_use(bench, cell, watch):
    """Known masses on a cell of 430 counts a gram: what is written is what the cell is."""
    bench.select_option("[name=kind]", "load")
    bench.locator("[data-option=masses]").fill("M2 100 g; M2 200 g; M2 500 g")
    bench.locator("[name=note]").fill("after the move")
    bench.get_by_role("button", name="Begin").click()
    expect(bench.locator("#number")).to_contain_text("of")
    steps = int(bench.locator("#number").inner_text().split()[-1])
    for _ in range(steps):
        asks = bench.locator("#asks").inner_text()
        masses = [g for g in (100, 200, 500) if f"{g} g" in asks]
        number = bench.locator("#number").inner_text()
        ready(bench, cell, masses[0] if masses else 0.0, 68 if "minute" in asks else SECONDS)
        if bench.locator("#asks").inner_text() != "Done.":
            expect(bench.locator("#number")).not_to_have_text(number)
    expect(bench.locator("#asks")).to_have_text("Done.")
    bench.locator("#lines-box summary").click()
    lines = dict(
        line.split(" = ")
        for line in bench.locator("#lines").inner_text().splitlines()
        if "=" in line
    )
    assert float(lines["count_per_g"]) == pytest.approx(430.0, rel=2e-4)
    assert float(lines["zero_count"]) == pytest.approx(84_213, abs=30)
    expect(bench.locator("#plot .main-svg").first).to_be_visible()
    bench.get_by_role("button", name="Write it into the rig file").click()
    expect(bench.locator("#in-use")).to_contain_text("In use")
    found = Axe().run(bench, options={"exclude": [["#plot"]]}).response
    assert [v["id"] for v in found["violations"] if v["impact"] in ("serious", "critical")] == []
    assert watch.complaints == []


def test_a_reading_that_does_not_come_is_said_and_taken_again(bench, cell, rig):
    bench.select_option("[name=kind]", "brimful")
    bench.get_by_role("button", name="Begin").click()
    bench.get_by_role("button", name="Ready: read it now").click()
    expect(bench.locator("#part")).to_be_visible()
    for wave in range(60):  # somebody's hand on it, for a minute
        cell.bears(20.0 * (wave % 2), 1.0)
    expect(bench.locator("#trouble")).to_contain_text("did not come to rest")
    ready(bench, cell, 0.0)
    expect(bench.locator("#trouble")).to_be_hidden()
    bench.get_by_role("button", name="Once more").click()
    expect(bench.locator("#taken li")).to_have_count(0)
    bench.get_by_role("button", name="Stop here").click()
    expect(bench.locator("#says")).to_contain_text("Not all steps are done")
    bench.get_by_role("button", name="Close").click()
    expect(bench.locator("#begin")).to_be_visible()


def test_what_cannot_be_begun_is_told(bench, rig):
    bench.select_option("[name=kind]", "load")
    bench.locator("[data-option=masses]").fill("a brick")
    bench.get_by_role("button", name="Begin").click()
    expect(bench.locator("#error")).to_contain_text('"a brick" is no known mass')
    expect(bench.locator("[data-option=masses]")).to_have_value("a brick")


@pytest.mark.parametrize("width", [390, 1366, 1920])
def test_it_fits_and_axe_finds_nothing(bench, cell, width):
    bench.set_viewport_size({"width": width, "height": 844})
    for kind in ("check", "load", "surface", "rim", "tub", "brimful"):
        bench.select_option("[name=kind]", kind)
        assert bench.locator(".options:visible").count() == 1
    bench.get_by_role("button", name="Begin").click()
    ready(bench, cell, 0.0)
    assert bench.evaluate("document.documentElement.scrollWidth") <= width
    found = Axe().run(bench).response
    assert found["passes"]
    assert [v["id"] for v in found["violations"] if v["impact"] in ("serious", "critical")] == []


def test_the_bench_is_behind_the_pin(rig):
    guarded = create_app(rig, pin="4711", secret="only for tests").test_client()
    assert guarded.get("/desk/bench").location == "/desk/pin"
    assert guarded.post("/desk/bench/look", json={}).status_code == 401
    guarded.post("/desk/pin", json={"pin": "4711"})
    assert guarded.post("/desk/bench/look", json={}).json["kind"] == ""
    refused = guarded.post("/desk/bench/begin", json={"kind": "soup"})
    assert refused.status_code == 409 and "soup" in refused.json["what"]
