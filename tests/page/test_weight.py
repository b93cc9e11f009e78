"""Proves what the page costs and what it may do: bytes, time, policy, texts."""

import json
import re
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, expect

from helpers.server import Served
from page.hand import Hand

PAGE = Path(__file__).resolve().parents[2] / "api" / "page"
MOST_BYTES = 300_000
MOST_COLD, MOST_WARM = 12, 2
MOST_MS = 1000.0


def test_the_whole_page_is_light(hand_at: Callable[..., Hand]) -> None:
    hand = hand_at("phone")
    network = hand.page.context.new_cdp_session(hand.page)
    network.send("Network.enable")
    sizes: list[float] = []
    network.on("Network.loadingFinished", lambda event: sizes.append(event["encodedDataLength"]))
    hand.open()
    hand.page.wait_for_load_state("networkidle")
    first = sum(sizes)
    hand.open_sample()
    hand.answered()
    for view in ("#weigh", "#dry", "#label", "#notebook"):
        hand.page.goto(hand.url + view)
        hand.page.wait_for_load_state("networkidle")
    print(f"\nbytes: {first:.0f} until the page stands, {sum(sizes):.0f} with every view and one answer")
    assert 0 < first < MOST_BYTES
    assert sum(sizes) < MOST_BYTES


def test_the_page_asks_little_and_stands_at_once(browser: Browser, server: Served) -> None:
    page = browser.new_page(viewport={"width": 360, "height": 740})
    asked = []
    for visit in ("cold", "warm"):
        before = server.asked()
        page.goto(server.url)
        expect(page.locator("main h1").first).to_be_attached()
        page.wait_for_load_state("networkidle")
        usable = page.evaluate("performance.getEntriesByName('usable')[0].startTime")
        asked.append(server.asked() - before)
        print(f"\n{visit}: {asked[-1]} requests, usable after {usable:.0f} ms")
    page.close()
    assert asked[0] <= MOST_COLD
    assert asked[1] <= MOST_WARM


def test_a_tap_is_answered_at_once(hand: Hand) -> None:
    hand.open()
    hand.open_sample()
    hand.answered()
    hand.change("What happened?")
    taken = [
        hand.painted_ms(f'[data-feel="{feel}"]')
        for feel in ("too_dry", "crumbling", "stays_soft", "too_wet", "too_dry", "crumbling", "too_wet")
    ]
    taken.sort()
    print(
        f"\n{hand.name}: tap to painted answer {taken[len(taken) // 2]:.0f} ms (slowest {taken[-1]:.0f} ms)"
    )
    assert taken[len(taken) // 2] < MOST_MS


def test_no_inline_script_or_style_may_run(server: Served) -> None:
    with urllib.request.urlopen(server.url) as answer:  # noqa: S310
        policy, html = answer.headers["content-security-policy"], answer.read().decode()
    assert "unsafe" not in policy
    assert "script-src 'self'" in policy
    assert "default-src 'none'" in policy or "default-src 'self'" in policy
    assert not re.search(r"<style|style=|<script(?![^>]*src=)|\son\w+=", html)


def test_every_text_is_used_and_every_word_is_a_text() -> None:
    texts = set(_leaves(json.loads((PAGE / "texts" / "en.json").read_text(encoding="utf-8"))))
    code = "\n".join(path.read_text(encoding="utf-8") for path in sorted((PAGE / "modules").rglob("*.js")))
    plain = set(re.findall(r'\b(?:t|count)\(\s*"([\w.]+)"', code)) | set(
        re.findall(r'\? "(\w+\.\w+)" : "\w+\.\w+"', code)
    )
    plain |= set(re.findall(r'\? "\w+\.\w+" : "(\w+\.\w+)"', code))
    stems = {found.split("${")[0] for found in re.findall(r"\b(?:t|count|has)\(\s*`([^`]+)`", code)}
    missing = {
        key for key in plain if key not in texts and not any(text.startswith(f"{key}.") for text in texts)
    }
    unused = {
        text
        for text in texts
        if text not in plain
        and not any(text.startswith(stem) for stem in stems)
        and not any(text.startswith(f"{key}.") for key in plain)
    }
    assert missing == set()
    assert unused == set()


def _leaves(texts: dict[str, Any], before: str = "") -> Iterator[str]:
    for name, value in texts.items():
        if isinstance(value, dict):
            yield from _leaves(value, f"{before}{name}.")
        else:
            yield f"{before}{name}"
