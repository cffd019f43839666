"""The scale dies in mid-trial, and a teacher goes on by hand: one real browser, one real port."""

from playwright.sync_api import expect

from rig.simulator.hands import Plan
from tests.e2e.test_power_cut import additions, bench, wait_for

__all__ = ["bench"]  # the fixture: a simulated rig on a pseudo-terminal


def test_a_teacher_counts_on_while_the_scale_is_out(run, bench, browser):
    group, board, files = bench
    label = group.scenario.trials[0].boat
    rig = run("serve", *files)
    board.place_boat(group.scenario.boats[label])
    wait_for(lambda: rig.latest()["source"]["ok"], "word from the board")
    wait_for(lambda: board.now_s > 3, "boat in the tub")
    rig.tap("start", label=label)
    board.load_with(Plan(steps=((6.0, 10),)))
    wait_for(lambda: additions(rig), "addition")

    context = browser.new_context(viewport={"width": 390, "height": 844})
    context.set_default_timeout(30_000)
    desk, screen = context.new_page(), context.new_page()
    desk.goto(rig.desk)
    screen.goto(rig.board)
    expect(desk.locator("#load")).to_contain_text("10 ")
    expect(desk.locator("#by-hand")).to_be_hidden()

    board.fall_ill("load", "frozen")
    expect(desk.locator("#source")).to_contain_text("The scale shows one number", timeout=30_000)
    expect(desk.locator("#source")).to_contain_text("go on by counting")
    expect(screen.locator("#slip")).to_contain_text("The scale is not working", timeout=30_000)
    expect(desk.locator("#by-hand")).to_be_visible()

    board.load_with(Plan(steps=((0.2, 7),)))
    desk.locator("[data-count='5']").click()
    desk.locator("[data-count='2']").click()
    expect(desk.locator("#load")).to_contain_text("17 ")
    expect(screen.locator("#load-big")).to_have_text("17")
    wait_for(lambda: rig.latest()["trial"]["held_items"] == 17, "hold by hand")

    board.recover()
    expect(desk.locator("#by-hand")).to_be_hidden(timeout=30_000)
    expect(desk.locator("#source")).to_contain_text("speaks on", timeout=30_000)
    expect(screen.locator("#slip")).to_be_hidden()
    board.load_with(Plan(steps=((1.0, 4),)))
    wait_for(lambda: rig.latest()["now"]["items"] == 21, "addition by the scale")
    desk.locator("[data-action=stop]").click()
    result = wait_for(lambda: rig.latest()["trial"].get("result"), "result")
    context.close()

    assert result["outcome"] == "afloat"
    (warning,) = [w for w in result["warnings"] if "scale" in w]
    assert warning.startswith("The scale stood still from")
    assert rig.end() == 0
    (again,) = rig.replay(1)["trials"]
    assert again["held_g"] == result["held_g"] and again["warnings"] == result["warnings"]
    by = {"scale": 0, "count": 0}  # taps far apart are additions of their own
    for addition in again["additions"]:
        by[addition["source"]] += addition["items"]
    assert by == {"scale": 14, "count": 7}
