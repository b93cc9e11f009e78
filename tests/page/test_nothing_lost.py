"""Proves that nothing is shown stale and nothing is destroyed: offline, two tabs, back, double taps, half-typed figures."""

from collections.abc import Callable

from playwright.sync_api import expect

from page.hand import OWN, Hand
from page.watch import Watch


def _answered(hand_at: Callable[..., Hand], size: str = "desk") -> Hand:
    hand = hand_at(size)
    hand.open()
    hand.open_sample()
    hand.answered()
    return hand


def test_what_was_answered_stays_readable_offline_and_is_marked(
    hand_at: Callable[..., Hand], watch: Watch
) -> None:
    watch.silence_expected = True
    hand = _answered(hand_at)
    hand.page.context.set_offline(True)
    hand.page.locator('[data-feel="too_dry"]').click()
    answer = hand.page.locator("#answer")
    expect(answer.locator(".silence")).to_contain_text("Mill Pond bar: Too wet, clearly")
    expect(answer.locator(".recipe-table")).to_be_visible()
    expect(answer.locator(".answers-to")).to_have_text("Mill Pond bar: Too wet, clearly")
    for view in ("Weigh", "Dry", "Label", "Notebook", "Bench"):
        hand.page.get_by_role("navigation").get_by_role("link", name=view).click()
        expect(hand.page.locator("main h1").first).to_be_attached()
    expect(answer.locator(".silence")).to_be_visible()
    hand.page.context.set_offline(False)
    hand.tap("Try again")
    expect(answer.locator(".answers-to")).to_have_text("Mill Pond bar: Too dry, clearly")
    expect(answer.locator(".silence")).to_have_count(0)


def test_a_figure_half_typed_survives_a_reload(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.find(OWN[0][0])
    hand.page.locator('[data-amount="0"]').press_sequentially("12,2")
    hand.page.reload()
    expect(hand.page.locator('[data-amount="0"]')).to_have_value("12,2")


def test_two_tabs_agree(hand_at: Callable[..., Hand], watch: Watch) -> None:
    hand = _answered(hand_at)
    other = hand.page.context.new_page()
    watch.over(other)
    other.goto(hand.url)
    expect(other.locator(".answers-to")).to_contain_text("Too wet")
    hand.page.locator('[data-feel="too_dry"]').click()
    expect(other.locator(".answers-to")).to_contain_text("Too dry")


def test_back_closes_what_was_opened_last(hand_at: Callable[..., Hand]) -> None:
    hand = _answered(hand_at, "phone")
    hand.open_line("Tapioca starch")
    expect(hand.page.get_by_role("dialog")).to_be_visible()
    hand.page.go_back()
    expect(hand.page.get_by_role("dialog")).to_have_count(0)
    hand.tap("Weigh it")
    hand.tap("Weigh with gloves")
    hand.page.go_back()
    expect(hand.page.get_by_role("dialog")).to_have_count(0)
    expect(hand.page.get_by_role("heading", name="Weigh sheet")).to_be_visible()
    hand.page.go_back()
    hand.answered()


def test_a_dough_is_kept_once_however_often_it_is_tapped(hand_at: Callable[..., Hand]) -> None:
    hand = _answered(hand_at)
    sent: list[str] = []
    hand.page.on("request", lambda one: sent.append(one.url) if one.method == "POST" else None)
    hand.tap("Keep this dough")
    dialog = hand.page.get_by_role("dialog")
    expect(dialog).to_contain_text("Mill Pond bar: Too wet, clearly")
    dialog.get_by_role("button", name="Keep it").dblclick()
    expect(dialog).to_contain_text("Kept.")
    expect(dialog.get_by_role("button", name="Keep it")).to_be_hidden()
    assert len([url for url in sent if url.endswith("/v1/doughs")]) == 1


def test_what_one_tap_takes_away_comes_back_by_another(hand_at: Callable[..., Hand], watch: Watch) -> None:
    watch.refusals_expected = True
    hand = _answered(hand_at)
    hand.page.locator(".line-name", has_text="Rose clay").first.click()
    hand.tap("Take it out")
    expect(hand.page.locator(".line")).to_have_count(8)
    hand.tap("Undo")
    expect(hand.page.locator(".line")).to_have_count(9)
    hand.unfold("Name, wishes, shelf, another recipe")
    hand.tap("Start with an empty recipe")
    expect(hand.page.locator(".line")).to_have_count(0)
    hand.tap("Undo")
    hand.answered()


def test_recipes_are_listed_and_have_an_address(hand_at: Callable[..., Hand]) -> None:
    hand = _answered(hand_at)
    hand.unfold("Name, wishes, shelf, another recipe")
    hand.open_sample("Too dry")
    expect(hand.page.locator("#dough h2")).to_have_text("Granary bar")
    hand.unfold("Name, wishes, shelf, another recipe")
    hand.tap("Other recipes")
    hand.page.get_by_role("dialog").get_by_role("link", name="Mill Pond bar").click()
    expect(hand.page.locator("#dough h2")).to_have_text("Mill Pond bar")
    expect(hand.page).to_have_title("Mill Pond bar: Too wet, clearly · dough-advisor")
    hand.page.go_back()
    hand.page.go_forward()
    expect(hand.page.locator("#dough h2")).to_have_text("Mill Pond bar")


def test_a_recipe_has_versions(hand_at: Callable[..., Hand], watch: Watch) -> None:
    watch.refusals_expected = True
    hand = _answered(hand_at)
    hand.tap("Versions")
    versions = hand.page.locator(".versions li")
    hand.tap("Keep as the next version")
    expect(versions).to_have_count(1)
    hand.page.get_by_role("dialog").get_by_role("button", name="Close").click()
    hand.page.locator('[data-amount="3"]').fill("24")
    hand.page.locator('[data-amount="2"]').fill("12")
    hand.tap("Versions")
    hand.tap("Keep as the next version")
    expect(versions).to_have_count(2)
    expect(versions.first).to_contain_text("Cocamidopropyl betaine, 30 % active −1 %")


def test_a_next_batch_becomes_the_recipe_and_its_next_version(
    hand_at: Callable[..., Hand], watch: Watch
) -> None:
    watch.refusals_expected = True
    hand = hand_at("phone")
    hand.open()
    hand.open_sample("Too dry")
    hand.answered()
    hand.tap("Versions")
    hand.tap("Keep as the next version")
    expect(hand.page.locator(".versions li")).to_have_count(1)
    hand.page.keyboard.press("Escape")
    moved = hand.page.locator(".moved .line-name").all_inner_texts()
    hand.tap("Make it my recipe")
    expect(hand.page.locator("#dough h2")).to_have_text("Granary bar")
    expect(hand.page.locator("#answer")).to_be_hidden()
    hand.tap("Versions")
    hand.page.get_by_label("Why it changed").fill("held together badly")
    hand.tap("Keep as the next version")
    newest = hand.page.locator(".versions li").first
    expect(newest).to_contain_text("Version 2")
    expect(newest).to_contain_text("held together badly")
    for material in moved:
        expect(newest).to_contain_text(material)
    hand.page.keyboard.press("Escape")
    hand.tap("Undo")
    hand.answered()


def test_a_dough_is_kept_with_the_version_it_was_made_of_and_its_bars_are_tested(
    hand_at: Callable[..., Hand], watch: Watch
) -> None:
    watch.refusals_expected = True
    hand = _answered(hand_at)
    hand.unfold("Name, wishes, shelf, another recipe")
    hand.page.get_by_label("Name of the bar").fill("Osier bar")
    expect(hand.page).to_have_title("Osier bar: Too wet, clearly · dough-advisor")
    hand.tap("Versions")
    hand.tap("Keep as the next version")
    expect(hand.page.locator(".versions li")).to_have_count(1)
    hand.page.keyboard.press("Escape")
    expect(hand.page.get_by_role("dialog")).to_have_count(0)
    hand.tap("Keep this dough")
    expect(hand.page.get_by_role("dialog")).to_contain_text("Osier bar: Too wet, clearly")
    expect(hand.page.get_by_role("dialog")).to_contain_text("Made of osier-bar, version 1.")
    with hand.page.expect_request("**/v1/doughs") as asked:
        hand.tap("Keep it")
    sent = asked.value.post_data_json
    assert (sent["recipe_key"], sent["version"]) == ("osier-bar", 1)
    hand.tap("Look at the notebook")
    kept = hand.page.locator(".kept-dough").filter(has_text="Made of osier-bar, version 1.")
    kept.get_by_role("button", name="Bench test").click()
    for bar, grams in enumerate(("4,2", "4", "4,4"), start=1):
        hand.page.get_by_label(f"Bar {bar}").fill(grams)
    hand.tap("Keep it")
    expect(kept).to_contain_text("Mush 4.2, 4, 4.4 g per 100 cm²")
    kept.get_by_role("button", name="Open", exact=True).click()
    hand.answered()
    hand.tap("Versions")
    expect(hand.page.locator(".versions li").first).to_contain_text("Mush 4.2 g per 100 cm² over 3 bars")
    hand.page.keyboard.press("Escape")
    hand.page.locator('[data-amount="0"]').fill("46")
    hand.tap("Keep this dough")
    expect(hand.page.get_by_role("dialog")).not_to_contain_text("Made of")


def test_the_address_of_a_recipe_of_another_device_says_so(hand_at: Callable[..., Hand]) -> None:
    hand = _answered(hand_at)
    elsewhere = hand.page.get_by_text("The recipe of this address is not on this device.")
    hand.open("#recipe/written-elsewhere/answer")
    expect(elsewhere).to_be_visible()
    hand.open("#weigh")
    hand.open()
    hand.answered()
    expect(elsewhere).to_have_count(0)
