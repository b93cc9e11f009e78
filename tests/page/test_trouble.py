"""Proves what the page says when something is wrong, slow or gone."""

from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Browser, Route, expect

from helpers.server import Served
from page.hand import Hand
from page.watch import Watch


def test_a_reload_in_the_middle_loses_nothing(hand: Hand) -> None:
    hand.open()
    hand.write_recipe()
    hand.say("too_dry")
    hand.answered()
    hand.tap("a little")
    hand.page.reload()
    hand.answered()
    expect(hand.page.locator('[data-feel="too_dry"]')).to_have_attribute("aria-pressed", "true")
    expect(hand.page.get_by_role("button", name="a little", exact=True)).to_have_attribute(
        "aria-pressed", "true"
    )


def test_what_is_no_number_is_said_beside_its_field(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.write_recipe()
    amount = hand.page.locator('[data-amount="1"]')
    amount.fill("2o")
    expect(hand.page.locator(".line", has=amount).locator(".complaint")).to_have_text("This is no number")
    expect(amount).to_have_attribute("aria-invalid", "true")
    hand.say("too_dry")
    expect(hand.page.get_by_role("heading", name="This does not work yet")).to_be_visible()


def test_shares_and_doubtful_commas_are_asked_about(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.tap("Paste a table")
    hand.page.get_by_label("Two columns from your spreadsheet").fill(
        "SCI powder\t0.50\nCAPB\t0.30\nkaolin\t0.20\n"
    )
    hand.tap("Take these lines")
    hand.tap("These add up to one: make them percent")
    expect(hand.page.locator(".total")).to_contain_text("100 %: complete")
    hand.page.locator('[data-amount="0"]').fill("1,250")
    expect(hand.page.locator(".line .complaint").first).to_contain_text(
        "1,250: with decimals or with thousands?"
    )


def test_what_the_server_refuses_is_said_beside_its_field(hand_at: Callable[..., Hand], watch: Watch) -> None:
    hand = hand_at("phone")
    watch.refusals_expected = True
    hand.open()
    hand.write_recipe()
    hand.page.locator('[data-amount="1"]').fill("11")
    hand.say("too_dry")
    expect(hand.page.get_by_role("heading", name="This does not work yet")).to_be_visible()
    hand.change("Your dough")
    hand.page.locator('[data-amount="0"]').fill("500")
    expect(hand.page.locator(".line").first.locator(".complaint")).to_contain_text("100")
    hand.page.locator('[data-amount="0"]').fill("50")
    hand.page.locator('[data-amount="1"]').fill("20")
    hand.answered()


def test_demands_that_exclude_each_other_are_named(hand_at: Callable[..., Hand], watch: Watch) -> None:
    hand = hand_at("phone")
    watch.refusals_expected = True
    hand.open()
    hand.open_sample("Nothing fits")
    expect(hand.page.get_by_role("heading", name="Nothing fits all of it")).to_be_visible()
    expect(hand.page.get_by_role("heading", name="These exclude each other")).to_be_visible()
    expect(hand.page.locator(".advice li").first).to_be_visible()
    hand.shot("10-nothing-fits")
    hand.tap("Give it up", first=True)
    hand.answered()


def test_a_server_that_is_down_is_said_and_tried_again(
    browser: Browser, watch: Watch, tmp_path: Path
) -> None:
    watch.silence_expected = True
    server = Served(tmp_path / "notebook.sqlite3")
    server.start()
    watch.host = server.url.split("/")[2]
    try:
        page = browser.new_page(viewport={"width": 360, "height": 740})
        page.set_default_timeout(60_000)
        watch.over(page)
        hand = Hand(page, server.url, "phone")
        hand.open()
        hand.open_sample()
        hand.answered()
        server.stop()
        hand.change("What happened?")
        hand.tap("badly")
        expect(page.get_by_role("heading", name="The advisor does not answer")).to_be_visible()
        hand.shot("11-server-down")
        page.reload()
        expect(page.get_by_role("heading", name="The advisor does not answer")).to_be_visible()
        expect(page.locator(".recipe-table")).to_be_visible()
        server.start()
        hand.tap("Try again")
        hand.answered()
        page.close()
    finally:
        server.stop()


def test_a_long_comparison_shows_that_it_runs_and_stops(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.page.route("**/v1/substitutions", _never)
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.open_line("Glycerin")
    hand.tap("Too little left: find a stand-in")
    expect(hand.page.get_by_role("progressbar")).to_be_visible()
    hand.tap("Stop")
    expect(hand.page.get_by_text("Stopped.")).to_be_visible()


def test_an_old_answer_is_marked_until_the_new_one_comes_and_late_ones_are_dropped(
    hand_at: Callable[..., Hand],
) -> None:
    hand = hand_at("desk")
    hand.open()
    hand.open_sample()
    hand.answered()
    answer = hand.page.locator("#answer")
    expect(answer).to_have_attribute("aria-busy", "false")
    held: list[Route] = []
    hand.page.route("**/v1/corrections", lambda route: held.append(route))
    hand.change("What happened?")
    with hand.page.expect_request("**/v1/corrections"):
        hand.page.locator('[data-feel="too_dry"]').click()
    expect(answer).to_have_attribute("aria-busy", "true")
    expect(answer).to_have_js_property("inert", True)
    expect(answer).to_have_css("opacity", "0.45")
    with hand.page.expect_request("**/v1/corrections"):
        hand.page.locator('[data-feel="too_wet"]').click()
    late, latest = held
    latest.continue_()
    expect(answer).to_have_attribute("aria-busy", "false")
    expect(answer.locator(".answers-to")).to_contain_text("Too wet")
    late.fulfill(status=503, body="late")
    hand.page.evaluate("fetch('/ready').then((answer) => answer.text())")
    expect(answer).to_have_attribute("aria-busy", "false")
    expect(answer.locator(".answers-to")).to_contain_text("Too wet")
    hand.answered()


def _never(_: Route) -> None:
    """Leave a request without an answer."""
