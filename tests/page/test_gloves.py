"""Weighs with gloves: one line a screen, ticked by a tap anywhere, taken back, kept; and counts the taps to an answer."""

from collections.abc import Callable

from playwright.sync_api import expect

from page.hand import OWN, Hand

MOST_TAPS = 10


def _until_it_moves(hand: Hand, tap: Callable[[], None]) -> None:
    """Tap until the next line is shown: a screen that was only just drawn takes no tap."""
    progress = hand.page.locator(".glove .progress")
    before = progress.inner_text()
    while progress.inner_text() == before:
        tap()


def _tick(hand: Hand) -> None:
    screen = hand.page.locator(".glove-screen")
    _until_it_moves(hand, lambda: screen.click(position={"x": 20, "y": 20}))


def test_one_hand_weighs_and_the_place_is_kept(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.tap("Weigh it")
    hand.tap("Weigh with gloves")
    progress = hand.page.locator(".glove .progress")
    expect(progress).to_contain_text("1 of")
    for _ in range(3):
        _tick(hand)
    expect(progress).to_contain_text("4 of")
    figure = hand.page.locator(".glove-figure").inner_text()
    hand.page.reload()
    expect(progress).to_contain_text("4 of")
    expect(hand.page.locator(".glove-figure")).to_have_text(figure)
    _until_it_moves(hand, hand.page.locator(".glove-screen").dblclick)
    expect(progress).to_contain_text("5 of")
    hand.tap("Undo the last tap")
    expect(progress).to_contain_text("4 of")
    screen, tools = hand.page.locator(".glove-screen"), hand.page.locator(".glove-tools")
    assert screen.bounding_box()["height"] >= 0.45 * hand.page.viewport_size["height"]
    assert tools.bounding_box()["y"] >= 0.6 * hand.page.viewport_size["height"]
    hand.shot("gloves", full=False)
    hand.page.get_by_role("dialog").get_by_role("button", name="Weighed too much?").click()
    expect(hand.page.get_by_label("Which one?")).to_have_value(
        hand.page.evaluate("JSON.parse(localStorage['dough-advisor.bench']).weigh.sheet.lines[1].material")
    )


def test_from_nothing_to_an_answer_in_ten_taps(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.page.locator(".adder input").tap()
    hand.taps += 1
    for place, (text, percent) in enumerate(OWN):
        hand.page.locator(".adder input").fill(text)
        hand.page.locator(".adder .found li").first.tap()
        hand.taps += 1
        amount = hand.page.locator(f'[data-amount="{place}"]')
        expect(amount).to_be_focused()
        amount.fill(percent)
        amount.press("Enter")
    hand.say("too_dry")
    hand.tap("What to do")
    expect(hand.page.locator(".recipe-table")).to_be_in_viewport()
    print(f"\n{hand.taps} taps from nothing to the next recipe")
    assert hand.taps <= MOST_TAPS
