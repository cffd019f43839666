"""The Desk in a real browser: by keyboard, on a phone, and when the rig says no."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from flask import Flask
from playwright.sync_api import Page, expect

from dashboard import create_app
from rig.errors import SetupInvalid

FOCUSED = "document.activeElement"


@pytest.fixture
def desk(page: Page, address: str) -> Page:
    page.goto(f"{address}/desk")
    expect(page.locator(".pick").first).to_be_visible()
    return page


def tab_to(page: Page, selector: str) -> None:
    """Press Tab until the focus is there; fail when it cannot be reached."""
    for _ in range(60):
        if page.evaluate(f"{FOCUSED}.matches({selector!r})"):
            assert page.evaluate(f"getComputedStyle({FOCUSED}).outlineStyle") != "none"
            return
        page.keyboard.press("Tab")
    pytest.fail(f"Tab never reaches {selector}")


def press(page: Page, selector: str) -> None:
    tab_to(page, selector)
    page.keyboard.press("Enter")


def until_called(page: Page, rig: Any, call: tuple[Any, ...]) -> None:
    for _ in range(200):
        if call in rig.calls:
            return
        page.wait_for_timeout(25)
    pytest.fail(f"{call} not among {rig.calls}")


def test_a_whole_trial_by_keyboard(page: Page, address: str, rig: Any, watch: Any) -> None:
    rig.safety_due = True
    rig.publish_class()
    page.goto(f"{address}/desk")
    expect(page.locator("#safety")).to_be_visible()
    expect(page.locator("#start")).to_have_attribute("aria-disabled", "true")
    press(page, "#start")
    expect(page.locator("#what")).to_have_text("The safety lines come before the first boat.")
    page.evaluate(f"{FOCUSED}.blur()")
    press(page, "[data-action=safety]")
    until_called(page, rig, ("safety_seen",))
    expect(page.locator("#safety")).to_be_hidden()

    tab_to(page, "input[name=boat]")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    chosen = page.evaluate(f"{FOCUSED}.value")
    expect(page.locator("#start")).to_have_text(f"Start: {chosen}")
    page.evaluate(f"{FOCUSED}.blur()")
    press(page, "#start")
    until_called(page, rig, ("start", chosen))
    expect(page.locator("#start")).to_have_attribute("aria-disabled", "true")
    expect(page.locator("#boat")).to_have_text(chosen)

    rig.put_on(12)
    expect(page.locator("#load")).to_have_text("12 washers, 62.8 g ± 0.3 g")
    tab_to(page, "#note")
    page.keyboard.type("a wave came")
    page.keyboard.press("Enter")
    until_called(page, rig, ("note", "a wave came"))
    expect(page.locator("#note")).to_have_value("")

    page.evaluate(f"{FOCUSED}.blur()")
    press(page, "[data-action=sunk]")
    until_called(page, rig, ("sunk",))
    press(page, "[data-action=stop]")
    until_called(page, rig, ("stop",))
    press(page, "#void")
    expect(page.locator("#void-dialog")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.locator("#void-dialog")).to_be_hidden()
    assert ("void",) not in rig.calls
    press(page, "#void")
    press(page, "#void-yes")
    until_called(page, rig, ("void",))

    rig.go_down()
    expect(page.locator("#state")).to_contain_text(rig.result["reason"])
    expect(page.locator("#results li")).to_have_count(2)
    page.evaluate(f"{FOCUSED}.blur()")
    press(page, "[data-action=next]")
    until_called(page, rig, ("next_boat",))
    expect(page.locator("#start")).to_have_text("Start: Pond skaters")
    assert (watch.complaints, watch.strays) == ([], [])


def test_a_button_that_may_not_be_pressed_asks_nothing(desk: Page, rig: Any) -> None:
    expect(desk.locator("[data-action=sunk]")).to_have_attribute("aria-disabled", "true")
    for selector in ("[data-action=sunk]", "[data-action=stop]", "#void"):
        desk.locator(selector).focus()
        desk.keyboard.press("Enter")
        expect(desk.locator("#error")).to_be_visible()
    expect(desk.locator("#void-dialog")).to_be_hidden()
    assert rig.calls == []


def fill_boat(page: Page, **measures: str) -> None:
    if not page.locator("#boat-form").is_visible():
        page.click("#enter summary")
    for name, value in measures.items():
        page.fill(f"#boat-form [name='{name.replace('__', '.')}']", value)


def test_a_boat_is_entered_with_the_measures_of_its_hull(desk: Page, rig: Any) -> None:
    desk.click("#enter summary")
    desk.select_option("[name=hull]", "dish")
    expect(desk.locator("[name='box.length_mm']")).to_be_hidden()
    fill_boat(
        desk,
        label=" Coots ",
        dish__diameter_mm="120,5",
        dish__bottom_diameter_mm="90",
        dish__depth_mm="35",
        mass_g="18.2",
        guess_items="40",
    )
    desk.click("#boat-form button")
    boat = {
        "label": "Coots",
        "hull": "dish",
        "diameter_mm": 120.5,
        "bottom_diameter_mm": 90,
        "depth_mm": 35,
        "mass_g": 18.2,
        "guess_items": 40,
    }
    until_called(desk, rig, ("add_boat", boat))
    expect(desk.locator("#notice")).to_have_text("Added: Coots")
    expect(desk.locator("[name=label]")).to_have_value("")
    expect(desk.locator("#start")).to_have_text("Start: Coots")


def test_nothing_typed_is_lost_by_a_refusal_or_a_reload(desk: Page, rig: Any) -> None:
    rig.refuse = SetupInvalid("depth_mm: about 4 is no number.", "Write it in millimetres.")
    typed = {
        "label": "Coots",
        "box__length_mm": "150",
        "box__beam_mm": "100",
        "box__depth_mm": "about 4",
        "mass_g": "20",
    }
    fill_boat(desk, **typed)
    desk.click("#boat-form button")
    expect(desk.locator("#what")).to_have_text("depth_mm: about 4 is no number.")
    expect(desk.locator("#try-this")).to_have_text("Write it in millimetres.")
    assert rig.calls[-1][1]["depth_mm"] == "about 4"
    for _ in range(2):
        for name, value in typed.items():
            field = desk.locator(f"#boat-form [name='{name.replace('__', '.')}']")
            expect(field).to_have_value(value)
            expect(field).to_be_visible()
        desk.reload()


def test_no_answer_is_told_with_what_to_do(
    page: Page, app: Flask, run_server: Callable[..., Any]
) -> None:
    with run_server(app) as server:
        page.goto(f"http://127.0.0.1:{server.effective_port}/desk")
        expect(page.locator("#start")).to_have_text("Start: Herons")
    page.click("#start")
    expect(page.locator("#what")).to_have_text("No answer from the rig.")
    expect(page.locator("#try-this")).to_contain_text("rig's network")


@pytest.fixture
def guarded(rig: Any, run_server: Callable[..., Any]) -> Iterator[str]:
    with run_server(create_app(rig, pin="4711", secret="only for tests")) as server:
        yield f"http://127.0.0.1:{server.effective_port}"


def test_the_pin_by_keyboard(page: Page, guarded: str) -> None:
    page.goto(f"{guarded}/desk")
    assert page.url == f"{guarded}/desk/pin"
    page.keyboard.type("0000")
    page.keyboard.press("Enter")
    expect(page.locator("#error")).to_contain_text("That is not the PIN.")
    page.keyboard.type("4711")
    page.keyboard.press("Enter")
    page.wait_for_url(f"{guarded}/desk")
    expect(page.locator("#start")).to_have_text("Start: Herons")


def test_a_desk_logged_out_says_so_and_keeps_the_boat(page: Page, guarded: str) -> None:
    page.goto(f"{guarded}/desk/pin")
    page.fill("#pin", "4711")
    expect(page.locator("#pin-form button")).to_be_enabled()  # its script has come
    page.keyboard.press("Enter")
    page.wait_for_url(f"{guarded}/desk")
    fill_boat(page, label="Coots")
    page.context.clear_cookies()
    page.click("[data-action=next]")
    page.click("#to-pin")
    page.fill("#pin", "4711")
    expect(page.locator("#pin-form button")).to_be_enabled()  # its script has come
    page.keyboard.press("Enter")
    page.wait_for_url(f"{guarded}/desk")
    expect(page.locator("[name=label]")).to_have_value("Coots")


def test_a_recording_is_downloaded(desk: Page) -> None:
    with desk.expect_download() as waiting:
        desk.click("#results a")
    assert waiting.value.suggested_filename == "trial-2.rec"


@pytest.mark.parametrize("width", [390, 320, 1366])
def test_it_fits_and_is_easy_to_hit(desk: Page, rig: Any, width: int) -> None:
    desk.set_viewport_size({"width": width, "height": 800})
    rig.results.append(rig._result(1, "The group with a long label 30", "afloat", 104))
    rig.begin("The group with a long label 30")
    rig.put_on(104)
    desk.click("#enter summary")
    expect(desk.locator("#boat")).to_have_text("The group with a long label 30")
    wide = desk.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1]
    # 44 by 44 CSS pixels: WCAG 2.2, success criterion 2.5.5 Target Size (Enhanced).
    sizes = desk.eval_on_selector_all(
        "button, input:not([type=radio]), select, .pick, summary",
        "all => all.filter(e => e.checkVisibility()).map(e => [e.offsetWidth, e.offsetHeight])",
    )
    assert len(sizes) > 12
    assert min(min(size) for size in sizes) >= 44


def test_axe_finds_nothing_serious_on_the_desk(desk: Page, rig: Any) -> None:
    rig.safety_due = True
    rig.begin("Herons")
    rig.put_on(12)
    desk.click("#enter summary")
    desk.locator("#start").focus()
    desk.keyboard.press("Enter")
    expect(desk.locator("#error")).to_be_visible()
    found = Axe().run(desk).response
    assert found["passes"]
    assert [v for v in found["violations"] if v["impact"] in ("serious", "critical")] == []


def test_axe_finds_nothing_serious_on_the_pin_page(page: Page, guarded: str) -> None:
    page.goto(f"{guarded}/desk/pin")
    found = Axe().run(page).response
    assert found["passes"]
    assert [v for v in found["violations"] if v["impact"] in ("serious", "critical")] == []


COARSE = (
    "The surface gauge is too coarse for this tub: the water rises 0.04 mm for 1 item (2.5 g),"
    " 0.21 mm for 5 items (12.5 g), 0.42 mm for 10 items (25.0 g); the surface gauge tells 0.40 mm"
    " apart at best. Use a tub of 313 cm2 or less, fit a rim gauge, or add 10 items (25.0 g) or"
    " more at a time."
)


@pytest.mark.parametrize("size", [(390, 844), (1366, 768)])
def test_what_the_rig_is_too_coarse_for_stands_on_the_desk_before_a_trial(
    desk: Page, rig: Any, size: tuple[int, int]
) -> None:
    desk.set_viewport_size({"width": size[0], "height": size[1]})
    before = desk.locator("#before")
    expect(before).to_be_hidden()
    rig.before_class = [COARSE]
    rig.publish_class()
    expect(before.locator("li")).to_have_text(COARSE)
    expect(before.locator("li")).to_be_visible()
    expect(desk.locator("#error")).to_be_hidden()  # no alarm
    assert desk.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    rig.begin()
    expect(before).to_be_hidden()
    rig.put_on(3)
    rig.end("afloat", "It was still afloat when the test ended.")
    expect(before).to_be_visible()
    rig.before_class = [f"Boat {n}. {COARSE}" for n in range(8)]
    rig.publish_class()
    expect(before.locator("li").first).to_be_hidden()  # many lines wait until they are asked for
    before.locator("summary").click()
    expect(before.locator("li")).to_have_count(8)
    rig.publish_class()
    expect(before.locator("li").last).to_be_visible()  # and stay as the teacher left them


def test_a_range_stands_beside_a_count_that_is_not_sure(desk: Page, rig: Any) -> None:
    rig.begin()
    rig.put_on(31)
    rig.end("swamped", "It was full: the water came over the rim.")
    rig.result |= {"held_items_low": 30, "held_items_high": 32}
    rig.results[0] |= {"held_items_low": 30, "held_items_high": 32}
    rig.publish_trial()
    rig.publish_class()
    expect(desk.locator("#load")).to_have_text(
        "carried 31 washers (30 to 32), 161.6 g \u00b1 0.3 g"
    )
    expect(desk.locator("#results li").first).to_contain_text("31 washers (30 to 32), sank")


@pytest.mark.parametrize("width", [390, 1366])
def test_going_on_by_hand_when_the_scale_is_out(
    page: Page, address: str, rig: Any, width: int
) -> None:
    page.set_viewport_size({"width": width, "height": 800})
    now = {"phase": "holding", "load_g": 25.0, "load_g_sd": 0.1, "items": 10, "freeboard_mm": None}
    rig.live.publish("now", {**now, "counting": False, "freeboard_mm": 20.0})
    page.goto(f"{address}/desk")
    expect(page.locator(".pick").first).to_be_visible()
    expect(page.locator("#by-hand")).to_be_hidden()
    expect(page.locator("#ruler-form")).to_be_hidden()

    rig.live.publish("now", {**now, "counting": True})
    expect(page.locator("#by-hand")).to_be_visible()
    for button in page.locator("[data-count]").all():
        box = button.bounding_box()
        assert box["height"] >= 44 and box["width"] >= 44 and box["x"] + box["width"] <= width
    page.locator("[data-count='5']").click()
    page.locator("[data-count='-1']").click()
    page.locator("#ruler").fill("12,5")
    page.keyboard.press("Enter")
    until_called(page, rig, ("ruler", 12.5))
    assert rig.calls[-3:] == [("count", 5), ("count", -1), ("ruler", 12.5)]
    expect(page.locator("#notice")).to_have_text("Kept: 12,5 mm.")
    found = Axe().run(page).response["violations"]
    assert [v["id"] for v in found if v["impact"] in ("serious", "critical")] == []


def test_the_desk_says_how_many_to_call_next(desk: Page, rig: Any) -> None:
    rig.begin("Herons")
    rig.put_on(12)
    expect(desk.locator("#call")).to_have_text("")
    rig.say_again(call_items=10)
    expect(desk.locator("#call")).to_have_text("call next: add 10")
    rig.say_again(phase="sinking", call_items=None)
    expect(desk.locator("#call")).to_have_text("")
