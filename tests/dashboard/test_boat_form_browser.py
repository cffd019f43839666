"""The boat form in a real browser: drawings, twins, sections; and what is foretold of a boat."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from dashboard.boat_drawing import DRAWN, drawn, hull_so_far
from rig.physics.drawing import example
from rig.setup import boat_from_dict


@pytest.fixture
def form(page, address, watch):
    page.goto(f"{address}/desk")
    page.locator("#enter summary").click()
    yield page
    assert watch.complaints == [] and watch.strays == []


def letters_shown(page):
    return page.eval_on_selector_all(
        "#drawing .letter", "nodes => nodes.map(node => node.textContent).sort()"
    )


@pytest.mark.parametrize("family", DRAWN)
def test_every_family_draws_its_example_with_the_letters_of_its_fields(form, family):
    form.select_option("[name=hull]", family)
    wanted = sorted(letter for letter in drawn(example(family))["letters"].values() if letter)
    form.wait_for_function(
        "wanted => JSON.stringify([...document.querySelectorAll('#drawing .letter')]"
        ".map(n => n.textContent).sort()) === JSON.stringify(wanted)",
        arg=wanted,
    )
    if family != "sections":  # its rows are the drawing's own table
        fields = form.locator("#boat-form label:visible [data-letter-of]").all_inner_texts()
        assert sorted(fields) == wanted


def test_the_drawing_follows_what_is_typed_and_the_field_in_hand_stands_out(form):
    def width():
        points = form.locator("#drawing svg").first.locator(".hull").get_attribute("points")
        xs = [float(point.split(",")[0]) for point in points.split()]
        return max(xs) - min(xs)

    before = width()
    for key, value in (("length_mm", "60"), ("beam_mm", "60"), ("depth_mm", "60")):
        form.locator(f'[name="box.{key}"]').fill(value)
    form.wait_for_function(
        "before => { const xs = document.querySelector('#drawing .hull').getAttribute('points')"
        ".split(' ').map(p => Number(p.split(',')[0]));"
        " return Math.abs(Math.max(...xs) - Math.min(...xs) - before) > 1; }",
        arg=before,
    )
    form.locator('[name="box.beam_mm"]').focus()
    expect(form.locator("#drawing .in-hand .letter")).to_have_text("B")
    form.locator('[name="box.depth_mm"]').focus()
    expect(form.locator("#drawing .in-hand .letter")).to_have_text("C")


def fill_in(form, values):
    for name, value in values.items():
        form.locator(f'[name="{name}"]').fill(value)


def test_a_twin_is_sent_as_a_boats_file_has_it(form, rig):
    form.select_option("[name=hull]", "twin")
    form.select_option("[name=each]", "trough")
    fill_in(form, {"label": "Ducks", "twin.spacing_mm": "150", "trough.length_mm": "160",
                   "trough.beam_mm": "70", "trough.depth_mm": "35", "mass_g": "30"})  # fmt: skip
    form.locator("#boat-form button").last.click()
    expect(form.locator("#notice")).to_have_text("Added: Ducks")
    ((_, table),) = [call for call in rig.calls if call[0] == "add_boat"]
    boat = boat_from_dict(table)
    assert boat.hull.family == "twin" and boat.hull.each.family == "trough"
    # two half cylinders of 35 mm radius, 160 mm long
    half_ml = 3.14159265 * 35**2 / 2 * 160 / 1000
    assert boat.hull.volume_ml(boat.hull.depth_mm) == pytest.approx(2 * half_ml, rel=1e-8)


@pytest.mark.parametrize(("shape", "part"), [("box", 1), ("oval", 0.785398163), ("pointed", 5 / 6)])
def test_sections_are_sent_by_length_and_width(form, rig, shape, part):
    """Upright walls: the volume is the outline's area by the height."""
    form.select_option("[name=hull]", "sections")
    form.select_option("[name=form]", shape)
    fill_in(form, {"label": "Ducks", "row0.height_mm": "0", "row0.length_mm": "120",
                   "row0.beam_mm": "60", "row1.height_mm": "40", "row1.length_mm": "120",
                   "row1.beam_mm": "60", "mass_g": "30"})  # fmt: skip
    form.locator("#boat-form button").last.click()
    expect(form.locator("#notice")).to_have_text("Added: Ducks")
    ((_, table),) = [call for call in rig.calls if call[0] == "add_boat"]
    hull = boat_from_dict(table).hull
    assert hull.volume_ml(40) == pytest.approx(part * 120 * 60 * 40 / 1000, rel=1e-8)


def test_half_a_boat_is_drawn_by_its_example():
    assert hull_so_far({"hull": "tray", "length_mm": 100}) == example("tray")
    assert hull_so_far({"hull": "tray", "length_mm": "wide"}) == example("tray")
    assert hull_so_far({"hull": "no such"}) == example("box")
    assert hull_so_far({}) == example("box")
    twin = hull_so_far({"hull": "twin", "each": {"hull": "dish"}})
    assert (twin.family, twin.each) == ("twin", example("dish"))
    assert hull_so_far({"hull": "twin", "each": {"hull": "twin"}}) == example("twin")
    assert hull_so_far({"hull": "mesh", "file": "/etc/passwd"}) == example("box")


FORETOLD = {
    "Water striders": {
        "words": "Wide and low: it will fill before it tips.",
        "low_g": 140.0, "high_g": 170.0, "low_items": 56, "high_items": 68,
        "lines": [{"words": "ruler readings", "sd_g": 6.94, "share": 0.62},
                  {"words": "water held back by a dry rim", "sd_g": 5.4, "share": 0.38}],
        "bears": [{"load_g": 41.4, "limit_mm": 31.2, "heel_deg": 39.0}],
    }
}  # fmt: skip


def test_the_desk_tells_what_is_foretold_of_the_boat_chosen(page, address, rig):
    label = next(m.data for m in rig.live.latest() if m.topic == "class")["boats"][0]["label"]
    found = {label: FORETOLD["Water striders"]}
    page.goto(f"{address}/desk")
    expect(page.locator("#foretold-sheet")).to_be_hidden()
    rig.live.publish("foretold", found)
    page.locator("#boats").get_by_text(label, exact=True).click()
    sheet = page.locator("#foretold-sheet")
    expect(sheet).to_contain_text("it will fill before it tips")
    expect(sheet).to_contain_text(re.compile(r"Nine times in ten it should carry 56 to 68 \w+"))
    expect(sheet.locator("#foretold-bill tr").first).to_contain_text("± 6.9 g, 62 %")
    expect(sheet.locator("#foretold-bears tr").first).to_contain_text("31 mm, leaning 39° by then")
    axe = Axe().run(page).response
    assert [v["id"] for v in axe["violations"] if v["impact"] in ("serious", "critical")] == []
    rig.live.publish("foretold", {label: {"trouble": "This boat goes down empty. Weigh it again."}})
    expect(sheet).to_contain_text("goes down empty")
    expect(page.locator("#foretold-bill")).to_be_hidden()


@pytest.mark.parametrize("size", [(390, 844), (1366, 768), (1920, 1080)])
def test_the_board_says_what_comes_first_until_the_test_is_over(page, address, rig, watch, size):
    page.set_viewport_size({"width": size[0], "height": size[1]})
    rig.begin("Herons")
    rig.put_on(12)
    rig.live.publish("foretold", {"Herons": FORETOLD["Water striders"]})
    page.goto(address)
    expect(page.locator("#outlook")).to_have_text("Wide and low: it will fill before it tips.")
    if size[0] > 1000:
        assert page.evaluate("document.documentElement.scrollHeight") <= size[1]
    assert watch.complaints == []
