"""Measures the answer as it is painted: what comes first, and how long it is on a phone."""

from collections.abc import Callable

import pytest

from page.browser import PHONE
from page.hand import Hand

SCREEN = PHONE[1]
_ENDS = """() => {
    const top = document.querySelector("#answer").getBoundingClientRect().top;
    const end = (selector) => document.querySelector(selector).getBoundingClientRect().bottom - top;
    return [end(".recipe-table"), end("#answer")];
}"""
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
