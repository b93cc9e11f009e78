"""What axe finds wrong with a page for people who do not see it, or not well."""

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

_RULES = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    },
    "resultTypes": ["violations"],
}
_RUN = """async (rules) => {
    await new Promise((drawn) => requestAnimationFrame(() => setTimeout(drawn)));
    const sheet = [...document.querySelectorAll("dialog[open]")].at(-1);
    return axe.run(sheet ?? document, rules);
}"""
_COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast"]}, "resultTypes": ["violations"]}


def violations(page: Page, *, colours_only: bool = False) -> list[Any]:
    """Return each rule that is broken in the sheet that lies on top, or else in the page, with the elements that break it.

    A page hears of another light with its next frame; axe keeps colours it has read, so it begins after that frame.
    """
    if not page.evaluate("Boolean(window.axe)"):
        page.evaluate(Axe().axe_script)
    rules = _COLOURS if colours_only else _RULES
    found = page.evaluate(_RUN, rules)["violations"]
    return [(one["id"], [node["html"][:160] for node in one["nodes"]]) for one in found]
