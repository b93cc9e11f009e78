"""Figures and days stand on the page as its maker writes them: by the server's settings, else by the browser's language."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Page, expect

from helpers.server import Served
from page.browser import DESK
from page.hand import Hand
from page.watch import Watch

PERCENTS = (
    ("SCI powder", "50"),
    ("kaolin", "12,25"),
    ("CAPB", "31,75"),
    ("glycerin", "5"),
    ("phenoxyethanol", "1"),
)
POINTED = re.compile(r"(?<![\w.:/-])\d+\.\d+(?![\w.:/-])")


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server whose owner says how figures and days are written."""
    folder: Path = tmp_path_factory.mktemp("told")
    settings = {"DOUGH_DECIMAL": "comma", "DOUGH_DATES": "day-first", "DOUGH_CURRENCY": "EUR"}
    with Served(folder / "notebook.sqlite3", **settings) as running:
        yield running


def written(page: Page) -> str:
    """What stands on the page and in its fields."""
    fields = page.locator("main input[type=text]").evaluate_all("(all) => all.map((one) => one.value)")
    return "\n".join((page.locator("main").inner_text(), *fields))


def with_commas(hand: Hand) -> None:
    """Type 12,25 and meet it on the table, the weigh sheet and the costs; nowhere stands a point."""
    hand.open()
    for place, (name, percent) in enumerate(PERCENTS):
        hand.find(name)
        hand.page.locator(f'[data-amount="{place}"]').fill(percent)
    expect(hand.page.locator(".total")).to_contain_text("100 %: complete")
    hand.say("too_wet")
    hand.answered()
    was = hand.page.locator(".recipe-table tr", has_text="Kaolin").first
    expect(was).to_contain_text("12,25")
    assert not POINTED.findall(written(hand.page))
    hand.tap("Weigh it")
    hand.tap("My recipe")
    hand.page.get_by_label("Mass of the batch").fill("100,0")
    hand.tap("0,01 g")
    expect(hand.page.locator(".weigh-line", has_text="Kaolin")).to_contain_text("12,25 g")
    assert not POINTED.findall(written(hand.page))
    hand.open("#plan/cost")
    hand.unfold("More to tell")
    hand.page.get_by_label("Wrap, per bar").fill("12,25")
    hand.tap("Ask")
    expect(hand.page.locator(".part", has_text="Per bar").first).to_contain_text("12,25")
    assert not POINTED.findall(written(hand.page))


def test_a_browser_that_writes_commas_reads_and_shows_them(hand_at: Callable[..., Hand]) -> None:
    with_commas(hand_at("phone", locale="de-DE"))


def test_settings_stand_before_the_language(told: Served, browser: Browser) -> None:
    """The currency is named beside every price, and what is called by a figure keeps its name."""
    watch = Watch(urlsplit(told.url).netloc)
    page = browser.new_page(locale="en-US", viewport={"width": DESK[0], "height": DESK[1]})
    watch.over(page)
    with_commas(Hand(page, told.url, "desk"))
    expect(page.get_by_label("Currency")).to_have_value("EUR")
    expect(page.locator(".part", has_text="Per bar").first).to_contain_text("12,25 EUR")
    page.goto(f"{told.url}#notebook/materials/lot/kaolin")
    sheet = page.get_by_role("dialog")
    sheet.get_by_label("Name of the lot").fill("24.117")
    sheet.get_by_label("Price per kg").fill("1,250")
    sheet.get_by_label("Use until").fill("2033-03-09")
    sheet.get_by_role("button", name="Keep it").click()
    expect(page.locator(".lots")).to_contain_text("24.117 Price per kg 1,25 EUR, until 09 Mar 2033")
    assert watch.elsewhere == watch.complaints == []


def test_days_carry_the_month_in_the_order_of_the_language(hand_at: Callable[..., Hand]) -> None:
    said = {"en-US": "Mar 14, 2031", "en-GB": "14 Mar 2031", "sv-SE": "2031-03-14"}
    for language, day in said.items():
        hand = hand_at("phone", locale=language)
        hand.open("#dry/1")
        for place, (when, grams) in enumerate(
            (("2031-03-09T12:00", "100"), ("2031-03-10T12:00", "93,6"), ("2031-03-11T12:00", "91"))
        ):
            hand.page.locator(f'[data-cell="{place}-when"]').fill(when)
            hand.page.locator(f'[data-cell="{place}-grams"]').fill(grams)
        expect(hand.page.locator(".facts")).to_contain_text(day)
        axis = hand.page.locator(
            ".drying .axis", has_text=day.replace("2031", "").strip("-, ").replace("14", "11")
        )
        expect(axis).to_have_count(1)
