"""Room left, the band around Archimedes' line, and the dry rim, on Board and Desk."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

CHART = "document.getElementById('chart')"
FULL = 111  # washers that the canned boat carries with its rim level; its forecast, give or take 6
ROOM_12 = "Room left: about 99 washers (93 to 105)"


@pytest.fixture
def board(page: Page, address: str) -> Page:
    page.goto(address)
    expect(page.locator("#boat")).to_have_text("Tub by the window")
    return page


def until(page: Page, expression: str) -> None:
    for _ in range(300):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"never true: {expression}")


def test_room_left_is_told_from_the_first_load_to_the_sinking(board: Page, rig: Any) -> None:
    room = board.locator("#room")
    expect(room).to_be_hidden()
    rig.begin("Herons")
    expect(board.locator("#boat")).to_have_text("Herons")
    expect(room).to_be_hidden()  # the empty rig is being weighed
    rig.put_on(12)
    expect(room).to_have_text(ROOM_12)
    rig.put_on(30)
    expect(room).to_have_text("Room left: about 69 washers (63 to 75)")
    rig.say_again(phase="sinking")
    expect(room).to_be_hidden()
    rig.say_again(phase="holding")
    expect(room).to_be_visible()
    rig.end("afloat", "It was still afloat when the test ended.")
    expect(board.locator("#state")).to_have_text("Still afloat!")
    rig.say_again(phase="holding", forecast=rig._forecast(42))
    expect(board.locator("#load-name")).to_have_text("washers carried")
    expect(room).to_be_hidden()


@pytest.mark.parametrize(("width", "height"), [(1920, 1080), (1366, 768), (1280, 720)])
def test_room_left_is_read_from_the_back_row(
    board: Page, rig: Any, width: int, height: int
) -> None:
    board.set_viewport_size({"width": width, "height": height})
    rig.begin("Herons")
    rig.put_on(12)
    expect(board.locator("#room-big")).to_have_text("about 99 washers")
    size = board.evaluate(
        "parseFloat(getComputedStyle(document.getElementById('room-big')).fontSize)"
    )
    # A twentieth of the height: common practice for a title on a slide, no source.
    assert size >= height / 20
    number, spread = board.evaluate(
        "['room-big', 'room-range'].map("
        "id => document.getElementById(id).getBoundingClientRect().toJSON())"
    )
    assert number["right"] < spread["left"] and spread["top"] < number["bottom"]  # in one line


@pytest.mark.parametrize(
    ("low", "room", "high", "said"),
    [
        (0, 0, 3, "hardly any (0 to 3)"),
        (0, 0, 0, "none"),
        (0, 1, 2, "about 1 washer (0 to 2)"),
        (4, 4, 4, "about 4 washers"),
    ],
)
def test_little_room_is_said_in_words(
    board: Page, rig: Any, low: int, room: int, high: int, said: str
) -> None:
    rig.begin("Herons")
    rig.put_on(12)
    told = {"room_low_items": low, "room_items": room, "room_high_items": high}
    rig.say_again(forecast={**rig._forecast(12), **told})
    expect(board.locator("#room")).to_have_text(f"Room left: {said}", use_inner_text=True)


def test_room_in_grams_where_no_item_is_known(board: Page, rig: Any) -> None:
    rig.begin("Herons")
    rig.put_on(12)
    told = dict.fromkeys(("room_low_items", "room_items", "room_high_items"))
    told |= {"room_low_g": 32.66, "room_g": 43.87, "room_high_g": 57.25}
    rig.say_again(forecast={**rig._forecast(12), **told})
    expect(board.locator("#room")).to_have_text("Room left: about 44 g (33 g to 57 g)")


def test_a_boat_that_is_not_the_one_measured(page: Page, address: str, rig: Any) -> None:
    desk = page.context.new_page()
    page.goto(address)
    desk.goto(f"{address}/desk")
    misfit = desk.locator("#misfit")
    rig.begin("Herons")
    rig.put_on(12)
    expect(page.locator("#room")).to_be_visible()
    expect(misfit).to_have_text("")
    rig.fits = False
    rig.put_on(10)
    expect(page.locator("#load-big")).to_have_text("22")
    expect(page.locator("#room")).to_be_hidden()
    expect(misfit).to_contain_text("measure it again")
    expect(misfit).to_contain_text("the Board shows no room left")
    rig.end("afloat", "It was still afloat when the test ended.")
    expect(misfit).to_have_text("")


def test_the_band_lies_behind_the_line_and_goes_on_below_nought(
    board: Page, rig: Any, watch: Any
) -> None:
    rig.begin("Herons")
    rig.put_on(12)
    until(board, f"{CHART}.data?.[3]?.x.length === 1")
    band = board.evaluate(f"{CHART}.data[0]")
    told = rig._band()
    assert band["fill"] == "toself" and band["name"] == "it may be here"
    assert band["x"] == [p["items"] for p in (*told, *reversed(told))]
    assert band["y"] == [p["low_mm"] for p in told] + [p["high_mm"] for p in reversed(told)]
    assert board.evaluate(f"{CHART}.data[1].name") == "what Archimedes says"
    bottom, top = board.evaluate(f"{CHART}.layout.yaxis.range")
    assert bottom < min(band["y"]) < 0 < max(band["y"]) < top
    assert board.evaluate(f"{CHART}.layout.xaxis.range[1]") > rig.most_g / 5.2
    fill = board.locator("#chart .fills path, #chart path.js-fill").first
    assert fill.evaluate("e => e.getBBox().width > 100 && getComputedStyle(e).fillOpacity") == "0.2"
    expect(board.locator("#chart")).to_contain_text("a dry rim holds back some water")
    told = next(m.data for m in rig.live.latest() if m.topic == "trial")
    deep = [{**point, "low_mm": point["low_mm"] - 20} for point in told["prediction"]["band"]]
    rig.live.publish("trial", {**told, "prediction": {**told["prediction"], "band": deep}})
    until(board, f"{CHART}.layout.yaxis.range[0] < {deep[-1]['low_mm']}")  # nothing is cut off
    assert watch.complaints == []


def test_words_in_the_chart_lie_clear_of_each_other(board: Page, rig: Any) -> None:
    rig.begin("Herons")
    rig.put_on(12)
    for width, height in ((1920, 1080), (1366, 768), (390, 844), (320, 640)):
        board.set_viewport_size({"width": width, "height": height})
        until(
            board,
            f"Math.abs({CHART}.querySelector('.main-svg')?.clientWidth - {CHART}.clientWidth) < 2",
        )
        until(board, f"{CHART}.querySelectorAll('.annotation-text').length === 2")
        board.wait_for_timeout(300)  # one redraw of the chart, which comes at most every 250 ms
        one, two, plot = board.evaluate(
            f"[...{CHART}.querySelectorAll('.annotation-text'), {CHART}.querySelector('.nsewdrag')]"
            ".map(e => e.getBoundingClientRect().toJSON())"
        )
        assert one["bottom"] <= two["top"] + 4 or one["right"] < two["left"], (width, one, two)
        for each in (one, two):
            assert plot["left"] - 1 <= each["left"] < each["right"] <= plot["right"], width
            assert each["bottom"] <= plot["bottom"] + 1, width


def test_archimedes_says_two_numbers(board: Page, rig: Any) -> None:
    rig.begin("Herons")
    most = int(rig.most_g / 5.2)
    assert most > FULL
    expect(board.locator("#bar-archimedes .amount")).to_have_text(f"{FULL} washers")
    expect(board.locator("#most")).to_have_text(f"up to {most} if the rim stays dry")
    bars = board.evaluate(
        "['.bar', '.further'].map(s => document.querySelector('#bar-archimedes ' + s))"
        ".map(e => e.getBoundingClientRect().width)"
    )
    assert bars[1] / bars[0] == pytest.approx((most - FULL) / FULL, rel=0.05)
    sizes = board.evaluate(
        "['.amount', '#most'].map(s => document.querySelector('#bar-archimedes ' + s))"
        ".map(e => parseFloat(getComputedStyle(e).fontSize))"
    )
    assert sizes[1] < sizes[0]
    told = next(m.data for m in rig.live.latest() if m.topic == "trial")
    same = {**told["prediction"], "held_back_items": FULL}
    rig.live.publish("trial", {**told, "prediction": same})
    expect(board.locator("#most")).to_be_hidden()


@pytest.mark.parametrize(
    ("more", "outcome", "said"),
    [(0, "swamped", False), (4, "swamped", True), (4, "afloat", True), (4, "void", False),
     (40, "swamped", False)],
)  # fmt: skip
def test_more_than_the_level_rim_says_is_right_too(
    board: Page, rig: Any, more: int, outcome: str, said: bool
) -> None:
    rig.begin("Herons")
    rig.put_on(FULL + more)
    expect(board.locator("#bar-held .amount")).to_have_text(f"{FULL + more} washers")
    expect(board.locator("#fits-too")).to_be_hidden()  # not before the end
    rig.end(outcome, "A reason.")
    expect(board.locator("#results li").first).to_contain_text("Herons")
    expect(board.locator("#fits-too")).to_be_visible(visible=said)
    expect(board.locator("#fits-too")).to_contain_text("That is right too")
    assert "wrong" not in board.locator("body").inner_text()


def test_only_held_loads_count_as_carried(board: Page, rig: Any) -> None:
    carried = board.locator("#bar-held .amount")
    rig.begin("Herons")
    expect(carried).to_have_text("none yet")
    rig.put_on(12, held=False)
    expect(board.locator("#load-big")).to_have_text("12")
    expect(carried).to_have_text("none yet")
    rig.put_on(10)
    expect(carried).to_have_text("22 washers")
    rig.put_on(8, held=False)
    expect(board.locator("#load-big")).to_have_text("30")
    expect(carried).to_have_text("22 washers")


@pytest.mark.parametrize("phase", ["sinking", "ended"])
def test_a_boat_that_is_down_has_no_freeboard(
    page: Page, address: str, rig: Any, phase: str
) -> None:
    desk = page.context.new_page()
    page.goto(address)
    desk.goto(f"{address}/desk")
    rig.begin("Herons")
    rig.put_on(12)
    expect(page.locator("#wall")).to_be_visible()
    expect(desk.locator("#wall")).to_contain_text("freeboard")
    if phase == "ended":
        rig.go_down()
        rig.say_now("ended", items=12)  # the last numbers the rig had
    else:
        rig.say_again(phase="sinking", state_text="It is going down!")
        expect(page.locator("#state")).to_have_text("It is going down!")
    expect(page.locator("#wall")).to_be_hidden()
    expect(page.locator("#hull text")).to_have_count(0)
    expect(desk.locator("#wall")).to_have_text("")


def test_why_it_went_down_is_said_once(page: Page, address: str, rig: Any) -> None:
    desk = page.context.new_page()
    page.goto(address)
    desk.goto(f"{address}/desk")
    rig.begin("Herons")
    rig.put_on(12)
    rig.go_down()
    said = "Down it went! It was full: the water came over the rim."
    expect(desk.locator("#state")).to_have_text(said)
    expect(page.locator("#reason")).to_have_text(rig.result["reason"])
    expect(page.locator("#spoken")).to_have_text(f"Herons {said}")
    expect(page.locator("#state")).to_have_text("Down it went!")


@pytest.mark.parametrize(
    ("outcome", "headline"), [("afloat", "Still afloat!"), ("void", "This one does not count")]
)
def test_other_endings_need_no_reason(
    page: Page, address: str, rig: Any, outcome: str, headline: str
) -> None:
    desk = page.context.new_page()
    page.goto(address)
    desk.goto(f"{address}/desk")
    rig.begin("Herons")
    rig.put_on(12)
    rig.end(outcome, "The same in other words.")
    expect(desk.locator("#state")).to_have_text(headline)
    expect(page.locator("#state")).to_have_text(headline)
    expect(page.locator("#reason")).to_be_hidden()
    expect(desk.locator("#wall")).to_contain_text("freeboard")  # it floats


@pytest.mark.parametrize("wall_mm", [0.6, 0.0, -1.8])
def test_the_waterline_does_not_strike_through_the_freeboard(
    board: Page, rig: Any, wall_mm: float
) -> None:
    board.set_viewport_size({"width": 390, "height": 844})
    rig.begin("Herons")
    rig.put_on(12)
    rig.say_again(freeboard_mm=wall_mm, draft_mm=rig.hull.depth_mm - wall_mm)
    expect(board.locator("#hull text")).to_have_text(f"{wall_mm:.1f} mm")
    baseline, crest = board.evaluate(
        "(() => { const skin = document.querySelector('#hull .skin').getBBox();"
        " const text = document.querySelector('#hull text');"
        " return [text.y.baseVal[0].value, skin.y]; })()"
    )
    assert baseline < crest < 0


def test_the_focus_goes_on_to_the_trial(page: Page, address: str, rig: Any) -> None:
    rig.safety_due = True
    rig.publish_class()
    page.goto(f"{address}/desk")
    page.locator("[data-action=safety]").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#safety")).to_be_hidden()
    expect(page.locator("#start")).to_be_focused()


def test_the_focus_stays_where_somebody_works(page: Page, address: str, rig: Any) -> None:
    rig.safety_due = True
    rig.publish_class()
    page.goto(f"{address}/desk")
    page.locator("#note").focus()
    rig.safety_seen()  # on another device
    expect(page.locator("#safety")).to_be_hidden()
    expect(page.locator("#note")).to_be_focused()
