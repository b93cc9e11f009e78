"""Asks what surrounds a recipe: each task has a place with an address, and is answered from its description."""

import datetime
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
        for part in ("Pour first", "Still to add in all") if name == "dose" else ():
            expect(answer.locator(".part", has=hand.page.get_by_role("heading", name=part))).to_contain_text(
                "grams"
            )
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


def test_the_rack_is_read_at_once_and_worked_at(hand: Hand) -> None:
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.tap("Keep this dough")
    hand.page.get_by_label("Made on").fill(str(datetime.date.today() - datetime.timedelta(days=2)))
    hand.page.get_by_label("Batch number").fill("M-12")
    hand.tap("Keep it")
    hand.tap("To the rack")
    batch = hand.page.locator(".batch")
    expect(batch).to_have_count(1)
    expect(hand.page.get_by_role("button", name="Ask")).to_have_count(0)
    expect(batch).to_contain_text(re.compile(r"Wrap.*2\d{3}"))
    expect(hand.page.get_by_role("region", name="Answer")).to_contain_text("Weigh Mill Pond bar")
    for hours, grams in (("0", "100"), (None, "95,1")):
        hand.tap("Weigh a bar")
        if hours:
            hand.page.get_by_label("Hours since shaping").fill(hours)
        else:
            expect(hand.page.get_by_label("Hours since shaping")).to_have_value("48")
        hand.page.get_by_label("Weight").fill(grams)
        hand.tap("Keep it")
        expect(hand.page.get_by_role("dialog")).to_have_count(0)
    expect(batch).to_contain_text("Weighed 2 times.")
    hand.tap("Packed")
    hand.tap("Keep it")
    expect(hand.page.get_by_role("dialog").locator(".complaint").first).to_have_text("Needs an amount")
    hand.page.get_by_label("Bars", exact=True).fill("5")
    hand.page.get_by_label("All of them weigh").fill("400")
    hand.tap("Keep it")
    expect(batch).to_have_count(0)
    hand.open("#notebook/doughs")
    hand.page.locator(".kept-dough").get_by_role("button", name="Label").click()
    label = hand.page.locator(".kept-label")
    expect(label).to_contain_text("Batch M-12")
    expect(label).to_contain_text("80 g")
    hand.open("#plan/rack")
    expect(hand.page.get_by_text("Nothing dries yet.")).to_be_visible()


def test_what_is_packed_by_mistake_comes_back_to_the_rack(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.tap("Keep this dough")
    hand.tap("Keep it")
    hand.tap("To the rack")
    hand.tap("Packed")
    hand.page.get_by_label("Bars", exact=True).fill("5")
    hand.page.get_by_label("All of them weigh").fill("400")
    hand.tap("Keep it")
    expect(hand.page.locator(".batch")).to_have_count(0)
    hand.tap("Undo")
    expect(hand.page.locator(".batch")).to_have_count(1)


def test_the_rack_is_read_again_when_the_server_is_back(hand_at: Callable[..., Hand], watch: Watch) -> None:
    watch.silence_expected = True
    hand = hand_at("phone")
    hand.open("#plan/stock")
    expect(hand.page.get_by_text("No lot is written down yet.")).to_be_visible()
    hand.page.context.set_offline(True)
    hand.page.get_by_role("link", name="Rack", exact=True).click()
    expect(hand.page.get_by_role("button", name="Try again")).to_be_visible()
    hand.page.context.set_offline(False)
    hand.tap("Try again")
    expect(hand.page.get_by_text("Nothing dries yet.")).to_be_visible()
