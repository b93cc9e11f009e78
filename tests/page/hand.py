"""What a maker's hand does on the page, in the words that stand on it."""

import re
from pathlib import Path

from playwright.sync_api import Page, expect

SHOTS = Path(__file__).resolve().parents[2] / "artefacts" / "page"
OWN = (
    ("SCI powder", "50"),
    ("kaolin", "20"),
    ("CAPB", "24"),
    ("glycerin", "5,0"),
    ("phenoxyethanol", "1"),
)


class Hand:
    """One maker at one browser window; counts the taps."""

    def __init__(self, page: Page, url: str, name: str) -> None:
        self.page, self.url, self.name = page, url, name
        self.taps = 0

    def open(self, view: str = "") -> None:
        self._sheets_gone()
        self.page.goto(self.url + view)
        expect(self.page.locator("main h1").first).to_be_attached()

    def _sheets_gone(self) -> None:
        """Wait for the address of a sheet that closes: the page allows no script to wait inside it."""
        for _ in range(500):
            if not self.page.evaluate("Boolean(history.state?.sheets)"):
                return
            self.page.wait_for_timeout(10)
        raise AssertionError("a sheet does not leave the address")

    def tap(self, name: str, *, exact: bool = True, first: bool = False) -> None:
        button = self.page.get_by_role("button", name=name, exact=exact)
        (button.first if first else button).click()
        self.taps += 1

    def open_sample(self, title: str = "Too wet") -> None:
        self.tap("Open a sample")
        self.page.locator(".card", has=self.page.get_by_text(title, exact=True)).click()
        self.taps += 1

    def write_recipe(self) -> None:
        for place, (text, percent) in enumerate(OWN):
            self.find(text)
            amount = self.page.locator(f'[data-amount="{place}"]')
            expect(amount).to_be_focused()
            amount.fill(percent)

    def find(self, text: str) -> None:
        field = self.page.locator(".adder input")
        field.fill(text)
        expect(self.page.locator(".adder .found li").first).to_be_visible()
        field.press("Enter")

    def say(self, feel: str) -> None:
        self.tap("Next: what happened?")
        self.page.locator(f'[data-feel="{feel}"]').click()
        self.taps += 1

    def weigh(self, batch: str = "500 g") -> None:
        self.tap("Weigh it")
        expect(self.page.get_by_role("heading", name="Weigh sheet")).to_be_visible()
        self.tap(batch)
        expect(self.page.locator(".weigh-line").first).to_be_visible()

    def change(self, part: str) -> None:
        """Open a part of what was told; on a desk it is open."""
        if self.name == "phone":
            self.tap(f"Change {part}")

    def unfold(self, line: str) -> None:
        """Open what is folded behind a line, where it is not open already."""
        fold = self.page.locator("details", has=self.page.locator("summary", has_text=line)).last
        if not fold.evaluate("(one) => one.open"):
            fold.locator("summary").first.click()

    def save_bowl(self, grams: str = "200 g") -> None:
        self.page.locator("summary", has_text="Save the dough in the bowl").click()
        self.tap(grams)
        expect(self.page.locator(".stage").first).to_be_visible()

    def open_line(self, material: str) -> None:
        self.page.locator(".recipe-table").get_by_role("button", name=material).first.click()
        self.taps += 1

    def answered(self) -> None:
        expect(self.page.get_by_role("heading", name="The next batch")).to_be_visible()

    def painted_ms(self, press: str) -> float:
        """Tap an element; return how long it takes until a new answer is painted [ms]."""
        return float(
            self.page.evaluate(
                """(press) => new Promise((done) => {
                    const place = document.querySelector("#answer");
                    let from = 0;
                    const seen = new MutationObserver(() => {
                        if (!place.querySelector(".recipe-table")) return;
                        seen.disconnect();
                        requestAnimationFrame(() => setTimeout(() => done(performance.now() - from)));
                    });
                    seen.observe(place, { childList: true });
                    from = performance.now();
                    document.querySelector(press).click();
                })""",
                press,
            )
        )

    def shot(self, state: str, *, full: bool = True) -> None:
        """Keep a picture of a state under artefacts/page/."""
        SHOTS.mkdir(parents=True, exist_ok=True)
        self.page.screenshot(path=SHOTS / f"{self.name}-{state}.png", full_page=full, animations="disabled")

    def pdf_pages(self) -> int:
        """Return how many pages the printer would give out."""
        return len(re.findall(rb"/Type\s*/Page\b[^s]", self.page.pdf(prefer_css_page_size=True)))
