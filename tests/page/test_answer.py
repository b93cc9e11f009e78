"""Measures the answer as it is painted: what comes first, and how long it is on a phone."""

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from page.browser import PHONE
from page.hand import Hand

SCREEN = PHONE[1]
_ENDS = """() => {
    const top = document.querySelector("#answer").getBoundingClientRect().top;
    const end = (selector) => document.querySelector(selector).getBoundingClientRect().bottom - top;
    return [end(".recipe-table"), end("#answer")];
}"""
_JUDGED = (("too_wet", 46, 26), ("workable", 48, 24), ("too_dry", 52, 20), ("workable", 49, 23))
_ORDER = """() => [".part-scale", ".recipe-table", ".hold-back", ".advice", ".chips", "#standing"]
    .map((selector) => document.querySelector(selector).getBoundingClientRect().top)"""


@pytest.mark.parametrize("sample", ["Too wet", "Too dry"])
def test_the_next_recipe_and_its_grams_come_first_on_a_phone(
    hand_at: Callable[..., Hand], sample: str
) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.open_sample(sample)
    hand.answered()
    table, whole = hand.page.evaluate(_ENDS)
    print(f"\n{sample}: the table ends {table:.0f} px below the report, the answer {whole:.0f} px")
    assert table <= 1.5 * SCREEN
    assert whole <= 3 * SCREEN
    order = hand.page.evaluate(_ORDER)
    assert order == sorted(order)
    lines = hand.page.locator(".recipe-table tbody tr:not(.reason)")
    written = hand.page.evaluate("JSON.parse(localStorage['dough-advisor.bench']).recipe.lines.length")
    assert lines.count() == written
    assert all(row.strip()[-1].isdigit() for row in lines.all_inner_texts())


@pytest.mark.parametrize("sample", ["Too wet", "Too dry"])
def test_what_the_doughs_taught_makes_the_answer_no_longer(hand_at: Callable[..., Hand], sample: str) -> None:
    hand = hand_at("phone")
    for feel, powder, betaine in _JUDGED:
        lines = (("isethionate-powder", powder), ("kaolin", 28), ("betaine-30", betaine))
        dough = {
            "recipe": {"lines": [{"material": key, "percent": percent} for key, percent in lines]},
            "report": {"feel": feel},
        }
        assert hand.page.request.post(f"{hand.url}v1/doughs", data=dough).status == 201
    hand.open()
    hand.open_sample(sample)
    hand.answered()
    taught = hand.page.locator(".part-scale details")
    expect(taught).not_to_have_attribute("open", "")
    table, whole = hand.page.evaluate(_ENDS)
    print(f"\n{sample}, 4 doughs: the table ends {table:.0f} px below the report, the answer {whole:.0f} px")
    assert table <= 1.5 * SCREEN
    assert whole <= 3 * SCREEN
    hand.unfold("What your doughs say")
    expect(taught).to_contain_text("Your judged doughs, 4 so far")
    expect(taught).to_contain_text("in 100 such doughs are called workable")
