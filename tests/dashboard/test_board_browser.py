"""The Board in a real browser, while a canned trial plays."""

from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from flask import Flask
from playwright.sync_api import BrowserContext, Page, Route, expect

SIZES = [(1920, 1080), (1366, 768), (1280, 720), (390, 844), (320, 640)]
CHART = "document.getElementById('chart')"
BAND, PREDICTED, TRAIL, MEASURED, NOW = range(5)  # the chart's lines, from the back to the front


def until(page: Page, expression: str) -> None:
    """Wait for an expression to be true (`wait_for_function` would need eval in the page)."""
    for _ in range(300):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"never true: {expression}")


def open_board(page: Page, address: str) -> None:
    """Open the Board and wait until it follows the rig."""
    page.goto(address)
    expect(page.locator("#boat")).to_have_text("Tub by the window")


def points(page: Page, trace: int, count: int) -> tuple[list[float], list[float]]:
    """Wait until a trace of the chart has so many points; return them."""
    until(page, f"{CHART}.data?.[{trace}]?.x.length === {count}")
    x, y = page.evaluate(f"[{CHART}.data[{trace}].x, {CHART}.data[{trace}].y]")
    return x, y


def serious(page: Page) -> list[str]:
    """What axe-core finds and calls serious or critical."""
    found = Axe().run(page).response
    assert found["passes"], "axe-core looked at nothing"
    return [
        f"{v['id']}: {node['html'][:90]}"
        for v in found["violations"]
        if v["impact"] in ("serious", "critical")
        for node in v["nodes"]
    ]


def test_numbers_and_boat_show_while_the_chart_script_hangs(
    page: Page, address: str, rig: Any
) -> None:
    held_back: list[Route] = []
    page.route("**/asset/plotly*", lambda route: held_back.append(route))
    open_board(page, address)
    rig.begin("Herons")
    rig.put_on(12)
    expect(page.locator("#boat")).to_have_text("Herons")
    expect(page.locator("#load-big")).to_have_text("12")
    expect(page.locator("#load-name")).to_have_text("washers on board")
    expect(page.locator("#load-small")).to_have_text("62.8 g ± 0.3 g")
    wall = f"{rig.curve[-1]['freeboard_mm']:.1f}"
    expect(page.locator("#wall-big")).to_have_text(f"{wall}\u202fmm")
    expect(page.locator("#wall-small")).to_have_text("freeboard ± 0.4 mm")
    expect(page.locator("#hull .shell")).to_be_visible()
    expect(page.locator("#hull .item")).to_have_count(12)
    expect(page.locator("#hull text")).to_have_text(f"{wall} mm")
    expect(page.locator("#chart .coming")).to_be_visible()
    assert len(held_back) == 1, "the script was not asked for, so nothing was shown"
    assert page.evaluate("typeof Plotly") == "undefined"
    held_back[0].abort()


def test_state_and_hold_in_words_and_number(page: Page, address: str, rig: Any) -> None:
    open_board(page, address)
    rig.begin("Herons")
    expect(page.locator("#state")).to_have_text("Hands off! The rig is getting ready")
    expect(page.locator("#hold")).to_be_hidden()
    rig.put_on(12)  # holding, 2.6 of 5 s left
    expect(page.locator("#hold")).to_have_text("3 s")
    part = page.evaluate(
        "document.querySelector('.hold-bar').getBoundingClientRect().width /"
        "document.querySelector('.state').clientWidth"
    )
    expect(page.locator(".mark-holding")).to_be_visible()
    until(
        page,
        "Math.abs(document.querySelector('.hold-bar').offsetWidth /"
        "document.querySelector('.state').clientWidth - 2.6 / 5) < 0.01",
    )
    assert part <= 1
    rig.say_now("holding", items=12, hold_left_s=0.0, state_text="It holds! Add more.")
    expect(page.locator("#state")).to_have_text("It holds! Add more.")
    expect(page.locator("#hold")).to_be_hidden()
    expect(page.locator(".mark-adding")).to_be_visible()


def test_the_chart_shows_prediction_plateaus_and_the_live_point(
    page: Page, address: str, rig: Any, watch: Any
) -> None:
    open_board(page, address)
    rig.begin("Herons")
    for items in (12, 10, 8):
        rig.put_on(items)
    assert points(page, MEASURED, 3) == ([12, 22, 30], [p["freeboard_mm"] for p in rig.curve])
    assert page.evaluate(f"{CHART}.data[{MEASURED}].error_y.array") == [0.4, 0.4, 0.4]
    predicted_x, predicted_y = points(page, PREDICTED, 41)
    assert predicted_x[-1] == pytest.approx(rig._capacity_g() / 5.2)
    assert predicted_y[-1] == pytest.approx(0, abs=1e-9)
    assert points(page, NOW, 1)[0] == [30]
    trail = points(page, TRAIL, 13)[0]  # taring once, then four messages for each addition
    assert trail == [0, 4, 8, 12, 12, 15, 19, 22, 22, 25, 27, 30, 30]
    expect(page.locator("#chart .main-svg").first).to_be_visible()
    expect(page.locator("#chart")).to_contain_text("washers on board")
    expect(page.locator("#points tr")).to_have_count(3)
    expect(page.locator("#points tr").first).to_contain_text("12 washers")
    assert (watch.complaints, watch.strays) == ([], [])


def test_a_page_opened_late_shows_the_live_point_too(page: Page, address: str, rig: Any) -> None:
    rig.begin("Herons")
    rig.put_on(12)  # the newest trial message comes after the newest numbers
    page.goto(address)
    assert points(page, MEASURED, 1)[0] == [12]
    assert points(page, NOW, 1)[0] == [12]
    told = next(m.data for m in rig.live.latest() if m.topic == "trial")
    rig.live.publish("trial", {**told, "number": 4, "boat": "Pond skaters"})
    assert points(page, NOW, 0) == ([], [])  # the last numbers are of the other trial


def test_a_rig_without_items_speaks_in_grams(page: Page, address: str, rig: Any) -> None:
    open_board(page, address)
    rig.begin("Herons")
    told = next(m.data for m in rig.live.latest() if m.topic == "rig")
    rig.live.publish("rig", {**told, "item": None})
    now = {"trial_number": 3, "phase": "adding", "at_s": 4.0, "load_g": 137.42, "load_g_sd": 1.3}
    rig.live.publish("now", {**now, "items": None, "freeboard_mm": None, "draft_mm": None})
    expect(page.locator("#load-big")).to_have_text("137\u202fg")
    expect(page.locator("#load-small")).to_have_text("± 1 g")
    expect(page.locator("#wall-big")).to_have_text("\u2013")
    expect(page.locator("#bar-archimedes .amount")).to_have_text(f"{rig._capacity_g():.1f} g")
    expect(page.locator("#chart")).to_contain_text("grams on board")


def test_the_result_with_its_reason_against_the_prediction(
    page: Page, address: str, rig: Any, watch: Any
) -> None:
    open_board(page, address)
    rig.begin("Herons")
    rig.put_on(50)
    rig.go_down()
    rig.say_now("idle", at_s=None)
    assert points(page, NOW, 0) == ([], [])
    assert points(page, TRAIL, 5)[0] == [0, 17, 33, 50, 50]  # the trail stays to be looked at
    expect(page.locator("#state")).to_have_text("Down it went!")
    expect(page.locator("#reason")).to_have_text(rig.result["reason"])
    expect(page.locator("#load-big")).to_have_text("50")
    expect(page.locator("#load-name")).to_have_text("washers carried")
    expect(page.locator("#bar-guess .amount")).to_have_text("48 washers")
    predicted = rig.result["predicted_capacity_items"]
    expect(page.locator("#bar-archimedes .amount")).to_have_text(f"{predicted} washers")
    expect(page.locator("#bar-held .amount")).to_have_text("50 washers")
    widths = page.eval_on_selector_all(".bar", "bars => bars.map(bar => bar.offsetWidth)")
    assert widths[1] > widths[2] > widths[0] > 0
    expect(page.locator("#results li")).to_have_count(2)
    expect(page.locator("#results li").first).to_contain_text("Herons")
    expect(page.locator("#next")).to_have_text("Next: Pond skaters")
    expect(page.locator("#spoken")).to_contain_text(rig.result["reason"])
    expect(page.locator(".boat.down")).to_be_attached()
    assert (watch.complaints, watch.strays) == ([], [])


def test_a_broken_line_is_taken_up_again_without_losing_a_point(
    page: Page, app: Flask, rig: Any, run_server: Callable[..., Any]
) -> None:
    with run_server(app) as server:
        port = server.effective_port
        open_board(page, f"http://127.0.0.1:{port}/")
        page.evaluate("window.sameLife = true")
        rig.begin("Herons")
        rig.put_on(12)
        points(page, TRAIL, 5)
    rig.put_on(10)  # nobody serves this
    rig.put_on(8)
    with run_server(app, port=port):
        assert points(page, MEASURED, 3)[0] == [12, 22, 30]
        assert points(page, TRAIL, 13)[0] == [0, 4, 8, 12, 12, 15, 19, 22, 22, 25, 27, 30, 30]
        rig.put_on(5)
        expect(page.locator("#load-big")).to_have_text("35")
    assert page.evaluate("window.sameLife") is True


def test_a_page_without_a_seat_polls(
    page: Page, app: Flask, rig: Any, run_server: Callable[..., Any]
) -> None:
    with run_server(app, viewers=0) as server:
        page.goto(f"http://127.0.0.1:{server.effective_port}/")
        rig.begin("Herons")
        rig.put_on(12)
        expect(page.locator("#load-big")).to_have_text("12")
        rig.put_on(7)
        expect(page.locator("#load-big")).to_have_text("19")


def test_a_page_that_polls_takes_a_free_seat_and_goes_on_where_it_was(
    page: Page, app: Flask, rig: Any, run_server: Callable[..., Any]
) -> None:
    page.clock.install()
    with run_server(app, viewers=0) as server:
        open_board(page, f"http://127.0.0.1:{server.effective_port}/")
        newest = rig.live.latest()[-1].id
        app.config["VIEWERS"] = 1
        with page.expect_request(f"**/live?after={rig.live.run}-{newest}"):
            page.clock.fast_forward(16_000)
        rig.begin("Herons")
        expect(page.locator("#boat")).to_have_text("Herons")
        assert app.extensions["seats"].taken == 1


def test_stale_numbers_are_called_old_until_they_are_fresh(
    page: Page, app: Flask, rig: Any, run_server: Callable[..., Any]
) -> None:
    page.clock.install()  # so that four silent seconds take no four seconds
    slip = page.locator("#slip")
    with run_server(app) as server:
        port = server.effective_port
        page.goto(f"http://127.0.0.1:{port}/")
        rig.begin("Herons")
        expect(page.locator("#boat")).to_have_text("Herons")
        expect(slip).to_be_hidden()
    page.clock.fast_forward(6000)
    expect(slip).to_have_text("Lost touch with the rig. These numbers are old.")
    with run_server(app, port=port):
        page.clock.fast_forward(6000)
        expect(slip).to_be_hidden()


def test_trouble_with_a_sensor_is_told_quietly(page: Page, address: str, rig: Any) -> None:
    """The Board has words of its own; what the teacher has to do stands on the Desk."""
    open_board(page, address)
    rig.begin("Herons")
    slip = page.locator("#slip")
    for channel, ailment, said in (
        ("load", "silent", "The scale is not working."),
        ("rim", "no echo", "cannot see the flag"),
        ("surface", "frozen", "cannot see the water"),
        ("board", "silent", "No news from the rig."),
        ("board", "restarted", "woke up again"),
        ("something new", "odd", "needs a look"),
    ):
        fault = {"channel": channel, "ailment": ailment, "text": "Push /dev/ttyACM0 in."}
        rig.live.publish("source", {"ok": False, "text": fault["text"], "faults": [fault]})
        expect(slip).to_contain_text(said)
        expect(slip).not_to_contain_text("/dev")
    rig.live.publish("source", {"ok": False, "text": "The disk is full.", "faults": []})
    expect(slip).to_have_text("The rig needs a look from your teacher.")
    rig.live.publish("source", {"ok": True, "text": "All there.", "faults": []})
    expect(slip).to_be_hidden()


def test_a_count_that_is_not_sure_says_so(page: Page, address: str, rig: Any) -> None:
    open_board(page, address)
    rig.begin("Herons")
    rig.put_on(31)
    rig.end("swamped", "It was full: the water came over the rim.")
    expect(page.locator("#load-small")).not_to_contain_text("may be")
    rig.result |= {"held_items_low": 30, "held_items_high": 32}
    rig.results[0] |= {"held_items_low": 30, "held_items_high": 32}
    rig.publish_trial()
    rig.publish_class()
    expect(page.locator("#load-big")).to_have_text("31")
    expect(page.locator("#load-small")).to_contain_text("It may be 30 to 32.")
    expect(page.locator("#bar-held .amount")).to_have_text("31 washers (30 to 32)")
    expect(page.locator("#results li").first).to_contain_text("31 (30 to 32) sank")


@pytest.mark.parametrize("demo", [True, False])
def test_invented_data_say_so(page: Page, address: str, rig: Any, demo: bool) -> None:
    rig.publish_rig(demo=demo)
    page.goto(address)
    expect(page.locator("#boat")).to_have_text("Tub by the window")
    expect(page.get_by_text("Invented demo data")).to_be_visible(visible=demo)


def test_a_label_is_text_and_nothing_else(page: Page, address: str, rig: Any, watch: Any) -> None:
    label = "<img src=x onerror=alert(1)>"
    open_board(page, address)
    rig.begin(label)
    rig.put_on(3)
    rig.go_down()
    expect(page.locator("#boat")).to_have_text(label)
    expect(page.locator("#results li").first).to_contain_text(label)
    assert page.locator("img").count() == 0
    assert watch.complaints == []


def test_redraws_are_four_a_second_at_most(page: Page, address: str, rig: Any) -> None:
    open_board(page, address)
    rig.begin("Herons")
    points(page, NOW, 1)
    page.evaluate(
        "() => { const draw = Plotly.react; window.times = []; Plotly.react = (...all) =>"
        " { window.times.push(performance.now()); return draw(...all); }; }"
    )
    for n in range(60):
        rig.say_now("adding", items=n % 40, at_s=10.0 + n)
        page.wait_for_timeout(10)
    until(page, f"{CHART}.data[{TRAIL}].x.length === 61")
    gaps = page.evaluate("window.times.slice(1).map((t, i) => t - window.times[i])")
    assert len(gaps) >= 1 and min(gaps) > 240


CUT_OFF = """() => [...document.querySelectorAll('h1, h2, .state, #state, .figure p, dt, .amount')]
    .filter(e => e.offsetParent && (e.scrollWidth > e.clientWidth + 1 && e.clientWidth
      || e.getBoundingClientRect().right > innerWidth)).map(e => e.id || e.textContent)"""
OVERLAPPING = """() => {
    const boxes = [...document.querySelectorAll(
      'h1, #state, #hold, .figure p, #room, #reason, .hull, .chart, .compare, .results')]
      .filter(e => e.offsetParent).map(e => [e.id || e.className, e.getBoundingClientRect()]);
    return boxes.flatMap(([a, p], i) => boxes.slice(i + 1).filter(([b, q]) =>
      p.left < q.right - 1 && q.left < p.right - 1 && p.top < q.bottom - 1 && q.top < p.bottom - 1
    ).map(([b]) => `${a} over ${b}`)); }"""
FONT_SIZES = """() => [...document.querySelectorAll('p, dt, .amount, li, h2, #chart text')]
    .filter(e => e.getClientRects().length && !e.closest('.spoken'))
    .map(e => parseFloat(getComputedStyle(e).fontSize))"""


@pytest.mark.parametrize("item", ["washer (invented)", "galvanised steel washer, M10, very thick"])
def test_everything_fits_every_screen(page: Page, address: str, rig: Any, item: str) -> None:
    open_board(page, address)
    told = next(m.data for m in rig.live.latest() if m.topic == "rig")
    rig.live.publish("rig", {**told, "item": {"name": item, "mass_g": 5.2}})
    rig.begin("The group with a long label 30")
    for _ in range(3):
        rig.put_on(34)
    points(page, MEASURED, 3)
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        until(
            page,
            f"Math.abs({CHART}.querySelector('.main-svg').clientWidth - {CHART}.clientWidth) < 2",
        )
        on_a_wall = width >= 1280
        across = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert across[0] <= across[1], (width, height)
        down = page.evaluate("[document.documentElement.scrollHeight, innerHeight]")
        assert down[0] <= down[1] or not on_a_wall, (width, height)
        assert page.evaluate(CUT_OFF) == [], (width, height)
        assert page.evaluate(OVERLAPPING) == [], (width, height)
        # Readable from the back, common practice, no source: no letter below a 48th of a wall.
        smallest = min(page.evaluate(FONT_SIZES))
        assert smallest >= (height / 48 if on_a_wall else 13), (width, height)


def test_the_end_fits_too(page: Page, address: str, rig: Any) -> None:
    open_board(page, address)
    rig.begin("Herons")
    rig.put_on(115)  # more than the level rim says, less than a dry rim allows
    rig.end("heeled", "There was room left (260 g), yet it went down at once: it tipped over.")
    expect(page.locator("#fits-too")).to_be_visible()
    points(page, MEASURED, 1)
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        across, down = page.evaluate(
            "(e => [e.scrollWidth - innerWidth, e.scrollHeight - innerHeight])"
            "(document.documentElement)"
        )
        assert across <= 0 and (down <= 0 or width < 1280), (width, height)
        assert page.evaluate(CUT_OFF) == [], (width, height)
        assert page.evaluate(OVERLAPPING) == [], (width, height)


def test_nothing_moves_where_the_person_asked_for_calm(page: Page, address: str, rig: Any) -> None:
    page.emulate_media(reduced_motion="reduce")
    open_board(page, address)
    rig.begin("Herons")
    rig.put_on(5)
    page.wait_for_selector("#hull .boat .mast", state="attached")
    moving = page.evaluate("document.getAnimations().length")
    assert moving == 0
    page.emulate_media(reduced_motion="no-preference")
    until(page, "document.getAnimations().length > 0")


def test_axe_finds_nothing_serious_on_the_board(page: Page, address: str, rig: Any) -> None:
    open_board(page, address)
    assert serious(page) == []
    rig.begin("Herons")
    rig.put_on(12)
    points(page, MEASURED, 1)
    assert serious(page) == []
    page.set_viewport_size({"width": 390, "height": 844})
    rig.go_down()
    expect(page.locator("#reason")).to_be_visible()
    assert serious(page) == []


def test_several_pages_follow_at_once(context: BrowserContext, address: str, rig: Any) -> None:
    pages = [context.new_page() for _ in range(2)]
    for each in pages:
        each.goto(address)
    rig.begin("Herons")
    rig.put_on(9)
    for each in pages:
        expect(each.locator("#load-big")).to_have_text("9")
