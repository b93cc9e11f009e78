"""The server, the browser and the watch over both that every test of the page shares."""

import json
from collections.abc import Callable, Iterator
from typing import Any
from urllib.parse import urlsplit
from urllib.request import Request, urlopen

import pytest
from playwright.sync_api import Browser, expect

from helpers.server import Served
from page.browser import DESK, PHONE, NoBrowser, chromium
from page.hand import Hand
from page.watch import Watch

PATIENCE_MS = 60_000
SIZES = {"phone": PHONE, "desk": DESK}
expect.set_options(timeout=PATIENCE_MS)


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with Served(tmp_path_factory.mktemp("notebook") / "notebook.sqlite3") as running:
        yield running


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Start the browser for one file: its event loop would be in the way of other tests that run one."""
    try:
        with chromium() as started:
            yield started
    except NoBrowser as missing:
        pytest.fail(str(missing), pytrace=False)


@pytest.fixture(autouse=True)
def nothing_kept(server: Served) -> Iterator[None]:
    """Empty the notebook after a test that kept a dough: what doughs teach changes the answers of the next."""
    yield
    with urlopen(f"{server.url}v1/notebook") as told:  # noqa: S310
        tag, kept = told.headers["ETag"], json.load(told)
    if kept["doughs"]:
        erase = Request(f"{server.url}v1/notebook", method="DELETE", headers={"If-Match": tag})  # noqa: S310
        urlopen(erase).close()  # noqa: S310


@pytest.fixture
def watch(server: Served) -> Iterator[Watch]:
    watching = Watch(urlsplit(server.url).netloc)
    yield watching
    assert watching.elsewhere == []
    assert watching.complaints == []


@pytest.fixture
def hand_at(browser: Browser, server: Served, watch: Watch) -> Iterator[Callable[..., Hand]]:
    """Return a way to get a hand at a window of a size, with nothing kept from before."""
    contexts = []

    def at(size: str, **more: Any) -> Hand:
        width, height = SIZES[size]
        context = browser.new_context(
            viewport={"width": width, "height": height}, has_touch=size == "phone", **more
        )
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        page = context.new_page()
        watch.over(page)
        return Hand(page, server.url, size)

    yield at
    for context in contexts:
        context.close()


@pytest.fixture(params=SIZES)
def hand(request: pytest.FixtureRequest, hand_at: Callable[..., Hand]) -> Hand:
    """A hand at the page, on a phone and at a desk."""
    return hand_at(request.param)
