"""The help is served under /help: to everybody, without another host, a script or anything inline."""

import re
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.help.contents import entries
from api.help.rendering import as_page
from api.settings import Settings

NAMES = ["", *(one.name for one in entries())]


@pytest.mark.parametrize("name", NAMES)
def test_a_page_is_served_and_loads_nothing_from_elsewhere(name: str, client: TestClient) -> None:
    answer = client.get(f"/help/{name}")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/html")
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    page = answer.text
    assert page.count("<h1") == 1
    assert "<script" not in page and "<style" not in page and not re.search(r"<[^>]+\s(style|on\w+)=", page)
    loaded = re.findall(r'<(?:link|img)[^>]*(?:href|src)="([^"]+)"', page)
    assert [str(answer.url.join(link).path) for link in loaded] == ["/help/help.css"]


def test_every_link_of_a_page_is_answered(client: TestClient) -> None:
    seen: set[str] = set()
    for name in ("", "howto/rack", "reference/settings"):
        answer = client.get(f"/help/{name}")
        seen |= {str(answer.url.join(link).path) for link in re.findall(r'<a href="([^"#]+)"', answer.text)}
    assert len(seen) > 30
    assert not [path for path in sorted(seen) if client.get(path).status_code != 200]


def test_the_bare_address_leads_to_the_contents(client: TestClient) -> None:
    answer = client.get("/help")
    assert answer.status_code == 200 and answer.url.path == "/help/"
    assert client.head("/help/").status_code == 200


@pytest.mark.parametrize(
    "name", ["nothing", "../app", "howto", "howto/rack.md", "help.html", "%2e%2e/app.py"]
)
def test_what_is_no_page_is_not_found(name: str, client: TestClient) -> None:
    assert client.get(f"/help/{name}").json()["code"] == "not-found"


def test_nobody_needs_a_key_for_it(tmp_path: Path) -> None:
    with TestClient(create_app(Settings(notebook=str(tmp_path / "keyed.sqlite3")))) as keyed:
        assert keyed.post("/v1/keys", json={"label": "house"}).status_code == 201
        assert keyed.get("/v1/feels").status_code == 401
        assert keyed.get("/help/").status_code == 200


def test_html_in_a_text_is_shown_and_not_run() -> None:
    page = as_page("index", "# A <script>alert(1)</script>\n\n[x](javascript:alert(1)) <img src=x onerror=y>")
    assert "<script" not in page and "<img" not in page and 'href="javascript' not in page
