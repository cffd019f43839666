"""Make the README's picture from the running demo: `python tests/make_screenshot.py`."""

import json
import subprocess
import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

PICTURE = Path(__file__).parents[1] / "dashboard" / "pictures" / "board.png"
TUBRIG = str(Path(sys.executable).with_name("tubrig"))


def main() -> None:
    """Start the demo, wait until a boat is well loaded, take the picture, stop."""
    demo = subprocess.Popen(
        [TUBRIG, "demo", "--port", "0", "--speed", "3", "--json"], stdout=subprocess.PIPE, text=True
    )
    said = ""
    while not said.endswith("}\n"):
        said += demo.stdout.readline()
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(
                executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"]
            )
            page = browser.new_page(viewport={"width": 1280, "height": 720})
            page.goto(json.loads(said)["board"])
            page.locator("#boat", has_text="Newts").wait_for(timeout=120_000)  # the second turn
            page.locator("#points tr").nth(3).wait_for(state="attached", timeout=120_000)
            page.wait_for_timeout(1500)
            page.screenshot(path=PICTURE)
            browser.close()
    finally:
        demo.terminate()
        demo.wait(timeout=15)
    print(PICTURE)


if __name__ == "__main__":
    main()
