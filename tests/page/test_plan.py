"""Asks what surrounds a recipe: each task has a place with an address, and is answered from its description."""

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Locator, expect

from page.browser import PHONE
from page.everybody import violations
from page.hand import Hand
from page.watch import Watch

TEXTS = Path(__file__).resolve().parents[2] / "api" / "page" / "texts" / "en.json"
TASKS = json.loads(TEXTS.read_text(encoding="utf-8"))["plan"]["task"]
READ = ("rack", "stock")
_TYPED = {"dose": {"pH before": "7", "Dose added": "0.4", "pH after": "6.4"}, "strength": {}}


def _figures(answer: Locator) -> list[str]:
    """Return what stands in the first list of figures of an answer."""
    return answer.locator(".facts").first.locator("dd").all_inner_texts()


@pytest.mark.parametrize("size", ["phone"])
def test_every_task_is_asked_and_answered(hand_at: Callable[..., Hand], size: str) -> None:
    hand = hand_at(size)
    hand.open()
    hand.open_sample()
    hand.answered()
    for name, title in TASKS.items():
        hand.page.get_by_role("navigation", name="Pages").get_by_role("link", name="Plan").click()
        hand.page.get_by_role("link", name=title, exact=True).click()
        expect(hand.page).to_have_url(re.compile(f"#plan/{name}$"))
        for label, text in _TYPED.get(name, {}).items():
            hand.page.get_by_label(re.compile(f"^{label}$", re.IGNORECASE)).fill(text)
        if name not in READ:
            hand.tap("Ask")
        answer = hand.page.get_by_role("region", name="Answer")
        expect(answer).to_have_attribute("aria-busy", "false")
        expect(answer.locator(".box-stop")).to_have_count(0)
        expect(answer.locator(".part, p").first).to_be_visible()
        for figure in _figures(answer) if name in ("strength", "rework") else ():
            assert figure.endswith("%"), figure
        said = answer.inner_text()
        assert not re.search(r"batch (\d), batch \1", said, re.IGNORECASE)
        hand.page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        assert hand.page.evaluate("document.documentElement.scrollWidth") <= PHONE[0], name
        assert name not in ("compare", "cost") or violations(hand.page) == []
        hand.shot(f"plan-{name}")


def test_a_wrong_figure_is_told_beside_its_field(hand_at: Callable[..., Hand], watch: Watch) -> None:
    watch.refusals_expected = True
    hand = hand_at("desk")
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.open("#plan/cost")
    bar = hand.page.get_by_label("one dried bar weighs")
    bar.fill("8o")
    hand.tap("Ask")
    expect(bar).to_have_attribute("aria-invalid", "true")
    bar.fill("80")
    hand.page.get_by_label("Currency").fill("EUR")
    hand.tap("Ask")
    expect(hand.page.get_by_role("heading", name="Per bar")).to_be_visible()
    sums = hand.page.get_by_role("region", name="Answer").locator(".facts").first
    expect(sums).to_contain_text(re.compile(r"total\s*[\d.]+ EUR", re.IGNORECASE))
    expect(sums).not_to_contain_text(re.compile("work|wrap", re.IGNORECASE))


def test_a_costing_says_what_moved_since_that_of_an_earlier_day(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.open("#plan/cost")
    hand.tap("Ask")
    expect(hand.page.get_by_role("heading", name="Per bar")).to_be_visible()
    expect(hand.page.get_by_role("heading", name="What moved since")).to_have_count(0)
    hand.page.evaluate(
        """() => {
            const kept = JSON.parse(localStorage.getItem("dough-advisor.bench"));
            const [prices] = Object.values(kept.costed);
            const [key] = Object.keys(prices);
            kept.costed = { "2020-01-01": { ...prices, [key]: prices[key] + 1, "gone-material": 4 } };
            localStorage.setItem("dough-advisor.bench", JSON.stringify(kept));
        }"""
    )
    hand.page.reload()
    hand.tap("Ask")
    expect(hand.page.get_by_role("heading", name="What moved since")).to_be_visible()
