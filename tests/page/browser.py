"""Starts the browser the page is tested in: Debian's chromium, which asks nobody anything."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager

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


class NoBrowser(Exception):
    """There is no chromium on this machine."""


@contextmanager
def chromium() -> Iterator[Browser]:
    """Start chromium.

    Raises
    ------
    NoBrowser
        The command is missing; the message names the one that installs it.
    """
    path = shutil.which("chromium")
    if path is None:
        raise NoBrowser(
            "The page is tested in the command chromium, and it is missing. Run:  sudo .ci/browser"
        )
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(_QUIET))
        yield browser
        browser.close()
