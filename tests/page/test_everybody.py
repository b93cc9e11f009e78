"""Proves the page is for everybody: axe, motion, both lights, both units."""

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from page.browser import PHONE
from page.everybody import violations
from page.hand import Hand
from page.places import COUNTING, Places
from page.watch import Watch

VIEWS = ("", "#weigh", "#dry", "#label", "#plan/cost", "#plan/dose", "#notebook")
_OVER_ANOTHER = """() => [...document.querySelectorAll(".line")].filter((line) => {
    const name = line.querySelector(".line-name span").getBoundingClientRect();
    const box = line.querySelector(".amount").getBoundingClientRect();
    return name.right > box.left && name.bottom > box.top;
}).map((line) => line.textContent)"""


LOOKS = ({"color_scheme": "dark"}, {"color_scheme": "dark", "forced_colors": "active"})


def test_axe_finds_nothing_anywhere_in_any_light(hand_at: Callable[..., Hand], watch: Watch) -> None:
    watch.refusals_expected = True
    hand = hand_at("phone", reduced_motion="reduce", color_scheme="light")
    hand.page.add_init_script(COUNTING)
    places = Places(hand)
    found = []
    for address in places.addresses():
        places.go(address)
        hand.page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        found += [(address, one) for one in violations(hand.page)]
        for look in LOOKS:
            hand.page.emulate_media(**look)
            found += [(address, look, one) for one in violations(hand.page, colours_only=True)]
        hand.page.emulate_media(color_scheme="light", forced_colors="none")
    assert found == []


def test_axe_finds_nothing_before_a_recipe_and_while_it_is_written(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone", reduced_motion="reduce", color_scheme="light")
    hand.open()
    assert violations(hand.page) == []
    hand.write_recipe()
    hand.page.locator(".more summary").first.click()
    assert violations(hand.page) == []


def test_nothing_is_wider_than_a_small_phone(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.page.set_viewport_size({"width": 320, "height": 640})
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.save_bowl()
    for view in VIEWS:
        hand.open(view)
        hand.page.wait_for_load_state("networkidle")
        assert hand.page.evaluate("document.documentElement.scrollWidth") <= 320, view


@pytest.mark.parametrize("percent", [130, 200])
def test_large_letters_stay_within_a_phone(hand_at: Callable[..., Hand], percent: int) -> None:
    hand = hand_at("phone", reduced_motion="reduce")
    hand.open()
    hand.open_sample()
    hand.answered()
    for view in VIEWS:
        hand.open(view)
        hand.page.evaluate("(size) => { document.documentElement.style.fontSize = size; }", f"{percent}%")
        hand.page.wait_for_load_state("networkidle")
        assert hand.page.evaluate("document.documentElement.scrollWidth") <= PHONE[0], view
        assert hand.page.evaluate(_OVER_ANOTHER) == [], view


def test_forced_colours_show_what_is_chosen(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("desk", forced_colors="active")
    hand.open()
    hand.open_sample()
    hand.answered()
    grounds = [
        hand.page.locator(f'[data-feel="{feel}"]').evaluate("(one) => getComputedStyle(one).backgroundColor")
        for feel in ("too_wet", "too_dry")
    ]
    assert grounds[0] != grounds[1]


def test_what_is_tapped_is_large_enough_for_gloves(hand: Hand) -> None:
    hand.open()
    hand.open_sample()
    hand.answered()
    small = hand.page.evaluate(
        """() => [...document.querySelectorAll("button, select, summary, input:not([type=checkbox])")]
            .filter((one) => one.checkVisibility())
            .map((one) => [one.textContent, Math.round(one.getBoundingClientRect().height)])
            .filter(([, height]) => height < 48)"""
    )
    assert small == []


def test_light_and_dark_can_be_chosen_and_stay(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone", color_scheme="light")
    hand.open()
    root = hand.page.locator("html")
    expect(root).to_have_attribute("data-theme", "light")
    hand.tap("Light or dark")
    expect(root).to_have_attribute("data-theme", "dark")
    hand.page.reload()
    expect(root).to_have_attribute("data-theme", "dark")


def test_ounces_are_shown_and_understood(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.weigh()
    hand.page.get_by_text("Second balance, bars, grams or ounces").click()
    hand.tap("oz")
    hand.page.get_by_label("Mass of the batch").fill("16")
    expect(hand.page.get_by_text("16 oz in all")).to_be_visible()
