"""Settings for all tests, and one real browser."""

from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, settings
from playwright.sync_api import Browser, sync_playwright

# A shared, busy machine must not fail a test by being slow.
settings.register_profile(
    "tubrig", deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
settings.load_profile("tubrig")

CHROMIUM = "/usr/bin/chromium"
CHROMIUM_ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Headless Chromium; one for all tests."""
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_ARGS)
        yield chromium
        chromium.close()
