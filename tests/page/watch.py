"""What a page may not do: ask another host, or complain in the console."""

from urllib.parse import urlsplit

from playwright.sync_api import Page, Route

_REFUSED = "Failed to load resource: the server responded with a status of 4"

_SILENCES = ("ERR_CONNECTION_REFUSED", "ERR_INTERNET_DISCONNECTED")


class Watch:
    """What a page may not do: ask another host, or complain in the console."""

    def __init__(self, host: str) -> None:
        self.host = host
        self.refusals_expected = False
        self.silence_expected = False
        self.elsewhere: list[str] = []
        self.complaints: list[str] = []

    def over(self, page: Page) -> None:
        page.context.route("**/*", self._route)
        page.on("console", lambda message: self._heard(message.type, message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def _route(self, route: Route) -> None:
        address = urlsplit(route.request.url)
        if address.scheme in ("blob", "data") or address.netloc == self.host:
            route.fallback()
        else:
            self.elsewhere.append(route.request.url)
            route.abort()

    def _heard(self, kind: str, text: str) -> None:
        if self.refusals_expected and text.startswith(_REFUSED):
            return
        if self.silence_expected and any(code in text for code in _SILENCES):
            return
        if kind in ("error", "warning"):
            self.complaints.append(text)
