"""What axe finds wrong with a page for people who do not see it, or not well."""

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

_RULES = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    }
}


def violations(page: Page) -> list[Any]:
    """Return each rule that is broken, with the elements that break it."""
    found = Axe().run(page, options=_RULES).response["violations"]
    return [(one["id"], [node["html"][:160] for node in one["nodes"]]) for one in found]
