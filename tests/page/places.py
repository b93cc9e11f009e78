"""Every place of the page that has an address, with what is needed there: a recipe, its answer, a dough, a bar that dries."""

import json
from collections.abc import Iterator

from playwright.sync_api import Page, expect

from page.hand import Hand

TASKS = ("look", "compare", "cost", "day", "draft", "rework", "dose", "strength", "rack", "stock")
PARTS = ("doughs", "window", "trial", "materials", "whole")
BENCH = ("samples", "paste", "recipes", "versions", "tests", "own", "keep", "line/{line}", "missing/{line}")
SHEETS = {*(sheet.split("/")[0] for sheet in BENCH), "gloves", "slip", "outcome", "bar", "lot"}
SHEETS |= {"weighed", "packed"}
_KEPT = "dough-advisor.bench"
_LOG = [{"hours": hours, "grams": grams} for hours, grams in (("0", "100"), ("24", "93.6"), ("48", "91"))]


class Places:
    """The addresses of one maker's page, and a way back to how it was before anything was tried."""

    def __init__(self, hand: Hand) -> None:
        """Open a sample, keep its dough, and write down how a bar dries."""
        hand.open()
        hand.open_sample()
        hand.answered()
        hand.tap("Keep this dough")
        hand.tap("Keep it")
        expect(hand.page.get_by_role("dialog")).to_contain_text("Kept")
        hand.page.keyboard.press("Escape")
        hand.weigh()
        self.page: Page = hand.page
        state = json.loads(self.page.evaluate(f"localStorage['{_KEPT}']"))
        state["drying"] = {"bar": 0, "by": "hours", "bars": [{"rows": _LOG, "final": ""}]}
        self._state = json.dumps(state)
        self._recipe, self._line = state["id"], state["recipe"]["lines"][3]["key"]
        self._dough = self.page.request.get(f"{hand.url}v1/doughs").json()["items"][0]["id"]
        self.restore()

    def addresses(self) -> Iterator[str]:
        """Name each place: every view, step, task and part, and every sheet over it."""
        bench = f"#recipe/{self._recipe}/"
        yield from (bench + step for step in ("dough", "happened", "answer"))
        yield from (f"{bench}answer/{sheet.format(line=self._line)}" for sheet in BENCH)
        yield from (
            "#weigh",
            "#weigh/gloves",
            f"#weigh/slip/{self._line}",
            f"#weigh/gloves/slip/{self._line}",
        )
        yield from ("#dry/1", "#label")
        yield from (f"#plan/{task}" for task in TASKS)
        yield from (f"#plan/rack/{sheet}/{self._dough}" for sheet in ("weighed", "packed"))
        yield from (f"#notebook/{part}" for part in PARTS)
        yield from (f"#notebook/doughs/{sheet}/{self._dough}" for sheet in ("outcome", "bar"))
        yield from (f"#notebook/materials/{sheet}" for sheet in ("own", f"lot/{self._line}"))

    def go(self, address: str) -> None:
        """Go to an address and wait until what it names stands there and no call is open."""
        self.page.evaluate("(address) => { location.hash = address; }", address)
        self.settle()

    def settle(self) -> None:
        """Wait until nothing is asked and nothing is drawn any more."""
        self.page.wait_for_load_state("load")
        self.page.evaluate(
            """async () => {
                const frame = () => new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
                let quiet = 0;
                while (quiet < 2) { await frame(); quiet = window.flying || window.due ? 0 : quiet + 1; }
            }"""
        )

    def restore(self) -> None:
        """Put everything back as it was, as another tab would."""
        self.page.evaluate(
            """([key, state]) => {
                localStorage[key] = state;
                dispatchEvent(new StorageEvent("storage", { key, newValue: state }));
            }""",
            [_KEPT, self._state],
        )
        self.settle()


COUNTING = """(() => {
    window.flying = 0;
    window.due = 0;
    const [ask, later, never] = [window.fetch, window.setTimeout, window.clearTimeout];
    window.fetch = async (...asked) => {
        window.flying += 1;
        try { return await ask(...asked); } finally { later(() => { window.flying -= 1; }, 5); }
    };
    const waiting = new Set();
    window.setTimeout = (work, after = 0, ...more) => {
        if (after < 50 || after > 400) return later(work, after, ...more);
        const number = later(() => { waiting.delete(number); window.due = waiting.size; work(...more); }, after);
        waiting.add(number);
        window.due = waiting.size;
        return number;
    };
    window.clearTimeout = (number) => { waiting.delete(number); window.due = waiting.size; never(number); };
    window.print = () => {};
})()"""
