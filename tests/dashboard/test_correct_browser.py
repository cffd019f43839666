"""Putting a trial right at the Desk: a real browser, a real rig service, invented boats."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from dashboard import create_app
from rig.errors import RecordsUnusable
from rig.records import Store
from rig.sensing.source import SourceStatus
from rig.service import RigService
from rig.simulator import read_scenario, simulate

ABOARD = [20, 15, 10, 8, 5, 2, 2, 2, 2, 2]  # what the simulator put aboard; the last one sank it


class Silent:
    """A source with nothing more to say."""

    status = SourceStatus(True, "playing")

    def read(self) -> bytes:
        return b""

    def close(self) -> None: ...


@pytest.fixture
def service(tmp_path: Path) -> Iterator[RigService]:
    """A rig on which one boat has just gone down."""
    scenario = read_scenario("clean-box")
    recording, truth = simulate(scenario)
    assert [each["items"] for each in truth["trials"][0]["additions"]] == ABOARD
    with Store.open(tmp_path / "records.sqlite3") as store:
        rig = RigService(scenario.setup, scenario.boats.values(), Silent(), store)
        lines = recording.splitlines(keepends=True)
        first = next(i for i, line in enumerate(lines) if line.startswith(b"$PTRGM"))
        rig.arrived(b"".join(lines[:first]))
        rig.start("Kingfisher")
        rig.arrived(b"".join(line for line in lines[first:] if not line.startswith(b"$PTRGM")))
        assert rig.trial_over()
        rig.safety_seen()
        yield rig
        rig.close()


@pytest.fixture
def desk(page: Page, service: RigService, run_server: Callable[..., Any]) -> Iterator[Page]:
    with run_server(create_app(service, pin=None, secret="only for tests")) as server:
        page.goto(f"http://127.0.0.1:{server.effective_port}/desk")
        expect(page.locator("#results li")).to_have_count(1)
        yield page


@pytest.fixture
def open_desk(desk: Page) -> Page:
    desk.click("[data-correct]")
    expect(desk.locator("#correct")).to_be_visible()
    return desk


def told(page: Page) -> list[int]:
    """The items of each addition in the dialog."""
    texts = page.locator("#correct-additions summary b").all_inner_texts()
    assert [text.split(".")[0] for text in texts] == [str(k + 1) for k in range(len(texts))]
    return [int(text.split()[1]) for text in texts]


def row(page: Page, k: int) -> Any:
    return page.locator(f"#correct-additions details:nth-child({k})")


def test_two_additions_become_one_with_three_taps(open_desk: Page, service: RigService) -> None:
    assert told(open_desk) == ABOARD
    row(open_desk, 2).locator("summary").click()
    row(open_desk, 2).get_by_text("Together with number 3").click()
    expect(open_desk.locator("#correct-notice")).to_have_text("Done.")
    assert told(open_desk) == [20, 25, *ABOARD[3:]]
    expect(open_desk.locator("#correct-list li")).to_have_text(
        "Teacher: additions 2 and 3 were one."
    )
    expect(row(open_desk, 2)).to_have_attribute("open", "")
    expect(row(open_desk, 2).locator("summary")).to_be_focused()
    expect(open_desk.locator("#correct-result")).to_have_text("66 washers, sank")
    assert service.correcting(1)["corrections"] == ["Teacher: additions 2 and 3 were one."]


def test_counts_are_stepped_and_splits_are_typed(open_desk: Page) -> None:
    row(open_desk, 1).locator("summary").click()
    count = row(open_desk, 1).locator("[data-fix='count,1']")
    for _ in range(2):
        count.get_by_label("less").click()
    count.get_by_role("button", name="Set").click()
    expect(open_desk.locator("#correct-result")).to_have_text("64 washers, sank")
    assert told(open_desk) == [18, *ABOARD[1:]]
    expect(open_desk.locator("#results span")).to_have_text("64 washers, sank, corrected")
    split = row(open_desk, 1).locator("[data-fix='split,1'] input")
    split.fill("5")
    split.press("Enter")
    expect(open_desk.locator("#correct-list li")).to_have_count(2)
    assert told(open_desk) == [5, 13, *ABOARD[1:]]
    for left in (1, 0):
        open_desk.click("#correct-back")
        expect(open_desk.locator("#correct-list li")).to_have_count(left)
    expect(open_desk.locator("#correct-so-far")).to_be_hidden()
    expect(open_desk.locator("#results span")).to_have_text("66 washers, sank")
    assert told(open_desk) == ABOARD


def test_the_end_is_put_right(open_desk: Page, service: RigService) -> None:
    moment = open_desk.locator("#sunk-at")
    found_s = service.correcting(1)["sunk_at_s"]
    assert float(moment.input_value()) == pytest.approx(found_s, abs=0.05)
    moment.fill("83,5")
    moment.press("Enter")
    expect(open_desk.locator("#correct-list li")).to_contain_text("it went down 83.5 s after")
    assert service.correcting(1)["sunk_at_s"] == 83.5
    open_desk.click("#correct-void")
    expect(open_desk.locator("#correct-result")).to_contain_text("not counted")
    expect(open_desk.locator("#correct-void")).to_be_hidden()
    expect(open_desk.locator("#correct-close")).to_be_focused()
    expect(open_desk.locator(".pick span")).not_to_contain_text("carried")
    open_desk.click("#correct-afloat")
    expect(open_desk.locator("#results span")).to_contain_text("afloat, corrected")
    open_desk.click("#correct-close")
    expect(open_desk.locator("#state")).to_have_text("Still afloat!")


def test_what_is_refused_keeps_what_was_typed(
    open_desk: Page, service: RigService, monkeypatch: pytest.MonkeyPatch
) -> None:
    moment = open_desk.locator("#sunk-at")
    for typed, what in (
        ("600", "600.0 s after the start is not within the test."),
        ("soon", "That is no number."),
        ("", "That is no number."),
    ):
        moment.fill(typed)
        moment.press("Enter")
        expect(open_desk.locator("#correct-what")).to_have_text(what)
        expect(open_desk.locator("#correct-try")).not_to_be_empty()
        expect(moment).to_have_value(typed)
    row(open_desk, 2).locator("summary").click()
    count = row(open_desk, 2).locator("[data-fix='count,2'] input")
    count.fill("13")
    with monkeypatch.context() as patch:

        def full(*_: Any) -> None:
            raise RecordsUnusable("There is no room left.", "Free some space.")

        patch.setattr(Store, "add_correction", full)
        count.press("Enter")
        expect(open_desk.locator("#correct-what")).to_have_text("There is no room left.")
    expect(count).to_have_value("13")
    expect(row(open_desk, 2)).to_have_attribute("open", "")
    assert told(open_desk) == ABOARD and service.correcting(1)["corrections"] == []
    count.press("Enter")
    expect(open_desk.locator("#correct-error")).to_be_hidden()
    expect(open_desk.locator("#correct-result")).to_have_text("64 washers, sank")


def tab_to(page: Page, selector: str) -> None:
    for _ in range(60):
        if page.evaluate(f"document.activeElement.matches({selector!r})"):
            assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") != "none"
            return
        page.keyboard.press("Tab")
    pytest.fail(f"Tab never reaches {selector}")


def test_by_keyboard_alone(desk: Page, service: RigService) -> None:
    tab_to(desk, "[data-correct]")
    desk.keyboard.press("Enter")
    expect(desk.locator("#correct-close")).to_be_focused()
    tab_to(desk, "details:nth-child(9) summary")
    desk.keyboard.press("Enter")
    tab_to(desk, "details:nth-child(9) .actions > button")
    desk.keyboard.press("Enter")
    expect(desk.locator("#correct-list li")).to_have_text("Teacher: additions 9 and 10 were one.")
    expect(row(desk, 9).locator("summary")).to_be_focused()
    desk.keyboard.press("Escape")
    expect(desk.locator("#correct")).to_be_hidden()
    expect(desk.locator("[data-correct]")).to_be_focused()  # in a row that is a new one
    assert len(service.correcting(1)["additions"]) == len(ABOARD) - 1


@pytest.mark.parametrize("width", [390, 320, 1366])
def test_it_fits_is_easy_to_hit_and_axe_finds_nothing(
    open_desk: Page, width: int, watch: Any
) -> None:
    open_desk.set_viewport_size({"width": width, "height": 800})
    row(open_desk, 2).locator("summary").click()
    row(open_desk, 2).get_by_text("Together with number 3").click()
    expect(open_desk.locator("#correct-so-far")).to_be_visible()
    open_desk.locator("#sunk-at").fill("600")
    open_desk.locator("#sunk-at").press("Enter")
    expect(open_desk.locator("#correct-error")).to_be_visible()
    wide = open_desk.evaluate(
        "[document.getElementById('correct').scrollWidth, innerWidth,"
        " document.documentElement.scrollWidth]"
    )
    assert wide[0] <= wide[1] and wide[2] <= wide[1]
    # 44 by 44 CSS pixels: WCAG 2.2, success criterion 2.5.5 Target Size (Enhanced).
    sizes = open_desk.eval_on_selector_all(
        "#correct :is(button, input, summary)",
        "all => all.filter(e => e.checkVisibility()).map(e => [e.offsetWidth, e.offsetHeight])",
    )
    assert len(sizes) > 20 and min(min(size) for size in sizes) >= 44
    found = Axe().run(open_desk).response
    assert found["passes"]
    assert [v for v in found["violations"] if v["impact"] in ("serious", "critical")] == []
    # 409 is the refusal asked for; a browser logs it as an error
    assert [text for text in watch.complaints if "409" not in text] == []
