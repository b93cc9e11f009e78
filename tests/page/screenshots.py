"""Takes the pictures of the page that the README shows, of the invented workshop."""

import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, expect

from helpers.server import Served
from page.browser import NoBrowser, chromium
from page.hand import Hand

_SCREENS = Path(__file__).resolve().parents[2] / "docs" / "screens"


def main() -> None:
    """Write docs/screens/answer.png and docs/screens/weigh-sheet.png."""
    _SCREENS.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as folder,
        chromium() as browser,
        Served(Path(folder) / "notebook.sqlite3") as server,
    ):
        desk = browser.new_page(
            viewport={"width": 1180, "height": 860}, color_scheme="light", reduced_motion="reduce"
        )
        _answer(Hand(desk, server.url, "desk"))
        desk.screenshot(path=_SCREENS / "answer.png", animations="disabled")
        phone = browser.new_page(viewport={"width": 390, "height": 860}, color_scheme="dark")
        _weigh_sheet(Hand(phone, server.url, "phone"))
        phone.screenshot(path=_SCREENS / "weigh-sheet.png")


def _answer(hand: Hand) -> None:
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.page.wait_for_load_state("networkidle")
    hand.page.evaluate("scrollTo({ top: 0, behavior: 'instant' })")


def _weigh_sheet(hand: Hand) -> None:
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.weigh()
    hand.page.locator(".weigh-line input").first.check()
    _to(hand.page, "sheet-title")
    expect(hand.page.locator(".progress")).to_contain_text("1 of 9")


def _to(page: Page, element: str) -> None:
    page.evaluate("(id) => document.getElementById(id).scrollIntoView()", element)


if __name__ == "__main__":
    try:
        main()
    except NoBrowser as missing:
        sys.exit(str(missing))
