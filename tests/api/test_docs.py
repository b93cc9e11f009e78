"""The page about the API asks no other host and holds no script of its own."""

import re

from fastapi.testclient import TestClient

LINK = re.compile(r'(?:src|href)="([^"]+)"')


def test_all_it_loads_is_served_here(client: TestClient) -> None:
    page = client.get("/docs")
    assert page.headers["content-type"].startswith("text/html")
    links = LINK.findall(page.text)
    assert len(links) == 5
    for link in links:
        assert "//" not in link
        assert client.get(f"/{link}").status_code == 200, link


def test_nothing_is_inline(client: TestClient) -> None:
    page = client.get("/docs").text
    assert not re.search(r"<script(?![^>]*\bsrc=)", page)
    assert "<style" not in page
    assert not re.search(r"\s(style|on\w+)=", page)
    assert "://" not in page
    assert "://" not in client.get("/docs/start.js").text


def test_there_is_no_second_page(client: TestClient) -> None:
    assert client.get("/redoc").status_code == 404
    assert client.get("/docs/assets/../index.html").status_code == 404
    assert client.get("/docs/assets/nothing.js").json()["code"] == "not-found"
