"""Walks the page by keyboard alone: every control of every place is reached, seen, and gives the focus back after it."""

from collections.abc import Callable
from typing import Any

import pytest

from page.hand import Hand
from page.places import COUNTING, SHEETS, Places
from page.watch import Watch

_EYES = """(() => {
    const CONTROLS = "a[href], button, input, select, textarea, summary, [tabindex='0']";
    const scope = () => [...document.querySelectorAll("dialog[open]")].at(-1) ?? document;
    const named = (one) => (one.getAttribute("aria-label") ?? (one.labels?.[0] ?? one).textContent).trim();
    const controls = () => [...scope().querySelectorAll(CONTROLS)]
        .filter((one) => !one.disabled && one.checkVisibility({ visibilityProperty: true }) && !one.closest("[inert]"));
    const told = (one) => `${one.tagName.toLowerCase()} "${named(one).slice(0, 50)}"`;
    const seen = new Set();
    const faults = new Set();
    const look = () => {
        const one = document.activeElement;
        if (!one || one === document.body || seen.has(one)) return;
        seen.add(one);
        if (!one.matches(CONTROLS)) return;
        const style = getComputedStyle(one);
        if (style.outlineStyle === "none" || parseFloat(style.outlineWidth) < 2) faults.add(`${told(one)}: no outline`);
        const box = one.getBoundingClientRect();
        if (box.bottom < 1 || box.top > innerHeight - 1) faults.add(`${told(one)}: out of sight`);
    };
    addEventListener("keyup", look, true);
    const kind = (one) => {
        const row = one.closest("li, tr, .chip, .log-row, .feel, .sign, .tap, .segment, nav a");
        const inside = one.matches("input:not([role]), select") || (row && row.parentElement.children.length > 2);
        return [one.tagName, one.type, one.className, inside ? (row?.className ?? "") : named(one)].join("|");
    };
    const done = new Set();
    window.eyes = {
        start: () => { seen.clear(); faults.clear(); document.activeElement?.blur(); },
        left: () => controls().filter((one) => !seen.has(one)).map(told),
        faults: () => [...faults],
        next: (place) => {
            const one = controls().find((each) => !done.has(place + kind(each)) && !each.closest("header, footer, .undo, .skip"));
            if (!one) return null;
            done.add(place + kind(one));
            one.focus();
            window.tried = one;
            return { tag: one.tagName, type: one.type, role: one.getAttribute("role"), told: told(one),
                     sheets: document.querySelectorAll("dialog[open]").length };
        },
        state: () => {
            const at = document.activeElement;
            return { lost: !at || at === document.body, told: at ? told(at) : "", same: at === window.tried,
                     gone: !window.tried.isConnected || !window.tried.checkVisibility(),
                     sheets: document.querySelectorAll("dialog[open]").length,
                     undo: Boolean(document.querySelector(".undo")), hash: location.hash };
        },
    };
})()"""
_KEYS = {
    ("INPUT", "checkbox"): ("Space",),
    ("INPUT", "text"): ("End", "1"),
    ("INPUT", "date"): ("ArrowUp",),
    ("INPUT", "datetime-local"): ("ArrowUp",),
    ("INPUT", "file"): (),
    ("SELECT", "select-one"): ("ArrowDown",),
    ("TEXTAREA", "textarea"): ("a",),
}


class Walk:
    """A maker without a mouse."""

    def __init__(self, hand: Hand) -> None:
        hand.page.add_init_script(COUNTING)
        self.page = hand.page
        self.places = Places(hand)
        self.page.evaluate(_EYES)
        self.faults: list[str] = []
        self.operated = self.reached = 0

    def reach(self, place: str) -> None:
        """Press Tab until every control was reached; complain of those that were not, or not seen."""
        self.page.evaluate("eyes.start()")
        for _ in range(40):
            for _ in range(12):
                self.page.keyboard.press("Tab")
            left = self.page.evaluate("eyes.left()")
            if not left:
                break
        self.faults += [f"{place}: {one}: out of reach" for one in left]
        self.faults += [f"{place}: {one}" for one in self.page.evaluate("eyes.faults()")]

    def operate(self, place: str) -> None:
        """Press the key of one control of each kind; the focus stays somewhere, and comes back from a sheet."""
        while control := self.page.evaluate("(place) => eyes.next(place)", _same(place)):
            self.operated += 1
            for key in self._keys(control):
                self.page.keyboard.press(key)
            self.places.settle()
            self._judge(f"{place}: {control['told']}", control)
            if self.page.evaluate("location.hash") != place:
                self.places.restore()
                self.places.go(place)

    def _keys(self, control: dict[str, Any]) -> tuple[str, ...]:
        if control["role"] == "combobox":
            return ("k", "a", "o", "l")
        return _KEYS.get((control["tag"], control["type"]), ("Enter" if self.operated % 2 else "Space",))

    def _judge(self, what: str, control: dict[str, Any]) -> None:
        state = self.page.evaluate("eyes.state()")
        if state["lost"]:
            self.faults.append(f"{what}: the focus is lost")
        if state["sheets"] > control["sheets"]:
            self.page.keyboard.press("Escape")
            self.places.settle()
            after = self.page.evaluate("eyes.state()")
            if after["sheets"] != control["sheets"]:
                self.faults.append(f"{what}: Escape does not close its sheet")
            elif after["lost"] or not (after["same"] or after["gone"]):
                self.faults.append(f"{what}: the focus goes to {after['told']} after its sheet")
        elif state["undo"]:
            self.page.evaluate("document.querySelector('.undo button').focus()")
            self.page.keyboard.press("Enter")
            self.places.settle()
            if self.page.evaluate("eyes.state()")["lost"]:
                self.faults.append(f"{what}: the focus is lost after Undo")


@pytest.mark.parametrize("size", ["desk"])
def test_the_keyboard_alone_reaches_and_works_everything(
    hand_at: Callable[..., Hand], watch: Watch, size: str
) -> None:
    watch.refusals_expected = True
    walk = Walk(hand_at(size, reduced_motion="reduce"))
    for place in walk.places.addresses():
        walk.places.restore()
        walk.places.go(place)
        assert walk.page.evaluate("location.hash") == place
        walk.reach(place)
        walk.operate(place)
    print("\n".join(walk.faults), f"\n{walk.operated} controls worked")
    assert walk.faults == []


def _same(place: str) -> str:
    """What a view shows at several addresses is worked once: its name, and the sheets over it."""
    view, *of = place.split("/")
    return "/".join((view, *(one for one in of if one in SHEETS)))
