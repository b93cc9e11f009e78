"""The one place that starts the browser the page is tested in: Debian's chromium, which asks nobody anything."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Browser, sync_playwright

_QUIET = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PHONE = (360, 740)
DESK = (1280, 900)


@contextmanager
def chromium() -> Iterator[Browser]:
    """Start chromium; without it the tests fail and name the command that installs it."""
    path = shutil.which("chromium")
    if path is None:
        pytest.fail("The tests of the page need the command chromium. Run:  sudo .ci/browser", pytrace=False)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(_QUIET))
        yield browser
        browser.close()
