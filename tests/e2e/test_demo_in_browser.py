"""A newcomer's first minute: `tubrig demo`, and a real browser that watches a boat go down."""

import json
import re
import sqlite3

import pytest

from rig.sensing.stream import Stream

SPEED = "20"  # board seconds per second: a trial takes about four


@pytest.fixture
def demo(run):
    return run("demo", "--speed", SPEED)


@pytest.fixture
def page(browser):
    context = browser.new_context(viewport={"width": 1366, "height": 768})
    context.set_default_timeout(60_000)
    fresh = context.new_page()
    fresh.strays, fresh.complaints = [], []
    fresh.on("request", lambda request: fresh.strays.append(request.url))
    fresh.on("pageerror", lambda error: fresh.complaints.append(str(error)))
    yield fresh
    context.close()


def test_the_board_shows_a_whole_trial_and_its_result(demo, page):
    page.goto(demo.board)
    page.wait_for_selector("#demo:not([hidden])")
    assert "nvented" in page.text_content("#demo")  # demo data say that they are invented

    # the load goes up while the wall above the water comes down
    page.locator("#points tr").nth(2).wait_for(state="attached")
    page.wait_for_selector("#chart .main-svg")  # plotly has drawn
    assert page.query_selector("#hull path, #hull polygon")

    page.wait_for_selector("#results li")
    page.wait_for_selector("#reason:not([hidden])")
    told = demo.latest()["class"]["results"][-1]
    row = page.locator("#results li").last.inner_text()
    assert told["boat"] in row and str(told["held_items"]) in row

    # what was shown is what a replay of the kept bytes gives
    (trial,) = demo.replay(told["number"])["trials"]
    assert (trial["held_items"], trial["outcome"]) == (told["held_items"], told["outcome"])
    assert trial["outcome"] == "swamped" and trial["held_g"] == told["held_g"]
    assert [p["load_g"] for p in trial["curve"]] == sorted(p["load_g"] for p in trial["curve"])
    freeboards = [p["freeboard_mm"] for p in trial["curve"]]
    assert freeboards == sorted(freeboards, reverse=True)

    assert page.complaints == []
    assert {re.match(r"\w+://[^/]+/", url)[0] for url in page.strays} == {demo.board}


def test_every_byte_came_through_the_wire_and_was_kept(demo, page):
    page.goto(demo.board)
    page.wait_for_selector("#results li")
    demo.end()
    with sqlite3.connect(demo.folder / "records.sqlite3") as database:
        kept = b"".join(
            row[0] for row in database.execute("select data from wire_block order by id")
        )
        (result,) = database.execute("select result from trial where number = 1").fetchone()
    database.close()
    stream = Stream()
    items = stream.feed(kept)
    assert len(items) == stream.count.data + kept.count(b"$PTRGM") + kept.count(b"$PTRGI")
    assert stream.count.data > 500 and not stream.count.skipped and stream.count.lost == 0
    assert json.loads(result)["outcome"] == "swamped"


def test_the_desk_works_in_the_demo_and_the_class_goes_on(demo, page):
    page.goto(demo.desk)
    page.wait_for_selector("#safety:not([hidden])")
    page.locator("#safety button").click()
    page.wait_for_selector("#safety", state="hidden")
    page.wait_for_selector("#void:not([disabled])")
    page.click("#void")
    page.click("#void-yes")
    page.locator("#results li").nth(1).wait_for()
    outcomes = [row["outcome"] for row in demo.latest()["class"]["results"]]
    assert "void" in outcomes and len(set(outcomes)) >= 2


def test_the_demo_stops_calmly_with_a_viewer_still_looking(demo, page):
    page.goto(demo.board)
    page.locator("#points tr").nth(0).wait_for(state="attached")
    assert demo.end() == 0
